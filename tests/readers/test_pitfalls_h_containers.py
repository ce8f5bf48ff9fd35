"""Encodings, roots, containers, broken values: items 58 to 61 of the list of pitfalls.

Input made to harm is tested beside the container; here is what honest files do.
"""

from __future__ import annotations

import io
import zipfile

import pytest
from events import assert_events, events, remarks, rows, state, tables_of

from scores import attributes, backup, bar, element, note, part, score, time, timewise, transpose

SONG = score(part(bar(note("C5", 4)), name="Flöte"))
SONG_EVENTS = [(0, 4, 72, "C5")]
DOCTYPE = (
    b'<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    b'"http://www.musicxml.org/dtds/partwise.dtd">'
)


def declared(encoding: str) -> bytes:
    """The song in another encoding, which it declares."""
    return SONG.decode().replace("UTF-8", encoding).encode(encoding)


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(SONG, id="UTF-8"),
        pytest.param(b"\xef\xbb\xbf" + SONG, id="UTF-8 with mark"),
        pytest.param(SONG.split(b"?>\n", 1)[1], id="no declaration"),
        pytest.param(declared("UTF-16"), id="UTF-16 with mark"),
        pytest.param(
            b"\xfe\xff" + SONG.decode().replace("UTF-8", "UTF-16").encode("UTF-16-BE"),
            id="UTF-16 of the other order",
        ),
        pytest.param(declared("ISO-8859-1"), id="Latin-1"),
        pytest.param(SONG.replace(b"?>\n", b"?>\n" + DOCTYPE, 1), id="DOCTYPE"),
        pytest.param(SONG.replace(b"\n", b"\r\n"), id="CRLF"),
    ],
)
def test_pitfall_58_encodings(data: bytes) -> None:
    tables = assert_events(data, SONG_EVENTS)
    assert rows(tables, "parts", "name") == ["Flöte"]


def test_pitfall_58_entities_of_xml_itself() -> None:
    data = score(part(bar(note("C5", 4)), name="R&amp;B &lt;1&gt; &#x266D; &quot;x&quot;"))
    tables = tables_of(data)
    assert events(tables) == SONG_EVENTS
    assert rows(tables, "parts", "name") == ['R&B <1> ♭ "x"']


def two_parts() -> tuple[bytes, bytes]:
    """One score, partwise and timewise."""
    parts = (
        part(
            bar(attributes(times=time("3/4"), transposes=transpose(-2, -1)), note("D5", 3)),
            bar(note("E5", 1, tie="start"), backup(1), note("G4", 3, voice=2)),
            bar(note("E5", 3)),
            name="Clarinet",
        ),
        part(bar(note("C3", 6)), bar(note("D3", 6)), bar(note("E3", 6)), divisions=2, name="Bass"),
    )
    return score(*parts), timewise(*parts)


TWO_PARTS = (
    [(0, 3, 72, "C5"), (3, 1, 74, "D5"), (3, 3, 65, "F4"), (6, 3, 74, "D5")],
    [(0, 3, 48, "C3"), (3, 3, 50, "D3"), (6, 3, 52, "E3")],
)


def test_pitfall_59_timewise_and_partwise_are_one_music() -> None:
    for data in two_parts():
        tables = assert_events(data, *TWO_PARTS)
        assert rows(tables, "parts", "part_id", "name") == [("P1", "Clarinet"), ("P2", "Bass")]


def test_pitfall_59_a_timewise_score_in_which_a_part_enters_later() -> None:
    """The second part has nothing in the first bar."""
    data = (
        b'<score-timewise version="4.0"><part-list><score-part id="A"><part-name>A</part-name>'
        b'</score-part><score-part id="B"><part-name>B</part-name></score-part></part-list>'
        b'<measure number="1"><part id="A"><attributes><divisions>1</divisions></attributes>'
        + note("C5", 4).encode()
        + b'</part></measure><measure number="2"><part id="A">'
        + note("D5", 4).encode()
        + b'</part><part id="B"><attributes><divisions>1</divisions></attributes>'
        + note("E4", 4).encode()
        + b"</part></measure></score-timewise>"
    )
    tables = assert_events(
        data, [(0, 4, 72, "C5"), (4, 4, 74, "D5")], [(4, 4, 64, "E4")], plain=False
    )
    assert rows(tables, "notes", "bar", part_index=1) == ["2"]


@pytest.mark.parametrize("form", ["default", "prefix"])
def test_pitfall_59_namespaces(form: str) -> None:
    data, _ = two_parts()
    text = data.decode()
    if form == "default":
        text = text.replace("<score-partwise ", '<score-partwise xmlns="urn:notes" ')
    else:
        body = text.split("?>\n", 1)[1]
        body = body.replace("</", "\0").replace("<", "<m:").replace("\0", "</m:")
        text = body.replace("<m:score-partwise ", '<m:score-partwise xmlns:m="urn:notes" ')
    assert_events(text.encode(), *TWO_PARTS)


CONTAINER = '<?xml version="1.0" encoding="UTF-8"?><container><rootfiles>{}</rootfiles></container>'


def archive(*entries: tuple[str, bytes]) -> bytes:
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as opened:
        for name, data in entries:
            opened.writestr(name, data)
    return target.getvalue()


def container(*rootfiles: tuple[str, str | None]) -> tuple[str, bytes]:
    inner = "".join(
        element("rootfile", full_path=path, media_type=kind) for path, kind in rootfiles
    )
    return ("META-INF/container.xml", CONTAINER.format(inner).encode())


PART_ALONE = score(part(bar(note("F5", 4))))
MUSICXML = "application/vnd.recordare.musicxml+xml"


