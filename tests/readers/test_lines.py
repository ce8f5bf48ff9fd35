"""Lines of a staff, on small scores worked out by hand: voices, chords, hands, several names.

A further line exists from a twentieth of the staff's onsets on (`chord_rank_share`).
"""

from __future__ import annotations

import pytest
from events import played, remarks, rows, tables_of

from collaparte.schema import Tables
from scores import (
    Bar,
    attributes,
    backup,
    bar,
    chord,
    instrument,
    note,
    part,
    rest,
    score,
    transpose,
)


def read(name: str, *bars: Bar, entry: str = "") -> Tables:
    return tables_of(score(part(*bars, name=name, entry=entry)))


def plain(count: int) -> list[Bar]:
    return [bar(note("D5", 1) * 4) for _ in range(count)]


def test_one_chord_in_twenty_onsets_makes_a_second_line() -> None:
    tables = read("Violin 1", bar(chord("C5", "A4", duration=1), note("D5", 1) * 3), *plain(4))
    assert list(played(tables)) == ["Violin 1, upper", "Violin 1, lower"]
    assert played(tables)["Violin 1, lower"] == "0:A4"
    assert rows(tables, "lines", "line_basis", "players") == [("rank", 1)] * 2


def test_one_chord_in_twenty_four_onsets_stays_on_the_line() -> None:
    tables = read("Violin 1", bar(chord("C5", "A4", duration=1), note("D5", 1) * 3), *plain(5))
    assert list(played(tables)) == ["Violin 1"]
    assert played(tables)["Violin 1"].startswith("0:C5+A4 1:D5")
    assert rows(tables, "lines", "line_basis") == ["part"]


def test_grace_notes_are_no_onsets_of_the_count() -> None:
    graces = note("E5", grace="", chord=False) * 8
    tables = read(
        "Violin 1", bar(graces, chord("C5", "A4", duration=1), note("D5", 1) * 3), *plain(4)
    )
    assert len(rows(tables, "lines", "player")) == 2


def test_a_third_rank_too_rare_joins_the_second() -> None:
    chords = [bar(chord("C5", "A4", duration=2) * 2) for _ in range(12)]
    tables = read("Viola", bar(chord("C5", "A4", "F4", duration=4)), *chords)
    assert list(played(tables)) == ["Viola, upper", "Viola, lower"]
    assert played(tables)["Viola, lower"].startswith("0:A4+F4 4:A4")


def test_voices_on_a_staff_are_lines_from_the_top() -> None:
    tables = read(
        "Viola",
        bar(
            note("C5", 4, voice=1), backup(4),
            note("A4", 2, voice=2), note("E5", 2, voice=2),
        ),
        bar(rest(4, voice=1), backup(4), note("G4", 4, voice=2)),
        bar(note("F5", 4, voice=2)),
    )  # fmt: skip
    assert played(tables) == {"Viola, upper": "0:C5 8:F5", "Viola, lower": "0:A4 2:E5 4:G4"}


def test_a_voice_below_a_chord_lies_below_all_of_it() -> None:
    content = bar(chord("E5", "C5", duration=4, voice=1), backup(4), note("G4", 4, voice=2))
    assert played(read("Violin 1", content)) == {
        "Violin 1, upper": "0:E5",
        "Violin 1, middle": "0:C5",
        "Violin 1, lower": "0:G4",
    }


def test_the_number_of_a_single_voice_means_nothing() -> None:
    assert played(read("Viola", bar(note("C5", 4, voice=3)))) == {"Viola": "0:C5"}


def test_four_ranks_are_counted() -> None:
    tables = read("Violoncello", bar(chord("A4", "D4", "G3", "C3", duration=4)))
    assert list(played(tables)) == [f"Violoncello, {rank} of 4" for rank in (1, 2, 3, 4)]


@pytest.mark.parametrize("name", ["Harp", "Piano", "Organ"])
def test_hands_have_lines_of_their_own_and_chords_are_ranked_within(name: str) -> None:
    tables = read(
        name,
        bar(
            attributes(staves=2), chord("C5", "A4", duration=4, staff=1), backup(4),
            note("C3", 4, staff=2),
        ),
    )  # fmt: skip
    assert played(tables) == {
        f"{name}, staff 1, upper": "0:C5",
        f"{name}, staff 1, lower": "0:A4",
        f"{name}, staff 2": "0:C3",
    }
    assert rows(tables, "lines", "line_basis") == ["rank", "rank", "staff"]
    assert len(set(rows(tables, "lines", "player_key"))) == 1


