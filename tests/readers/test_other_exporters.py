"""Ways of writing one and the same score that exporters differ in."""

from __future__ import annotations

import re

import pytest
from events import Event, assert_events, rows, tables_of

from scores import attributes, backup, bar, direction, element, note, part, score, transpose, words

COMPOUND = score(
    part(
        bar(
            attributes(transposes=transpose(-2, -1)),
            direction(words("dolce")),
            note("D5", 2, tie="start", voice=1),
            note("F#5", 2, chord=True, voice=1),
            backup(2),
            note("A4", 1, voice=2),
        ),
        bar(note("D5", 4, tie="stop", voice=1)),
        name="Clarinet",
    ),
    part(bar(note("C4", 4)), bar(note("unpitched E4", 8)), divisions=2, name="Percussion"),
)
EVENTS: tuple[list[Event], list[Event]] = (
    [(0, 6, 72, "C5"), (0, 2, 76, "E5"), (0, 1, 67, "G4")],
    [(0, 2, 60, "C4"), (2, 4, None, None, "unpitched")],
)


def commented(data: bytes) -> bytes:
    return re.sub(rb"(<measure)", rb"<!-- ===== <bar> & 1 > 0 -->\1", data)


WAYS = {
    "as it is": COMPOUND,
    "comment before every bar": commented(COMPOUND),
    "comments everywhere": COMPOUND.replace(b"><", b"><!-- a > b --><"),
    "comment within a number": COMPOUND.replace(
        b"<duration>4", b"<duration><!-- was 3 -->4<!-- > -->"
    ),
    "comment that holds a note": COMPOUND.replace(
        b"</measure>", b"<!--<note><duration>4</duration></note>--></measure>"
    ),
    "instructions": COMPOUND.replace(b"<part-list>", b"<?page top?><part-list>").replace(
        b"<note>", b"<?note <here> ?><note>"
    ),
    "CDATA": COMPOUND.replace(b"<words>dolce", b"<words><![CDATA[dolce]]>").replace(
        b"<step>D", b"<step><![CDATA[D]]>"
    ),
    "character references": COMPOUND.replace(b"<step>D", b"<step>&#68;").replace(
        b"<duration>4", b"<duration>&#x34;"
    ),
    "sign in an attribute": COMPOUND.replace(b"<note>", b"<note id='a>b' color='&#34;&lt;'>"),
    "single quotes": COMPOUND.replace(b'"', b"'"),
    "blanks in tags": COMPOUND.replace(b"<tie type=", b"<tie\n  type =  ")
    .replace(b"</note>", b"</note\n>")
    .replace(b"<chord/>", b"<chord ></chord >"),
    "indented": COMPOUND.replace(b"><", b">\n    <"),
    "no line ends": COMPOUND.replace(b"\n", b""),
    "empty elements in full": re.sub(rb"<([\w-]+)([^<>]*)/>", rb"<\1\2></\1>", COMPOUND),
    "foreign attributes": COMPOUND.replace(
        b"<part id", b'<part xmlns:x="urn:x" x:kind="<note>"'.replace(b"<note>", b"note") + b" id"
    ),
    "foreign elements": COMPOUND.replace(
        b"</measure>", b'<x:mark xmlns:x="urn:x"><x:hint>note</x:hint></x:mark></measure>'
    ),
    "trailing comment": COMPOUND + b"<!-- end -->\n",
    "standalone": COMPOUND.replace(
        b'encoding="UTF-8"?>',
        b'encoding="UTF-8" standalone="no"?><!DOCTYPE score-partwise '
        b'PUBLIC "-//Recordare//DTD MusicXML 3.1 Partwise//EN" '
        b"'http://www.musicxml.org/dtds/partwise.dtd'>",
    ),
}


@pytest.mark.parametrize("way", WAYS)
def test_one_score_however_it_is_written(way: str) -> None:
    tables = assert_events(WAYS[way], *EVENTS)
    assert rows(tables, "directions", "text") == ["dolce"]
    assert rows(tables, "parts", "name") == ["Clarinet", "Percussion"]


def test_text_is_what_the_entities_mean() -> None:
    data = score(
        part(
            bar(
                direction(words("piano &amp; dolce &lt;3&gt; d&apos;un &#x201C;soffio&#x201D;")),
                direction(words("<![CDATA[<b> & ]] > ]]>")),
                direction(words("a<!-- no -->b")),
                note("C5", 4),
            ),
            name="Soprano &amp; Alto".replace(" &amp; Alto", " &#38; Co"),
        )
    )
    tables = tables_of(data)
    assert rows(tables, "directions", "text") == [
        "piano & dolce <3> d'un “soffio”",
        "<b> & ]] >",
        "ab",
    ]
    assert rows(tables, "parts", "name") == ["Soprano & Co"]


def test_what_the_file_says_about_itself() -> None:
    head = (
        element("work", element("work-title", "Title &amp; more"))
        + element("movement-number", "2")
        + element("movement-title", "Largo")
        + element(
            "identification",
            element("creator", "A. Nobody", type="composer")
            + element("rights", "CC0 &gt; all")
            + element(
                "encoding",
                element("software", "Pen 1.0")
                + element("encoder", "B. Nobody")
                + element("encoding-date", "2026-11-25"),
            ),
        )
    )
    tables = tables_of(score(part(bar(note("C5", 4))), head=head))
    assert rows(tables, "movements", "rights_text", "software", "encoder", "format") == [
        ("CC0 > all", "Pen 1.0", "B. Nobody", "musicxml")
    ]
    assert rows(tables, "movements", "bars", "quarters", "parts", "lines") == [(1, 4.0, 1, 1)]
