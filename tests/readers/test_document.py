"""The check of a document before it is cut, its plain spelling, and the removal of comments."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from collaparte.errors import ScoreError
from collaparte.readers.musicxml import document
from collaparte.readers.musicxml.document import (
    check_well_formed,
    normalised,
    root_name,
    without_comments,
)

DTD = b'<!DOCTYPE score-partwise PUBLIC "-//X//DTD//EN" "http://example.org/partwise.dtd">\n'


def partwise(inner: bytes, before: bytes = b"") -> bytes:
    return before + b"<score-partwise>" + inner + b"</score-partwise>"


@pytest.mark.parametrize(
    "data",
    [
        partwise(b""),
        partwise(b"<a b='>'>&lt;&#233;&amp;<![CDATA[<x>]]></a><!-- < --><?p?>", DTD),
        partwise("é".encode(), b'<?xml version="1.0" encoding="UTF-8" standalone="no"?>'),
        partwise(b"x" * (3 << 20)),
    ],
)
def test_well_formed(data: bytes) -> None:
    check_well_formed(data)


@pytest.mark.parametrize(
    ("data", "code", "sentence"),
    [
        (b"", "broken_xml", "The file breaks off in line 1, before its elements are closed."),
        (b"<a>\n<b>", "broken_xml", "The file breaks off in line 2, before"),
        (b"<a>\n<b", "broken_xml", "The file breaks off in line 2, before"),
        (b"<a>\n</b>", "broken_xml", "Line 2 is not well-formed XML: the closing tag is not that"),
        (b"<a>\n1 < 2</a>", "broken_xml", "Line 2 .*: a character stands where XML allows none."),
        (b"<a>\0</a>", "broken_xml", "Line 1 .*: a character stands where XML allows none."),
        (b"<a>\n\xe9</a>", "broken_xml", "Line 2 is not the UTF-8 text that the file promises."),
        (b"<a/><b/>", "broken_xml", "something follows the end of the score"),
        (b"<a b='1' b='2'/>", "broken_xml", "Line 1 is not well-formed XML: duplicate attribute"),
        (b"<a>&b;</a>", "broken_xml", "an entity is used that XML does not define"),
        (DTD + b"<a>\n&b;</a>", "unsafe_xml", "Line 3 uses the entity &b;"),
        (b"\n<!DOCTYPE a [<!ENTITY b 'c'>]><a/>", "unsafe_xml", "Line 2 begins a DOCTYPE"),
        (b"<!DOCTYPE a [<!ATTLIST a b CDATA 'c'>]><a/>", "unsafe_xml", "Line 1 begins a DOCTYPE"),
        (b"<!DOCTYPE a [%b;]><a/>", "unsafe_xml", "Line 1 begins a DOCTYPE"),
    ],
)
def test_refused_with_the_line(data: bytes, code: str, sentence: str) -> None:
    with pytest.raises(ScoreError, match=sentence) as refused:
        check_well_formed(data)
    assert refused.value.code == code


def test_larger_than_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(document, "MAX_DOCUMENT_BYTES", 3 << 20)
    for read in (check_well_formed, normalised):
        with pytest.raises(ScoreError, match="more than 3 MB is not read") as refused:
            read(partwise(b" " * (3 << 20)))
        assert refused.value.code == "too_large"


@pytest.mark.parametrize("opening", [b"<!--", b"<a b='", b"<?p "])
def test_endless_token_is_refused_before_it_ends(opening: bytes) -> None:
    data = b"\n<score-partwise>" + opening + b"x" * (12 << 20)
    with pytest.raises(ScoreError, match="Line 2 begins a tag or comment of more than 8 MB"):
        check_well_formed(data)


@pytest.mark.parametrize(
    ("data", "name"),
    [
        (partwise(b"", DTD), "score-partwise"),
        (b"<!-- <b> --><?p <c> ?>\n<m:a xmlns:m='x'>never closed", "m:a"),
    ],
)
def test_root_name_needs_the_prolog_only(data: bytes, name: str) -> None:
    assert root_name(data) == name


@pytest.mark.parametrize(
    ("data", "plain"),
    [
        (partwise(b"<!-- c --><a/><?p x?>", b'<?xml version="1.0"?>' + DTD), b"<a/>"),
        (partwise(b"<a>1<![CDATA[<&]]>2<!-- c -->3</a>"), b"<a>1&lt;&amp;23</a>"),
        (partwise(b"<a b='x>y'>a>b</a>"), b'<a b="x&gt;y">a&gt;b</a>'),
        (partwise(b"<a>&#60;&#xE9;</a>"), "<a>&lt;é</a>".encode()),
    ],
)
def test_normalised_is_the_plainest_spelling(data: bytes, plain: bytes) -> None:
    assert normalised(data) == partwise(plain)


def test_normalised_takes_local_names() -> None:
    data = (
        b"<m:score-partwise xmlns:m='urn:m' xmlns:l='urn:l'>"
        b"<m:part id='P1'><m:a l:href='x'/></m:part></m:score-partwise>"
    )
    expected = (
        b'<score-partwise xmlns:l="urn:l"><part id="P1"><a l:href="x"/></part></score-partwise>'
    )
    assert normalised(data) == expected
    assert normalised(b"<score-partwise xmlns='urn:m'><a/></score-partwise>") == partwise(b"<a/>")


def test_normalised_turns_a_timewise_score_over() -> None:
    data = (
        b"<score-timewise version='4.0'><part-list/>"
        b"<measure number='1' width='9'>"
        b"<part id='P1'><a/></part><part id='P2'><b/></part></measure>"
        b"<measure number='2'><part id='P2'><c/></part></measure>"
        b"</score-timewise>"
    )
    assert normalised(data) == (
        b'<score-partwise version="4.0"><part-list/>'
        b'<part id="P1"><measure number="1" width="9"><a/></measure><measure number="2"/></part>'
        b'<part id="P2"><measure number="1" width="9"><b/></measure>'
        b'<measure number="2"><c/></measure></part></score-partwise>'
    )


@pytest.mark.parametrize(
    ("data", "code", "sentence"),
    [
        (b"<mei/>", "not_a_score", "root element is mei"),
        (partwise(b"<a>\n</b>"), "broken_xml", "Line 2 is not well-formed XML"),
        (DTD + partwise(b"\n&b;"), "unsafe_xml", "uses the entity &b;"),
        (b"<!DOCTYPE a [<!ATTLIST a b CDATA 'c'>]><a/>", "unsafe_xml", "begins a DOCTYPE"),
        (partwise(b"<a>" * 300 + b"</a>" * 300), "too_large", "beyond 256 levels"),
        (partwise(b"x" * (11 << 20)), "too_large", "10 MB of one text"),
    ],
)
def test_normalised_refuses(data: bytes, code: str, sentence: str) -> None:
    with pytest.raises(ScoreError, match=sentence) as refused:
        normalised(data)
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("data", "left"),
    [
        (b"<a>1<!-- -->2<!--<b>-\n- >--></a>", b"<a>12\n</a>"),
        (b"<?xml version='1.0'?><!--x--><a/>", b"<?xml version='1.0'?><a/>"),
        (b"<a><!--x--><![CDATA[<!--y-->]]></a>", None),
        (b"<?xml version='1.0'?><a><?p <!--x--> ?></a>", None),
        (b"<a><!--x--><!--</a>", None),
    ],
)
def test_without_comments(data: bytes, left: bytes | None) -> None:
    assert without_comments(data) == (data if left is None else left)


_PIECES = st.lists(
    st.sampled_from(
        [
            "<a>",
            "</a>",
            "<b/>",
            "1",
            " ",
            "<!--",
            "-->",
            "-",
            "<![CDATA[",
            "]]>",
            "<?p",
            "?>",
            "&lt;",
        ]
    ),
    max_size=12,
)


@given(_PIECES)
def test_without_comments_changes_nothing_else(pieces: list[str]) -> None:
    data = partwise("".join(pieces).encode())
    try:
        check_well_formed(data)
    except ScoreError:
        return
    parser = etree.XMLParser(remove_comments=True)
    assert etree.tostring(etree.fromstring(without_comments(data), parser)) == etree.tostring(
        etree.fromstring(data, parser)
    )


@given(_PIECES)
def test_expat_and_libxml2_accept_the_same(pieces: list[str]) -> None:
    data = partwise("".join(pieces).encode())
    verdicts = []
    for read in (check_well_formed, normalised):
        try:
            read(data)
        except ScoreError:
            verdicts.append(False)
        else:
            verdicts.append(True)
    assert verdicts[0] == verdicts[1]