@pytest.mark.parametrize("file_name", ["song.mxl", "song.musicxml", "song.xml"])
@pytest.mark.parametrize("kind", [None, MUSICXML])
def test_pitfall_60_the_first_rootfile_is_the_score(file_name: str, kind: str | None) -> None:
    """A part of the score stands first in the archive; the name of the file says nothing."""
    data = archive(
        ("mimetype", b"application/vnd.recordare.musicxml"),
        ("parts/fl.xml", PART_ALONE),
        ("lead.musicxml", SONG),
        container(("lead.musicxml", kind), ("parts/fl.xml", kind), ("lead.pdf", "application/pdf")),
        ("lead.pdf", b"%PDF-1.7"),
    )
    tables = tables_of(data, file_name)
    assert state(tables) == "read", remarks(tables)
    assert events(tables) == SONG_EVENTS


def test_pitfall_60_junk_entries_are_passed_over() -> None:
    data = archive(
        ("__MACOSX/._score.xml", b"\0\5\x16\7"),
        (".DS_Store", b"\0\0\0\1Bud1"),
        container(("score.xml", None)),
        ("score.xml", SONG),
    )
    assert events(tables_of(data, "song.mxl")) == SONG_EVENTS


def test_pitfall_60_a_score_in_utf_16_within_an_archive() -> None:
    data = archive(container(("score.xml", None)), ("score.xml", declared("UTF-16")))
    assert events(tables_of(data, "song.mxl")) == SONG_EVENTS


def test_pitfall_60_an_archive_without_container_but_with_one_score() -> None:
    data = archive(("__MACOSX/._score.xml", b"\0\5\x16\7"), ("score.xml", SONG))
    assert events(tables_of(data, "song.mxl")) == SONG_EVENTS


def failed(data: bytes) -> list[str]:
    """The errors of a score that is not read; its other tables are empty."""
    tables = tables_of(data)
    assert state(tables) == "failed", remarks(tables)
    assert [
        name
        for name in ("parts", "lines", "bars", "play_order", "notes", "directions")
        if tables[name].num_rows
    ] == []
    assert tables["movements"].num_rows == 1
    errors: list[str] = rows(tables, "remarks", "message", severity="error")
    assert errors
    assert all(message.strip() and "\n" not in message for message in errors)
    return errors


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b" \n", id="blanks"),
        pytest.param(SONG[: len(SONG) // 2], id="cut off"),
        pytest.param(b"<!DOCTYPE html><html><body>404</body></html>", id="a web page"),
        pytest.param(b"<score-partwise version='4.0'/>", id="no parts"),
        pytest.param(b"\x89PNG\r\n\x1a\n", id="a picture"),
        pytest.param(SONG.replace(b"</part>", b"</parts>"), id="tags that do not match"),
    ],
)
def test_pitfall_61_what_is_no_score_fails_with_a_sentence(data: bytes) -> None:
    failed(data)


def faulty(fault: str, *others: str) -> bytes:
    return score(
        part(bar(note("C5", 4)), bar(fault, *others), bar(note("E5", 4))),
        part(bar(note("C4", 4)), bar(note("D4", 4)), bar(note("E4", 4))),
    )


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(faulty(note("D5", "abc")), id="word as duration"),
        pytest.param(faulty(note("D5", 4).replace(">D<", ">H<")), id="step H"),
        pytest.param(faulty(note("D5", 4, alter="flat")), id="word as alter"),
        pytest.param(faulty(note("D5", 4).replace(">5<", ">five<")), id="word as octave"),
        pytest.param(faulty(note("D5", -4)), id="negative duration"),
        pytest.param(faulty(note("D5")), id="no duration"),
        pytest.param(faulty(note("<pitch><step>D</step></pitch>", 4)), id="no octave"),
        pytest.param(faulty(attributes(divisions=0), note("D5", 4)), id="divisions 0"),
        pytest.param(faulty(attributes(divisions="x"), note("D5", 4)), id="word as divisions"),
        pytest.param(faulty(backup("x"), note("D5", 4)), id="word as backup"),
        pytest.param(faulty(note("D5", "1e999")), id="endless duration"),
        pytest.param(faulty(note("D5", "NaN")), id="duration that is no number"),
        pytest.param(
            faulty(attributes(transposes=transpose("x")), note("D5", 4)), id="word as transposition"
        ),
    ],
)
def test_pitfall_61_a_broken_value_is_never_silent(data: bytes) -> None:
    """Failed with an error, or read with a warning, the bars before and the other part whole."""
    tables = tables_of(data)
    if state(tables) == "failed":
        failed(data)
        return
    assert [text for text in remarks(tables) if text.startswith(("warning", "error"))]
    assert events(tables, 1) == [(0, 4, 60, "C4"), (4, 4, 62, "D4"), (8, 4, 64, "E4")]
    assert (0, 4, 72, "C5") in events(tables)


def test_pitfall_61_missing_divisions_are_said() -> None:
    data = score(part(bar(note("C5", 4)), divisions=None))
    tables = tables_of(data)
    assert remarks(tables)
    if state(tables) == "read":
        assert events(tables) == SONG_EVENTS


def test_pitfall_61_a_number_may_have_blanks_signs_and_decimals() -> None:
    data = score(
        part(
            bar(
                note("C5", " 4 "),
                note("D5", "+4"),
                note("E5", "4.0"),
                note("F5", "\n2.5\t"),
                note("G5", "1.5"),
            ),
            divisions="4.0",
        )
    )
    tables = tables_of(data)
    assert state(tables) == "read", remarks(tables)
    assert [(float(event[0]), float(event[1])) for event in events(tables)] == [
        (0, 1),
        (1, 1),
        (2, 1),
        (3, 0.625),
        (3.625, 0.375),
    ]
