"""Names, groups, lyrics, rehearsal marks, figures: items 54 to 57 and 62 of the list."""

from __future__ import annotations

import pytest
from events import assert_events, assert_remark, quarters, rows, tables_of

from scores import (
    Part,
    attributes,
    bar,
    direction,
    element,
    instrument,
    note,
    part,
    score,
    transpose,
    words,
)


def test_pitfall_54_parts_of_one_name_are_two_parts() -> None:
    data = score(
        part(bar(note("C4", 4)), name="Horn"),
        part(bar(note("E4", 4)), name="Horn"),
    )
    tables = assert_events(data, [(0, 4, 60, "C4")], [(0, 4, 64, "E4")])
    assert rows(tables, "parts", "part_index", "part_id", "name") == [
        (0, "P1", "Horn"),
        (1, "P2", "Horn"),
    ]


def test_pitfall_54_names_over_two_lines_and_abbreviations() -> None:
    data = score(
        part(
            bar(note("C4", 4)),
            name="B Horn 3&#10;[NB: B natural]",
            entry=element("part-abbreviation", "Hn. 3"),
        )
    )
    tables = tables_of(data)
    (found,) = rows(tables, "parts", "name", "abbreviation")
    assert found[0].split() == ["B", "Horn", "3", "[NB:", "B", "natural]"]
    assert found[1] == "Hn. 3"


def test_pitfall_54_ids_and_instruments_are_the_part_s_own() -> None:
    """Any id will do; the name may be empty; sound id and program are kept."""
    clarinet = (
        element(
            "score-instrument",
            element("instrument-name", "Clarinet")
            + element("instrument-sound", "wind.reed.clarinet.bflat"),
            id="x-1",
        )
        + '<midi-instrument id="x-1"><midi-program>72</midi-program></midi-instrument>'
    )
    data = score(
        part(bar(note("C4", 4)), name="", part_id="Klar.1", entry=clarinet),
    )
    tables = assert_events(data, [(0, 4, 60, "C4")])
    assert rows(tables, "parts", "part_id", "sound_id", "midi_program") == [
        ("Klar.1", "wind.reed.clarinet.bflat", 72)
    ]


def test_pitfall_54_the_order_is_that_of_the_parts_in_the_file() -> None:
    """The list of parts names the second first."""
    listed = element("score-part", element("part-name", "Oboe"), id="P2") + element(
        "score-part", element("part-name", "Flute"), id="P1"
    )
    data = score(part(bar(note("C5", 4))), part(bar(note("D5", 4))), part_list=listed)
    tables = assert_events(data, [(0, 4, 72, "C5")], [(0, 4, 74, "D5")])
    assert rows(tables, "parts", "part_index", "part_id", "name") == [
        (0, "P1", "Flute"),
        (1, "P2", "Oboe"),
    ]


def test_pitfall_54_a_part_that_the_list_forgets_is_read() -> None:
    listed = element("score-part", element("part-name", "Flute"), id="P1")
    data = score(part(bar(note("C5", 4))), part(bar(note("D5", 4))), part_list=listed)
    tables = assert_events(data, [(0, 4, 72, "C5")], [(0, 4, 74, "D5")])
    assert rows(tables, "parts", "part_id") == ["P1", "P2"]
    assert_remark(tables, "list", "part")


def grouped(number: int, kind: str, name: str | None = None) -> str:
    content = "" if name is None else element("group-name", name)
    return element("part-group", content, number=number, type=kind)


def listed(part_id: str, name: str) -> str:
    return element("score-part", element("part-name", name), id=part_id)


def test_pitfall_55_groups_are_nested_and_their_numbers_are_used_again() -> None:
    part_list = (
        grouped(1, "start", "Winds")
        + listed("P1", "Flute")
        + grouped(2, "start", "Horns")
        + listed("P2", "Horn")
        + grouped(2, "stop")
        + grouped(1, "stop")
        + grouped(1, "start", "Strings")
        + listed("P3", "Violin")
        + grouped(1, "stop")
        + listed("P4", "Organ")
    )
    data = score(*(part(bar(note("C5", 4))) for _ in range(4)), part_list=part_list)
    flute, horn, violin, organ = rows(tables_of(data), "parts", "bracket")
    assert flute == "Winds"
    assert horn.index("Winds") < horn.index("Horns")
    assert violin == "Strings"
    assert not organ


def test_pitfall_55_a_group_opened_later_is_closed_by_its_number() -> None:
    """Group 1 ends while group 2, opened within it, goes on."""
    part_list = (
        grouped(1, "start", "A")
        + grouped(2, "start", "B")
        + listed("P1", "Flute")
        + grouped(1, "stop")
        + listed("P2", "Horn")
        + grouped(2, "stop")
    )
    data = score(*(part(bar(note("C5", 4))) for _ in range(2)), part_list=part_list)
    first, second = rows(tables_of(data), "parts", "bracket")
    assert "A" in first
    assert "B" in first
    assert second == "B"


