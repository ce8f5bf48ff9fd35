"""Files of any kind → the score in them, or one sentence why there is none."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Mapping

import pytest

from collaparte.errors import ScoreError
from collaparte.readers import container
from collaparte.readers.container import Unpacked, unpack

SCORE = b'<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise/>'
OTHER = b'<?xml version="1.0" encoding="UTF-8"?>\n<score-partwise version="4.0"/>'


def archive(entries: Mapping[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive with these entries in this order."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as made:
        for name, content in entries.items():
            made.writestr(name, content)
    return buffer.getvalue()


def container_of(*rootfiles: str) -> dict[str, bytes]:
    """An entry META-INF/container.xml with these rootfiles, given by their attributes."""
    inner = "".join(f"<rootfile {attributes}/>" for attributes in rootfiles)
    text = f"<container><rootfiles>{inner}</rootfiles></container>"
    return {"META-INF/container.xml": text.encode()}


def codes(unpacked: Unpacked) -> list[str]:
    return [remark.code for remark in unpacked.remarks]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (SCORE, "musicxml"),
        (b"<score-timewise/>", "musicxml"),
        (b"<!-- <mei> -->\n<m:score-partwise xmlns:m='x'/>", "musicxml"),
        (b"<!DOCTYPE score-partwise SYSTEM 'x.dtd'><score-partwise/>", "musicxml"),
        (b"<mei xmlns='http://www.music-encoding.org/ns/mei'/>", "mei"),
        (b"!!!COM: Anonymous\n**kern\t**kern\n4c\t4e\n*-\t*-\n", "humdrum"),
        (b"%abc-2.1\nX:1\nT:Tune\nK:C\nCDEF|\n", "abc"),
        (b"MThd\x00\x00\x00\x06\x00\x01\x00\x01\x01\xe0", "midi"),
    ],
)
def test_format_is_told_by_the_bytes(data: bytes, expected: str) -> None:
    assert unpack(data, "score.xml") == Unpacked(expected, data)


@pytest.mark.parametrize(
    ("sign", "name", "expected"), [(b"**kern\n", "a.krn", "humdrum"), (b"X:1\n", "a.abc", "abc")]
)
def test_name_helps_where_the_sign_stands_far_down(sign: bytes, name: str, expected: str) -> None:
    data = b"! a long preface\n" * 2000 + sign
    assert unpack(data, name).format == expected
    with pytest.raises(ScoreError, match="no format of scores"):
        unpack(data, "score")


@pytest.mark.parametrize(
    ("data", "code", "sentence"),
    [
        (b"", "empty_file", "empty"),
        (b"\n\n \0\0", "empty_file", "empty"),
        (b"<html><body/></html>", "not_a_score", "web page"),
        (b"<!DOCTYPE html><p>Not found", "not_a_score", "web page"),
        (b"%PDF-1.7\n", "not_a_score", "PDF"),
        (b"<opus/>", "not_a_score", "list of other score files"),
        (b"<svg:svg xmlns:svg='x'/>", "not_a_score", "root element is svg"),
        (b"Dear Clara,", "not_a_score", "no format of scores"),
        (b"<?xml version='1.0'?>\n\n", "broken_xml", "breaks off in line 3"),
        (b"<!DOCTYPE a [<!ENTITY b 'c'>]><a/>", "unsafe_xml", "Line 1 begins a DOCTYPE"),
        (b"PK\x03\x04 and no more", "broken_zip", "damaged"),
        (archive({}), "no_score_in_zip", "holds no MusicXML score"),
        (archive({"audio.mp3": b"ID3"}), "no_score_in_zip", "holds no MusicXML score"),
        (archive({"score.xml": b""}), "empty_file", "score in the zip archive is empty"),
        (archive({"score.xml": archive({"a.xml": SCORE})}), "unsafe_zip", "another archive"),
    ],
)
def test_refused_with_one_sentence(data: bytes, code: str, sentence: str) -> None:
    with pytest.raises(ScoreError, match=sentence) as refused:
        unpack(data, "score.mxl")
    assert refused.value.code == code
    assert "\n" not in refused.value.message
    assert refused.value.message.endswith(".")


def test_first_rootfile_of_a_musicxml_type_is_read() -> None:
    data = archive(
        {
            "parts/flute.xml": OTHER,
            "score.xml": SCORE,
            **container_of(
                'full-path="score.pdf" media-type="application/pdf"',
                'full-path="score.xml" media-type="application/vnd.recordare.musicxml+xml"',
                'full-path="parts/flute.xml"',
            ),
        }
    )
    assert unpack(data, "score.mxl") == Unpacked("musicxml", SCORE)


def test_rootfile_without_a_type_and_with_a_namespace() -> None:
    listed = (
        b"<c:container xmlns:c='x'><c:rootfile full-path='./a/b.xml'>\n</c:rootfile></c:container>"
    )
    data = archive({"META-INF/container.xml": listed, "a/b.xml": SCORE})
    assert unpack(data, "any name") == Unpacked("musicxml", SCORE)


@pytest.mark.parametrize(
    "listed",
    [{}, container_of(), container_of('full-path="lost.xml"'), {"META-INF/container.xml": b"<"}],
)
def test_first_score_is_read_where_the_container_names_none(listed: dict[str, bytes]) -> None:
    data = archive(
        {
            "__MACOSX/._score.xml": b"\0\5\x16\7",
            ".hidden.xml": OTHER,
            "notes/.trash/old.musicxml": OTHER,
            "read me.txt": b"hello",
            "folder/": b"",
            "Score.MusicXML": SCORE,
            "second.xml": OTHER,
            **listed,
        }
    )
    unpacked = unpack(data, "score.mxl")
    assert unpacked.data == SCORE
    assert codes(unpacked) == ["container_missing"]


@pytest.mark.parametrize(
    "path", ["../score.xml", "/etc/passwd", "a/../../b.xml", "C:\\score.xml", "file:///a.xml"]
)
def test_container_that_leads_outside_is_refused(path: str) -> None:
    data = archive({path: SCORE, "score.xml": SCORE, **container_of(f'full-path="{path}"')})
    with pytest.raises(ScoreError, match="outside the zip archive") as refused:
        unpack(data, "score.mxl")
    assert refused.value.code == "unsafe_zip"


def test_entities_of_the_container_are_not_opened() -> None:
    listed = (
        b"<!DOCTYPE c [<!ENTITY x SYSTEM 'file:///etc/hostname'>]>"
        b"<container><rootfile full-path='score.xml'/>&x;</container>"
    )
    data = archive({"META-INF/container.xml": listed, "score.xml": SCORE})
    assert unpack(data, "score.mxl").data == SCORE


def test_archive_with_too_many_entries_is_refused_unread() -> None:
    entries = {f"{number}.txt": b"" for number in range(container.MAX_ENTRIES)}
    assert unpack(archive({**list_of_one(entries), "s.xml": SCORE}), "a").data == SCORE
    with pytest.raises(ScoreError, match="more than 10000 entries"):
        unpack(archive({**entries, "s.xml": SCORE}), "a")


def list_of_one(entries: dict[str, bytes]) -> dict[str, bytes]:
    return dict(list(entries.items())[:1])


def test_zip_bomb_is_refused_by_its_ratio() -> None:
    bomb = archive({"score.xml": SCORE + b" " * (10 << 20)})
    assert len(bomb) < 20_000
    with pytest.raises(ScoreError, match="more than 200 times its size"):
        unpack(bomb, "score.mxl")


def test_claim_of_two_gigabytes_is_refused_by_the_claim() -> None:
    with pytest.raises(ScoreError, match="The score is 2047 MB") as refused:
        unpack(claiming(0x7FFFFFFF), "score.mxl")
    assert refused.value.code == "too_large"


def test_claim_smaller_than_the_truth_unpacks_no_more_than_was_claimed() -> None:
    with pytest.raises(ScoreError, match="damaged"):
        unpack(claiming(10), "score.mxl")


def claiming(size: int) -> bytes:
    """An archive whose directory claims this unpacked size for its one entry."""
    data = bytearray(archive({"score.xml": SCORE}))
    at = data.index(b"PK\x01\x02") + 24
    data[at : at + 4] = struct.pack("<I", size)
    return bytes(data)


def test_encrypted_archive() -> None:
    data = bytearray(archive({"score.xml": SCORE}))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    with pytest.raises(ScoreError, match="encrypted") as refused:
        unpack(bytes(data), "score.mxl")
    assert refused.value.code == "encrypted_zip"


def test_wrong_checksum() -> None:
    data = bytearray(archive({"score.xml": SCORE}, zipfile.ZIP_STORED))
    data[data.index(b"<score-partwise") + 1] ^= 1
    with pytest.raises(ScoreError, match="damaged"):
        unpack(bytes(data), "score.mxl")


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_methods_that_unpack_without_bound_are_refused(method: int) -> None:
    with pytest.raises(ScoreError, match="packed in a way"):
        unpack(archive({"score.xml": SCORE}, method), "score.mxl")


def test_stored_entry() -> None:
    data = archive({"score.xml": SCORE}, zipfile.ZIP_STORED)
    assert unpack(data, "score.mxl").data == SCORE


def test_document_larger_than_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(container, "MAX_DOCUMENT_BYTES", 10)
    with pytest.raises(ScoreError, match="is not read"):
        unpack(SCORE, "score.xml")


def test_truncated_archives_never_escape_as_another_error() -> None:
    whole = archive({**container_of('full-path="score.xml"'), "score.xml": SCORE})
    for length in range(2, len(whole)):
        with pytest.raises(ScoreError, match="damaged"):
            unpack(whole[:length], "score.mxl")


def test_flipped_bytes_in_an_archive_never_escape_as_another_error() -> None:
    whole = archive({**container_of('full-path="score.xml"'), "score.xml": SCORE})
    outcomes = set()
    for at in range(2, len(whole)):
        for flip in (0x01, 0x80, 0xFF):
            damaged = bytearray(whole)
            damaged[at] ^= flip
            try:
                outcomes.add(unpack(bytes(damaged), "score.mxl").format)
            except ScoreError as refused:
                outcomes.add(refused.code)
    assert {"musicxml", "broken_zip"} <= outcomes
