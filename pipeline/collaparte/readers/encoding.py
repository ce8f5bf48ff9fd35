"""Any XML document → the same in UTF-8, so that what follows knows one encoding only.

The bytes outrank the declaration where they contradict it beyond doubt: a byte order mark, or
the zero bytes of UTF-16, against any declaration; eight-bit text against a declared UTF-16;
text that is valid UTF-8 throughout, accents included, against a declared eight-bit encoding.
"""

from __future__ import annotations

import codecs
import re

from collaparte.errors import ScoreError
from collaparte.remarks import Remark

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),  # before UTF-16, whose mark it begins with
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_UNMARKED = (
    (re.compile(rb"(?:\s\0\0\0)*<\0\0\0"), "utf-32-le"),
    (re.compile(rb"(?:\0\0\0\s)*\0\0\0<"), "utf-32-be"),
    (re.compile(rb"(?:\s\0)*<\0"), "utf-16-le"),
    (re.compile(rb"(?:\0\s)*\0<"), "utf-16-be"),
)
_DECLARED = re.compile(
    rb"(<\?xml\s[^>]{0,200}?)\sencoding\s*=\s*(?:\"([\w.:-]+)\"|'([\w.:-]+)')", re.ASCII
)
_UTF8 = re.compile(r"utf-?8|(?:us-)?ascii")
_WIDE = re.compile(r"(?:utf-?|ucs-?|iso-10646-ucs-)(?:2|4|16|32)(?:-?[lb]e)?")
_EIGHT_BIT = re.compile(r"(?:iso-?8859-?|latin-?|windows-?|cp-?|koi8-)\w{1,4}|macintosh")


def in_utf8(data: bytes) -> tuple[bytes, tuple[Remark, ...]]:
    """An XML document in UTF-8, without byte order mark or white space before it.

    Returns
    -------
    document, remarks
        The declaration names UTF-8 or nothing. A document that was so from the start is
        returned as it is; whether it really is UTF-8 is for the parser to say.

    Raises
    ------
    ScoreError
        The text does not fit its encoding, or declares one that is not known.
    """
    by_bytes, marked = _by_bytes(data)
    document = data[marked:] if marked else data
    if by_bytes and by_bytes != "utf-8":
        document = _decoded(document, by_bytes).encode("utf-8")
    remarks = []
    if document[:1].isspace():
        document = document.lstrip()
        remarks.append(
            Remark("space_before_xml", "White space stands before the XML document.", "left out")
        )
    found = _DECLARED.match(document)
    declared = (found.group(2) or found.group(3)).decode("ascii").lower() if found else "utf-8"
    truly = by_bytes or _beyond_doubt(document, declared)
    if found and not _same(truly, declared):
        remarks.append(
            Remark(
                "wrong_encoding",
                f"The file declares the encoding {declared}, but its bytes are {truly}.",
                "read by its bytes",
                severity="warning",
            )
        )
    if found and not _UTF8.fullmatch(declared):
        document = found.group(1) + document[found.end() :]
        if not by_bytes and truly == declared:
            document = _decoded(document, declared).encode("utf-8")
    return document, tuple(remarks)


def _by_bytes(data: bytes) -> tuple[str | None, int]:
    """Encoding that the first bytes prove, and the length of the byte order mark."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return encoding, len(mark)
    for pattern, encoding in _UNMARKED:
        if pattern.match(data):
            return encoding, 0
    return None, 0


def _beyond_doubt(document: bytes, declared: str) -> str:
    """Encoding of an eight-bit document: as declared, or UTF-8 where that cannot be."""
    if _WIDE.fullmatch(declared):
        return "utf-8"
    if _UTF8.fullmatch(declared) or document.isascii():
        return declared
    try:
        document.decode("utf-8")
    except UnicodeDecodeError:
        return declared
    return "utf-8"


def _same(truly: str, declared: str) -> bool:
    if _WIDE.fullmatch(truly):
        return _WIDE.fullmatch(declared) is not None
    return truly == declared or (truly == "utf-8" and _UTF8.fullmatch(declared) is not None)


def _decoded(document: bytes, encoding: str) -> str:
    if not (_WIDE.fullmatch(encoding) or _EIGHT_BIT.fullmatch(encoding)):
        raise ScoreError("wrong_encoding", f"The file declares an unknown encoding, {encoding}.")
    try:
        return document.decode(encoding)
    except LookupError:
        raise ScoreError(
            "wrong_encoding", f"The file declares an unknown encoding, {encoding}."
        ) from None
    except UnicodeDecodeError as error:
        line = document.count(b"\n", 0, error.start) + 1
        raise ScoreError(
            "wrong_encoding", f"Line {line} is not the {encoding} text that the file promises."
        ) from None
