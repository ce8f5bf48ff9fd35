"""Bytes of any file → the score document in them, and which format it is.

The bytes decide, not the name: a zip may be called .musicxml. Nothing is ever unpacked to
disk; names in an archive are only compared with each other. MusicXML in a zip is read as the
MusicXML 4.0 tutorial on compressed files says: the first rootfile of META-INF/container.xml.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from dataclasses import dataclass
from typing import NoReturn

from lxml import etree

from collaparte.errors import ScoreError
from collaparte.readers.encoding import in_utf8
from collaparte.readers.musicxml.document import MAX_DOCUMENT_BYTES, root_name
from collaparte.remarks import Remark

MAX_RATIO = 200
"""Unpacked size over packed size; orchestral scores reach 24, deflate at most 1032."""

MAX_ENTRIES = 10_000
"""Entries of an archive; a score has a handful, with parts, images and audio some hundred."""

MAX_CONTAINER_BYTES = 1 << 20
"""Size of META-INF/container.xml; one with ten thousand rootfiles stays below."""

_HEAD_BYTES = 1 << 14  # in which a text format must show its sign
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DIRECTORY_ENTRY = b"PK\x01\x02"
_HUMDRUM = re.compile(rb"^\*\*\w+", re.MULTILINE)
_ABC = re.compile(rb"^X:[ \t]*\d+[ \t]*\r?$", re.MULTILINE)
_FORMATS = {"score-partwise": "musicxml", "score-timewise": "musicxml", "mei": "mei"}


@dataclass(frozen=True)
class Unpacked:
    """A score document: `format` is musicxml, mei, humdrum, abc or midi.

    The data of the XML formats is in UTF-8.
    """

    format: str
    data: bytes
    remarks: tuple[Remark, ...] = ()


def unpack(data: bytes, file_name: str) -> Unpacked:
    """The score document in the bytes of one file.

    Parameters
    ----------
    data
        The whole file.
    file_name
        Only where the bytes leave it open: the ending .abc or .krn tells that the sign of
        the format may stand further down.

    Raises
    ------
    ScoreError
        The file is empty, is no score, is too large, or is an archive that is damaged,
        encrypted, made to harm, or without a score.
    """
    if not data.strip(b"\0 \t\r\n"):
        raise ScoreError("empty_file", "The file is empty.")
    remarks: tuple[Remark, ...] = ()
    if data.startswith(b"PK"):
        data, remarks = _from_archive(data)
    if len(data) > MAX_DOCUMENT_BYTES:
        _too_large(len(data))
    if data.startswith(b"MThd"):
        return Unpacked("midi", data, remarks)
    document, more = in_utf8(data)
    if document.startswith(b"<"):
        return Unpacked(_xml_format(document), document, remarks + more)
    return Unpacked(_text_format(data, file_name), data, remarks)


def _xml_format(document: bytes) -> str:
    if document[:14].lower() == b"<!doctype html":  # need not be XML
        name = "html"
    else:
        name = root_name(document).rpartition(":")[2]
    if name in _FORMATS:
        return _FORMATS[name]
    if name.lower() == "html":
        raise ScoreError("not_a_score", "The file is a web page, not a score.")
    if name == "opus":
        raise ScoreError("not_a_score", "The file is a list of other score files, not a score.")
    raise ScoreError("not_a_score", f"The root element is {name[:60]}, so this is no score.")


def _text_format(data: bytes, file_name: str) -> str:
    head = data[:_HEAD_BYTES]
    ending = file_name.lower().rpartition(".")[2]
    if _HUMDRUM.search(data if ending == "krn" else head):
        return "humdrum"
    if _ABC.search(data if ending == "abc" else head):
        return "abc"
    if head.startswith(b"%PDF"):
        raise ScoreError("not_a_score", "The file is a PDF, a picture of a score.")
    raise ScoreError("not_a_score", "The file is in no format of scores that is read here.")


def _from_archive(data: bytes) -> tuple[bytes, tuple[Remark, ...]]:
    """The score of a zip archive."""
    # Every entry of the directory begins so; counted before one object each is made.
    if data.count(_DIRECTORY_ENTRY) > MAX_ENTRIES:
        raise ScoreError("unsafe_zip", f"The zip archive has more than {MAX_ENTRIES} entries.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            entry, remarks = _score_entry(archive)
            document = _bytes_of(archive, entry, MAX_DOCUMENT_BYTES)
    except ScoreError:
        raise
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        OSError,
        RuntimeError,  # NotImplementedError for versions of zip that are not supported
        ValueError,
        OverflowError,
    ):
        raise ScoreError("broken_zip", "The zip archive is damaged.") from None
    if document.startswith(b"PK"):
        raise ScoreError("unsafe_zip", "The zip archive holds another archive, not a score.")
    if not document:
        raise ScoreError("empty_file", "The score in the zip archive is empty.")
    return document, remarks


def _score_entry(archive: zipfile.ZipFile) -> tuple[zipfile.ZipInfo, tuple[Remark, ...]]:
    """The entry that the container names, or else the first that looks like a score."""
    entries = {entry.filename: entry for entry in archive.infolist()}
    container = entries.get("META-INF/container.xml")
    if container is None:
        said = "has no META-INF/container.xml"
    else:
        named = _rootfile(_bytes_of(archive, container, MAX_CONTAINER_BYTES))
        if named in entries:
            return entries[named], ()
        said = "has a META-INF/container.xml that names no score in it"
    for name, entry in entries.items():
        if _may_be_score(name):
            remark = Remark(
                "container_missing", f"The zip archive {said}.", "its first score was read"
            )
            return entry, (remark,)
    raise ScoreError("no_score_in_zip", "The zip archive holds no MusicXML score.")


def _rootfile(container: bytes) -> str | None:
    """Name of the first rootfile of a MusicXML type; a type that is not given is one."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    try:
        root = etree.fromstring(container, parser)
    except etree.XMLSyntaxError:
        return None
    for element in root.iterfind(".//{*}rootfile"):
        kind = element.get("media-type", "musicxml")
        name = element.get("full-path")
        if name and ("musicxml" in kind or kind.endswith("/xml")):
            if _leads_outside(name):
                raise ScoreError(
                    "unsafe_zip", "The container names a score outside the zip archive."
                )
            return name.removeprefix("./")
    return None


def _leads_outside(name: str) -> bool:
    return name.startswith("/") or "\\" in name or ":" in name or ".." in name.split("/")


def _may_be_score(name: str) -> bool:
    steps = name.split("/")
    hidden = any(step.startswith(".") or step in ("__MACOSX", "META-INF") for step in steps)
    return not hidden and name.lower().endswith((".musicxml", ".xml"))


def _bytes_of(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, limit: int) -> bytes:
    """Content of one entry, its claims checked before a byte is unpacked."""
    if entry.flag_bits & 1:
        raise ScoreError("encrypted_zip", "The zip archive is encrypted.")
    if entry.compress_type not in _METHODS:  # the others cannot be unpacked bit by bit
        raise ScoreError("broken_zip", "The zip archive is packed in a way that is not read here.")
    if entry.file_size > limit:
        _too_large(entry.file_size)
    if entry.file_size > MAX_RATIO * entry.compress_size:
        raise ScoreError(
            "unsafe_zip",
            f"The zip archive unpacks to more than {MAX_RATIO} times its size, as no score does.",
        )
    return archive.read(entry)


def _too_large(size: int) -> NoReturn:
    raise ScoreError(
        "too_large",
        f"The score is {size >> 20} MB of text; more than {MAX_DOCUMENT_BYTES >> 20} MB "
        "is not read.",
    )
