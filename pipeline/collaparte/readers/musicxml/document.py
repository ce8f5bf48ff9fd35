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
"""Five times the largest movement met in 96 (26.5 MB); also keeps offsets within 32 bits."""

CHUNK_BYTES = 1 << 20
"""Handed to expat at once; the share of the time spent between chunks is not measurable."""

MAX_PENDING_BYTES = 8 << 20
"""Longest single tag, comment or instruction; one of 8 KB is unusual.

Expat before 2.6 scans an unfinished one again from its start with every chunk, so that the
time grows with the square of its length.
"""

MAX_DEPTH = 100
"""Deepest nesting; a score needs about ten levels."""

_ROOTS = ("score-partwise", "score-timewise")
_COMMENT = re.compile(rb"<!--.*?-->", re.DOTALL)
_PLACE = re.compile(r",? (?:at )?\(?line \d+,? column \d+.*", re.DOTALL)


def check_well_formed(data: bytes) -> None:
    """Nothing, where a full parser accepts the whole document.

    No handler is called for an element or a text, so a good document is checked at the bare
    parser's speed.

    Raises
    ------
    ScoreError
        The document is not well-formed (with the line), larger than `MAX_DOCUMENT_BYTES`,
        declares anything in its DOCTYPE, or uses an entity that XML does not define.
    """
    _check_size(data)
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _refuse_internal_subset
    parser.SkippedEntityHandler = lambda name, _: _refuse_entity(name, parser.CurrentLineNumber)
    whole = memoryview(data)
    try:
        for start in range(0, len(whole), CHUNK_BYTES):
            fed = whole[start : start + CHUNK_BYTES]
            parser.Parse(fed, False)
            if start + len(fed) - parser.CurrentByteIndex > MAX_PENDING_BYTES:
                raise ScoreError(
                    "too_large",
                    f"Line {parser.CurrentLineNumber} begins one tag or comment of more than "
                    f"{MAX_PENDING_BYTES >> 20} MB, which no score needs.",
                )
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise ScoreError("broken_xml", _what_broke(data, error)) from None


def normalised(data: bytes) -> bytes:
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
    _check_size(data)
    try:
        root: Any = etree.fromstring(data, _parser())
    except etree.XMLSyntaxError as error:
        raise ScoreError("broken_xml", _broken(error.lineno, error.msg)) from None
    declared = root.getroottree().docinfo.internalDTD
    if declared is not None and (any(declared.iterentities()) or any(declared.iterelements())):
        _refuse_internal_subset("", None, None, True)
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


def without_comments(data: bytes) -> bytes:
    """The document without its comments, where bytes alone tell what is one.

    A well-formed document that has neither a CDATA section nor an instruction after the
    declaration holds `<!--` only where a comment begins. Any other is returned as it is.
    """
    if b"<![CDATA[" in data or data.find(b"<?", data.find(b"<?xml") + 1) >= 0:
        return data
    if data.rfind(b"-->") < data.rfind(b"<!--"):
        return data  # not well-formed; and each opening would be searched to the end
    return _COMMENT.sub(b"", data)


def _parser() -> etree.XMLParser:
    # collect_ids=False would be faster but makes lxml 6.1 load the DTD.
    return etree.XMLParser(
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
        strip_cdata=True,
    )


def _turn_over(root: etree._Element) -> None:
    """Measures of parts turned to parts of measures; parts in order of first appearance."""
    root.tag = "score-partwise"
    parts: dict[str, etree._Element] = {}
    for measure in root.findall("measure"):
        root.remove(measure)
        for part in measure.findall("part"):
            name = part.get("id", "")
            if name not in parts:
                parts[name] = etree.SubElement(root, "part", id=name)
            part.tag = "measure"
            part.attrib.clear()
            part.attrib.update(measure.attrib)
            parts[name].append(part)


def _check_size(data: bytes) -> None:
    if len(data) > MAX_DOCUMENT_BYTES:
        raise ScoreError(
            "too_large",
            f"The score is {len(data) >> 20} MB of text; more than "
            f"{MAX_DOCUMENT_BYTES >> 20} MB is not read.",
        )


def _refuse_internal_subset(_name: str, _system: object, _public: object, internal: bool) -> None:
    if internal:
        raise ScoreError(
            "unsafe_xml",
            "The DOCTYPE of the file declares entities or elements of its own, which is not read.",
        )


def _refuse_entity(name: str | None, line: int | None) -> None:
    where = f"Line {line}" if line else "The file"
    raise ScoreError("unsafe_xml", f"{where} uses the entity &{name};, which XML does not define.")


def _what_broke(data: bytes, error: expat.ExpatError) -> str:
    """One sentence for an error of expat."""
    reason = expat.errors.messages[error.code]
    if reason == expat.errors.XML_ERROR_INVALID_TOKEN:
        line = data.split(b"\n", error.lineno)[error.lineno - 1]
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            return f"Line {error.lineno} is not the UTF-8 text that the file promises."
    if reason == expat.errors.XML_ERROR_NO_ELEMENTS:
        return f"The file ends in line {error.lineno}, before its last element is closed."
    return _broken(error.lineno, str(reason))


def _broken(line: int | None, reason: str | None) -> str:
    place = f"Line {line} is" if line else "The file is"
    return f"{place} not well-formed XML: {_PLACE.sub('', reason or 'unreadable')}."