def test_a_staff_that_names_several_instruments_is_each_of_them() -> None:
    tables = read("Soprano / Oboe 1.2 / Violin 1", bar(note("C5", 4)))
    assert played(tables) == {"Soprano": "0:C5", "Oboe 1.2": "0:C5", "Violin 1": "0:C5"}
    assert rows(tables, "lines", "instrument", "line_basis", "players") == [
        ("voice-soprano-solo", "name", 1),
        ("oboe", "name", 2),
        ("violin", "name", None),
    ]
    assert len(set(rows(tables, "notes", "note_key"))) == 3
    assert len(set(rows(tables, "lines", "player_key"))) == 3


def test_several_names_written_in_as_many_ranks_share_them_out() -> None:
    tables = read("Flute / Oboe", bar(chord("C5", "A4", duration=4)))
    assert played(tables) == {"Flute": "0:C5", "Oboe": "0:A4"}


def test_ranks_beyond_the_names_are_the_lowest_ones() -> None:
    tables = read("Flute / Oboe", bar(chord("C5", "A4", "F4", duration=4)))
    assert played(tables) == {"Flute": "0:C5", "Oboe, upper": "0:A4", "Oboe, lower": "0:F4"}


def test_four_voices_on_two_staves() -> None:
    data = score(
        part(bar(chord("C5", "G4", duration=4)), name="Soprano / Alto"),
        part(bar(chord("E4", "C3", duration=4)), name="Tenor\nBass"),
    )
    tables = tables_of(data)
    assert played(tables) == {"Soprano": "0:C5", "Alto": "0:G4", "Tenor": "0:E4", "Bass": "0:C3"}
    assert rows(tables, "lines", "family") == ["voice"] * 4


def test_cello_and_bass_on_one_staff_an_octave_apart() -> None:
    octave = attributes(transposes=transpose(0, 0, double="below"))
    tables = read("Violoncello / Contrabass", bar(octave, note("C3", 4)))
    assert played(tables) == {"Violoncello": "0:C3", "Contrabass": "0:C2"}


PERCUSSION = instrument("I1", "Bass Drum") + instrument("I2", "Cymbals")


def test_instruments_of_single_notes_are_lines_of_their_own() -> None:
    tables = read(
        "Percussion",
        bar(
            note("unpitched E4", 2, instrument="I1"), note("unpitched C5", 2, instrument="I2"),
        ),
        entry=PERCUSSION,
    )  # fmt: skip
    assert played(tables) == {"Bass Drum": "0:x", "Cymbals": "2:x"}
    assert rows(tables, "lines", "instrument", "line_basis") == [
        ("bass-drum", "instrument"),
        ("cymbals", "instrument"),
    ]


def test_a_note_that_names_no_instrument_is_the_first_ones() -> None:
    tables = read(
        "Oboe",
        bar(
            note("E4", 2), note("C5", 1, instrument="I2"), note("D5", 1, instrument="I1"),
        ),
        entry=instrument("I1", "Oboe") + instrument("I2", "English Horn"),
    )  # fmt: skip
    assert played(tables) == {"Oboe": "0:E4 3:D5", "English Horn": "2:C5"}


def test_lines_stand_in_score_order_and_every_note_belongs_to_one() -> None:
    data = score(
        part(bar(chord("C5", "A4", duration=4)), name="2 Flutes"),
        part(bar(chord("C4", "A3", duration=4)), name="Viola"),
        part(bar(note("C3", 4)), name="Contrabass"),
    )
    tables = tables_of(data)
    keys = rows(tables, "lines", "line_key")
    assert keys == sorted(keys)
    assert rows(tables, "lines", "part_index") == [0, 0, 1, 1, 2]
    assert set(rows(tables, "notes", "line_key")) == set(keys)
    assert rows(tables, "lines", "notes", "lowest", "highest") == [
        (1, pitch, pitch) for pitch in (72, 69, 60, 57, 48)
    ]


def test_a_part_of_rests_has_no_line() -> None:
    tables = tables_of(score(part(bar(note("C5", 4))), part(bar(rest(4)), name="Oboe")))
    assert rows(tables, "lines", "player") == ["Flute"]
    assert rows(tables, "parts", "name") == ["Flute", "Oboe"]


def test_an_unknown_name_is_kept_as_it_is_printed() -> None:
    tables = read("Zinkophon 2", bar(note("C5", 4)))
    assert rows(tables, "lines", "player", "instrument", "family") == [("Zinkophon 2", None, None)]
    assert any("instrument_unknown" in text for text in remarks(tables))
