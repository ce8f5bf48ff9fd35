"""A MusicXML document before it is cut: is it safe and well-formed, and its plain spelling.

`check_well_formed` is a full parser that hands nothing over, so that it costs half a parse
that does. `normalised` is the slow path for what the cut cannot take as it stands. Neither
opens a file or an address, whatever the document asks for.
"""

from __future__ import annotations

import re
from typing import Any
from xml.parsers import expat

from lxml import etree

from collaparte.errors import ScoreError

MAX_DOCUMENT_BYTES = 128 << 20
"""Five times the largest movement met among 96 (26.5 MB); offsets stay within 32 bits."""

MAX_PART_BARS = 2_000_000
"""Parts times bars; the largest scores have some sixty parts and three thousand bars."""

_CHUNK_BYTES = 1 << 20  # handed to expat at once; fewer would not make it faster

_MAX_PENDING_BYTES = 8 << 20
"""Longest single tag, comment or instruction; one of 8 KB is unusual.

Expat before 2.6 scans an unfinished one again from its start with every chunk, so that the
time grows with the square of its length.
"""

_ROOTS = ("score-partwise", "score-timewise")
_COMMENT = re.compile(rb"<!--.*?-->", re.DOTALL)
_PLACE_AND_ADVICE = re.compile(r"[\s,]*\s(?:try|line|use|see) .*", re.DOTALL)
_LIMITS = (etree.ErrorTypes.ERR_RESOURCE_LIMIT, etree.ErrorTypes.ERR_NAME_TOO_LONG)
_REASONS = {
    expat.errors.XML_ERROR_INVALID_TOKEN: "a character stands where XML allows none",
    expat.errors.XML_ERROR_TAG_MISMATCH: "the closing tag is not that of the open element",
    expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT: "something follows the end of the score",
    expat.errors.XML_ERROR_UNDEFINED_ENTITY: "an entity is used that XML does not define",
}


class _RootReached(Exception):  # noqa: N818  no error: it ends the look at the prolog
    """The first element has been met."""


def root_name(document: bytes) -> str:
    """Name of the first element, with its prefix; no more than the prolog is parsed.

    Raises
    ------
    ScoreError
        The prolog is not well-formed, or its DOCTYPE declares anything.
    """

    def stop(name: str, _: object) -> None:
        raise _RootReached(name)

    parser = _checker()
    parser.StartElementHandler = stop
    try:
        _parse(parser, document)
    except _RootReached as reached:
        return str(reached)
    raise AssertionError("expat accepted a document without an element")


def check_well_formed(document: bytes) -> None:
    """Nothing, where a full parser accepts the whole document.

    No handler is called for an element or a text, so a good document is checked at the bare
    parser's speed. Open elements take fifty times their bytes: whoever calls this bounds
    their depth first.

    Raises
    ------
    ScoreError
        The document is not well-formed (with the line), larger than `MAX_DOCUMENT_BYTES`,
        declares anything in its DOCTYPE, or uses an entity that XML does not define.
    """
    _parse(_checker(), document)


def normalised(document: bytes) -> bytes:
    """The same score in the plainest spelling: what the cut always takes.

    Returns
    -------
    bytes
        UTF-8 without declaration, DOCTYPE, comments, CDATA sections or instructions; elements
        by their local names; `<` and `>` escaped in texts and values; `score-partwise`, a
        timewise score turned over.

    Raises
    ------
    ScoreError
        As `check_well_formed`; the root is no score; elements lie more than 256 deep or a
        text is longer than 10 MB (the limits of libxml2).
    """
    _check_size(document)
    root_name(document)
    # collect_ids=False would be faster but makes lxml 6.1 load the DTD.
    parser = etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
        strip_cdata=True,
    )
    try:
        root: Any = etree.fromstring(document, parser)
    except etree.XMLSyntaxError as error:
        refused = _refused_by_libxml2(error)
        if refused.code == "broken_xml":
            check_well_formed(document)  # says the same in plainer words
        raise refused from None
    for entity in root.iter(etree.Entity):
        _refuse_entity(entity.name, entity.sourceline)
    if root.xpath("boolean(//*[namespace-uri()])"):
        for element in root.iter(etree.Element):
            element.tag = etree.QName(element).localname
    if root.tag not in _ROOTS:
        raise ScoreError("not_a_score", f"The root element is {root.tag}, so this is no score.")
    if root.tag == "score-timewise":
        _turn_over(root)
    etree.cleanup_namespaces(root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=False)


def check_extent(parts: int, bars: int) -> None:
    """Nothing, where a table of parts by bars has a bearable size.

    Raises
    ------
    ScoreError
        There are more than `MAX_PART_BARS`.
    """
    if parts * bars > MAX_PART_BARS:
        raise ScoreError(
            "too_large", f"The score has {parts} parts and {bars} bars, more than any score needs."
        )