def lyric(*content: str, number: int = 1, **attributes: str) -> str:
    return element("lyric", "".join(content), number=number, **attributes)


def text(syllable: str) -> str:
    return element("text", syllable)


def syllabic(kind: str) -> str:
    return element("syllabic", kind)


def test_pitfall_56_syllables_of_a_voice() -> None:
    data = score(
        part(
            bar(
                note("C5", 1, lyric=lyric(syllabic("begin"), text("Ky"))),
                note("D5", 1, lyric=lyric(syllabic("middle"), text("ri"))),
                note(
                    "E5",
                    1,
                    lyric=lyric(
                        syllabic("end"), text("e"), "<elision>‿</elision>", text("e"), "<extend/>"
                    ),
                ),
                note("F5", 1, lyric=lyric(text("lei"))),
            ),
            name="Soprano",
        )
    )
    tables = assert_events(
        data, [(0, 1, 72, "C5"), (1, 1, 74, "D5"), (2, 1, 76, "E5"), (3, 1, 77, "F5")]
    )
    found = rows(tables, "notes", "lyric", "syllabic")
    assert found[:2] == [("Ky", "begin"), ("ri", "middle")]
    assert found[2][0].startswith("e")
    assert found[2][0].endswith("e")
    assert len(found[2][0]) > 1
    assert found[3][0] == "lei"


def test_pitfall_56_the_first_verse_and_notes_without_syllable() -> None:
    data = score(
        part(
            bar(
                note(
                    "C5",
                    2,
                    lyric=lyric(syllabic("single"), text("one"))
                    + lyric(syllabic("single"), text("two"), number=2),
                ),
                note("D5", 2),
            ),
            name="Alto",
        )
    )
    assert rows(tables_of(data), "notes", "lyric", "syllabic") == [("one", "single"), (None, None)]


def test_pitfall_56_a_label_under_an_oboe_is_no_text() -> None:
    data = score(part(bar(note("C5", 4, lyric=lyric(text("a"), color="#FF0000"))), name="Oboe 1"))
    assert rows(tables_of(data), "notes", "lyric") == [None]


def test_pitfall_57_a_rehearsal_mark_is_one_of_the_score() -> None:
    mark = direction(element("rehearsal", "A"), system="only-top")
    data = score(
        part(bar(note("C5", 4)), bar(note("D5", 4))),
        part(bar(note("C4", 4)), bar(mark, note("D4", 4))),
    )
    tables = tables_of(data)
    assert rows(tables, "bars", "rehearsal") == [None, "A"]
    found = rows(tables, "directions", "kind", "text", "bar_index", "onset_ticks")
    assert [(kind, said, index) for kind, said, index, _ in found] == [("rehearsal", "A", 1)]
    assert quarters(found[0][3]) == 4


@pytest.mark.parametrize("where", ["before", "between", "after"])
def test_pitfall_62_figured_bass_takes_no_time(where: str) -> None:
    figures = element(
        "figured-bass",
        element("figure", element("figure-number", 6)) + element("duration", 2),
    )
    first = figures if where == "before" else ""
    between = figures + figures if where == "between" else ""
    last = figures if where == "after" else ""
    data = score(part(bar(first, note("C3", 2), between, note("D3", 2), last), bar(note("E3", 4))))
    assert_events(data, [(0, 2, 48, "C3"), (2, 2, 50, "D3"), (4, 4, 52, "E3")])


def test_pitfall_62_chord_symbols_and_play_helpers_are_no_notes() -> None:
    harmony = element(
        "harmony",
        element("root", element("root-step", "C"))
        + element("kind", "major")
        + element("offset", 1),
    )
    play = element("play", element("mute", "on"))
    data = score(
        part(
            bar(
                attributes(transposes=transpose(-2, -1)),
                harmony,
                note("D5", 3, lyric=play),
                harmony,
                note("E5", 1),
                "<bookmark id='here'/>",
                "<print new-page='yes'/>",
            ),
            bar(note("F5", 4)),
        )
    )
    assert_events(data, [(0, 3, 72, "C5"), (3, 1, 74, "D5"), (4, 4, 75, "Eb5")])


def test_nothing_of_another_part_is_needed() -> None:
    """A part whose entry names instruments that no note refers to."""
    lonely: Part = part(
        bar(direction(words("Tutti")), note("C4", 4)),
        name="Organ",
        entry=instrument("P1-I1", "Organ") + instrument("P1-I2", "Organ pedal"),
    )
    assert_events(score(lonely), [(0, 4, 60, "C4")])
