"""XML in any encoding → UTF-8."""

from __future__ import annotations

import codecs

import pytest

from collaparte.errors import ScoreError
from collaparte.readers.encoding import in_utf8

BARE = '<?xml version="1.0"?><a>Dvořák é</a>'


def declaring(encoding: str, text: str = "Händel é") -> str:
    return f'<?xml version="1.0" encoding="{encoding}"?><a>{text}</a>'


@pytest.mark.parametrize("data", [BARE.encode(), declaring("UTF-8").encode(), b"<a/>"])
def test_utf8_is_handed_on_as_it_is(data: bytes) -> None:
    document, remarks = in_utf8(data)
    assert document is data
    assert remarks == ()


@pytest.mark.parametrize(
    ("codec", "declared"),
    [
        ("utf-16", "UTF-16"),
        ("utf-16-le", "UTF-16"),
        ("utf-16-be", "utf-16"),
        ("utf-32-le", "UTF-32"),
        ("utf-32-be", "ISO-10646-UCS-4"),
        ("utf-32", "UTF-32"),
        ("latin-1", "ISO-8859-1"),
        ("cp1252", "windows-1252"),
        ("cp1250", "Windows-1250"),
    ],
)
def test_text_becomes_utf8_without_a_declared_encoding(codec: str, declared: str) -> None:
    document, remarks = in_utf8(declaring(declared).encode(codec))
    assert document.decode() == '<?xml version="1.0"?><a>Händel é</a>'
    assert remarks == ()


@pytest.mark.parametrize(
    ("mark", "codec"), [(codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_BE, "utf-16-be")]
)
def test_byte_order_mark_is_left_out(mark: bytes, codec: str) -> None:
    assert in_utf8(mark + BARE.encode(codec)) == (BARE.encode(), ())


@pytest.mark.parametrize(
    ("data", "declared", "truly"),
    [
        (declaring("UTF-16").encode("utf-8"), "utf-16", "utf-8"),
        (declaring("UTF-8").encode("utf-16-le"), "utf-8", "utf-16-le"),
        (declaring("ISO-8859-1").encode("utf-8"), "iso-8859-1", "utf-8"),
        (codecs.BOM_UTF8 + declaring("windows-1252").encode(), "windows-1252", "utf-8"),
    ],
)
def test_bytes_outrank_a_declaration_that_cannot_be(data: bytes, declared: str, truly: str) -> None:
    document, (remark,) = in_utf8(data)
    assert "<a>Händel é</a>" in document.decode()
    assert remark.code == "wrong_encoding"
    assert f"declares the encoding {declared}, but its bytes are {truly}" in remark.message


def test_ascii_bytes_contradict_no_declaration() -> None:
    document, remarks = in_utf8(declaring("ISO-8859-1", "Bach").encode())
    assert document == b'<?xml version="1.0"?><a>Bach</a>'
    assert remarks == ()


@pytest.mark.parametrize("codec", ["utf-8", "utf-16-le", "utf-16-be"])
def test_white_space_before_the_declaration_is_left_out_with_a_remark(codec: str) -> None:
    document, remarks = in_utf8(f"\n \t{BARE}".encode(codec))
    assert document == BARE.encode()
    assert [remark.code for remark in remarks] == ["space_before_xml"]


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (declaring("klingon").encode("latin-1"), "unknown encoding, klingon"),
        (declaring("punycode").encode("latin-1"), "unknown encoding, punycode"),
        (declaring("ISO-8859-99").encode("latin-1"), "unknown encoding, iso-8859-99"),
        (declaring("cp1252", "\n\x81").encode("latin-1"), "Line 2 is not the cp1252 text"),
        (BARE.encode("utf-16")[:-1], "Line 1 is not the utf-16-le text"),
    ],
)
def test_text_that_fits_no_encoding_is_refused(data: bytes, sentence: str) -> None:
    with pytest.raises(ScoreError, match=sentence) as refused:
        in_utf8(data)
    assert refused.value.code == "wrong_encoding"