def without_comments(document: bytes) -> bytes:
    """The document without its comments, where bytes alone tell what is one; line breaks stay.

    A well-formed document that has neither a CDATA section nor an instruction after the
    declaration holds `<!--` only where a comment begins. Any other is returned as it is.
    """
    if b"<![CDATA[" in document or document.find(b"<?", document.find(b"<?xml") + 1) >= 0:
        return document
    if document.rfind(b"-->") < document.rfind(b"<!--"):
        return document  # not well-formed; and each opening would be searched to the end
    return _COMMENT.sub(lambda found: b"\n" * found[0].count(b"\n"), document)


def _turn_over(root: Any) -> None:
    """Measures of parts turned to parts of measures; parts in order of first appearance."""
    root.tag = "score-partwise"
    measures = root.findall("measure")
    parts: dict[str, Any] = {}
    for measure in measures:
        root.remove(measure)
        for part in measure.findall("part"):
            name = part.get("id", "")
            if name not in parts:
                parts[name] = etree.SubElement(root, "part", id=name)
    check_extent(len(parts), len(measures))
    for measure in measures:
        found = {part.get("id", ""): part for part in measure.findall("part")}
        for name, own in parts.items():
            bar = found.get(name)
            if bar is None:  # a part may pause for whole measures
                bar = etree.Element("part")
            bar.tag = "measure"
            bar.attrib.clear()
            bar.attrib.update(measure.attrib)
            own.append(bar)


def _checker() -> expat.XMLParserType:
    """A parser that refuses what a score does not need; no handler of a frequent event."""

    def doctype(_name: str, _system: object, _public: object, has_internal_subset: bool) -> None:
        if has_internal_subset:
            raise ScoreError(
                "unsafe_xml",
                f"Line {parser.CurrentLineNumber} begins a DOCTYPE with declarations of its own "
                "(entities, elements), which are not read.",
            )

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = doctype
    parser.SkippedEntityHandler = lambda name, _: _refuse_entity(name, parser.CurrentLineNumber)
    return parser


def _parse(parser: expat.XMLParserType, document: bytes) -> None:
    """The whole document handed to the parser."""
    _check_size(document)
    whole = memoryview(document)
    try:
        for start in range(0, len(whole), _CHUNK_BYTES):
            chunk = whole[start : start + _CHUNK_BYTES]
            parser.Parse(chunk, False)
            if start + len(chunk) - parser.CurrentByteIndex > _MAX_PENDING_BYTES:
                raise ScoreError(
                    "too_large",
                    f"Line {parser.CurrentLineNumber} begins a tag or comment of more than "
                    f"{_MAX_PENDING_BYTES >> 20} MB, which no score needs.",
                )
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise ScoreError("broken_xml", _what_broke(document, error)) from None


def _check_size(document: bytes) -> None:
    if len(document) > MAX_DOCUMENT_BYTES:
        raise ScoreError(
            "too_large",
            f"The score is {len(document) >> 20} MB of text; more than "
            f"{MAX_DOCUMENT_BYTES >> 20} MB is not read.",
        )


def _refuse_entity(name: str | None, line: int | None) -> None:
    where = f"Line {line}" if line else "The file"
    raise ScoreError("unsafe_xml", f"{where} uses the entity &{name};, which XML does not define.")


def _what_broke(document: bytes, error: expat.ExpatError) -> str:
    """One sentence for an error of expat."""
    reason = expat.errors.messages[error.code]
    if reason in (expat.errors.XML_ERROR_NO_ELEMENTS, expat.errors.XML_ERROR_UNCLOSED_TOKEN):
        return f"The file breaks off in line {error.lineno}, before its elements are closed."
    if reason == expat.errors.XML_ERROR_INVALID_TOKEN:
        try:
            document.decode("utf-8")
        except UnicodeDecodeError as undecoded:
            if document.count(b"\n", 0, undecoded.start) + 1 == error.lineno:
                return f"Line {error.lineno} is not the UTF-8 text that the file promises."
    return _broken(error.lineno, _REASONS.get(reason, reason))


def _refused_by_libxml2(error: Any) -> ScoreError:
    if error.code in _LIMITS:
        return ScoreError(
            "too_large",
            f"Line {error.lineno} goes beyond 256 levels of elements or 10 MB of one text, "
            "which no score needs.",
        )
    return ScoreError("broken_xml", _broken(error.lineno, error.msg))


def _broken(line: int | None, reason: str | None) -> str:
    place = f"Line {line} is" if line else "The file is"
    return f"{place} not well-formed XML: {_PLACE_AND_ADVICE.sub('', reason or 'unreadable')}."
