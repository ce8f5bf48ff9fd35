"""Parts whose pitch goes against custom: a remark with both readings, and no pitch is moved.

Customs from `transposition_rules.csv` and `crooks.csv`, ranges from `instruments.csv`.
"""

from __future__ import annotations

import pytest
from events import played, rows, tables_of

from collaparte.schema import Tables
from scores import attributes, bar, element, maybe, note, part, score, transpose

AGAINST, UNSTATED, RANGE = "transposition_against_custom", "octave_unstated", "out_of_range"


def clef(sign: str, octave: int | None = None) -> str:
    line = 4 if sign == "F" else 2
    return element(
        "clef",
        element("sign", sign) + element("line", line) + maybe("clef-octave-change", octave),
    )


def read(
    name: str, sign: str, transposition: str, *pitches: str, octave: int | None = None
) -> Tables:
    first = attributes(clefs=clef(sign, octave), transposes=transposition)
    content = (first, *(note(pitch, 1) for pitch in pitches))
    return tables_of(score(part(bar(*content), name=name)))


def oddities(tables: Tables) -> list[tuple[str, str]]:
    codes = (AGAINST, UNSTATED, RANGE, "name_against_transposition")
    return [row for row in rows(tables, "remarks", "code", "message") if row[0] in codes]


NINTH = transpose(-2, -1, -1)
SECOND = transpose(-2, -1)
FIFTH = transpose(-7, -4)
FOURTH_ABOVE = transpose(5, 3)
OCTAVE_BELOW = transpose(0, 0, -1)
OCTAVE_ABOVE = transpose(0, 0, 1)


@pytest.mark.parametrize(
    ("name", "sign", "transposition", "written", "sounding"),
    [
        ("Bass Clarinet in B♭", "G", NINTH, "C4", "Bb2"),
        ("Bass Clarinet in B♭", "F", SECOND, "C3", "Bb2"),
        ("Bass Clarinet in B♭", "F", NINTH, "C4", "Bb2"),
        ("Bass Clarinet in B♭", "G", SECOND, "C4", "Bb3"),
        ("Horn in F", "G", FIFTH, "C5", "F4"),
        ("Horn in F", "F", FIFTH, "C3", "F2"),
        ("Horn in F", "F", FOURTH_ABOVE, "C2", "F2"),
        ("Horn in D", "G", transpose(-10, -6), "C5", "D4"),
        ("Trumpet in F", "G", transpose(5, 3), "C4", "F4"),
        ("Contrabass", "F", OCTAVE_BELOW, "C3", "C2"),
        ("Contrabassoon", "F", OCTAVE_BELOW, "C3", "C2"),
        ("Contrabassoon", "F", "", "C1", "C1"),  # an octave lower there would be nothing
        ("Piccolo", "G", OCTAVE_ABOVE, "C5", "C6"),
        ("Glockenspiel", "G", transpose(0, 0, 2), "C4", "C6"),
    ],
)
def test_customary_parts_are_no_remark(
    name: str, sign: str, transposition: str, written: str, sounding: str
) -> None:
    tables = read(name, sign, transposition, written)
    assert list(played(tables).values()) == [f"0:{sounding}"]
    assert oddities(tables) == []


@pytest.mark.parametrize(
    ("name", "sign", "transposition", "written", "sounding", "code", "readings"),
    [
        # in the bass clef, where the treble clef's ninth leads below the instrument
        ("Bass Clarinet in B♭", "F", NINTH, "C2", "Bb0", RANGE, ("14 semitones below", "2 semi")),
        # in the treble clef, where a second leads above it
        ("Bass Clarinet in B♭", "G", SECOND, "G6", "F6", RANGE, ("2 semitones below", "14 semi")),
        ("Bass Clarinet in B♭", "F", "", "C3", "C3", AGAINST, ("sounds as written", "14 semi")),
        # old notation in the bass clef: a fourth above, not a fifth below
        ("Horn in F", "F", FIFTH, "C2", "F1", RANGE, ("7 semitones below", "5 semitones above")),
        ("Horn in F", "G", "", "C4", "C4", AGAINST, ("sounds as written", "7 semitones below")),
        ("Contrabass", "F", "", "C3", "C3", UNSTATED, ("where they sound", "12 semitones below")),
        ("Contrabassoon", "F", "", "C3", "C3", UNSTATED, ("where they", "12 semitones below")),
        ("Piccolo", "G", "", "C5", "C5", AGAINST, ("sounds as written", "12 semitones above")),
        ("Celesta", "G", "", "C5", "C5", AGAINST, ("sounds as written", "12 semitones above")),
        ("Violin", "G", OCTAVE_ABOVE, "C5", "C6", AGAINST, ("12 semitones above", "as written")),
        ("Flute", "G", "", "C3", "C3", RANGE, ("C3 to C3", "no customary transposition")),
    ],
)
def test_what_goes_against_custom_names_both_readings_and_keeps_the_pitch(
    name: str,
    sign: str,
    transposition: str,
    written: str,
    sounding: str,
    code: str,
    readings: tuple[str, str],
) -> None:
    tables = read(name, sign, transposition, written)
    assert list(played(tables).values()) == [f"0:{sounding}"]
    (found,) = oddities(tables)
    assert found[0] == code
    assert all(reading in found[1] for reading in readings), found[1]
    assert rows(tables, "remarks", "done", code=code) == ["Read as the file has it."]


def test_a_clef_with_an_octave_says_where_the_notes_are() -> None:
    tables = read("Contrabass", "F", "", "C2", octave=-1)
    assert list(played(tables).values()) == ["0:C2"]
    assert oddities(tables) == []


def test_low_notes_of_a_double_bass_are_taken_as_they_stand() -> None:
    assert oddities(read("Contrabass", "F", "", "E1")) == []


def test_a_name_in_one_key_and_a_transposition_in_another_is_said() -> None:
    tables = read("Clarinet in B♭", "G", transpose(-3, -2), "C5")
    assert list(played(tables).values()) == ["0:A4"]
    assert {code for code, _ in oddities(tables)} == {AGAINST, "name_against_transposition"}


def test_a_score_at_concert_pitch_has_octaves_only() -> None:
    def concert(name: str, transposition: str) -> list[tuple[str, str]]:
        content = (attributes(transposes=transposition), note("C5", 1))
        head = "<defaults><concert-score/></defaults>"
        return oddities(tables_of(score(part(bar(*content), name=name), head=head)))

    assert concert("Horn in F", "") == []
    assert concert("Clarinet in B♭", "") == []
    assert concert("Piccolo", OCTAVE_ABOVE) == []
    assert [code for code, _ in concert("Horn in F", FIFTH)] == [AGAINST]


def test_each_odd_transposition_of_a_part_is_one_remark_at_its_first_bar() -> None:
    bars = [
        bar(attributes(transposes=transpose(0)), note("C5", 4)),
        bar(attributes(transposes=transpose(1)), note("C5", 4)),
        bar(note("D5", 4)),
    ]
    tables = tables_of(score(part(*bars, name="Violin")))
    assert rows(tables, "remarks", "bar", "part", code=AGAINST) == [("2", "Violin")]
