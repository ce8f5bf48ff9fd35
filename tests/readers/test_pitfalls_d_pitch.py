"""Pitch: items 15 to 22 of the list of reading pitfalls, worked out by hand.

Spelling of the sounding pitch: the written step moves by `diatonic` steps, the alteration is
what `chromatic` semitones then ask for. Without `diatonic` the interval is the usual one of that
many semitones: major and minor seconds, thirds, sixths, sevenths, perfect fourth and fifth.
"""

from __future__ import annotations

import pytest
from events import assert_events, assert_remark, rows

from scores import (
    attributes,
    backup,
    bar,
    direction,
    element,
    note,
    part,
    score,
    time,
    transpose,
)


@pytest.mark.parametrize(
    ("sign", "written", "midi", "sounding"),
    [
        # B flat clarinet, major second down
        (transpose(-2, -1), "D5", 72, "C5"),
        (transpose(-2, -1), "F#4", 64, "E4"),
        (transpose(-2, -1), "C5", 70, "Bb4"),
        (transpose(-2, -1), "Cb5", 69, "Bbb4"),
        # A clarinet, minor third down
        (transpose(-3, -2), "Eb5", 72, "C5"),
        (transpose(-3, -2), "C5", 69, "A4"),
        (transpose(-3, -2), "G4", 64, "E4"),
        # bass clarinet in B flat: a major ninth, the octave apart from the second
        (transpose(-2, -1, -1), "C5", 58, "Bb3"),
        # horn in F, perfect fifth down
        (transpose(-7, -4), "G4", 60, "C4"),
        (transpose(-7, -4), "B4", 64, "E4"),
        # E flat clarinet, minor third up
        (transpose(3, 2), "A5", 84, "C6"),
        # trumpet in D, major second up, and in F, perfect fourth up
        (transpose(2, 1), "E5", 78, "F#5"),
        (transpose(5, 3), "C5", 77, "F5"),
        # alto flute, perfect fourth down
        (transpose(-5, -3), "C4", 55, "G3"),
        # piccolo up, double bass down, glockenspiel two up
        (transpose(0, 0, 1), "C5", 84, "C6"),
        (transpose(0, 0, -1), "E3", 40, "E2"),
        (transpose(0, 0, 2), "G4", 91, "G6"),
        # the octave within chromatic and diatonic
        (transpose(-12, -7), "E3", 40, "E2"),
        (transpose(-14, -8), "C5", 58, "Bb3"),
        (transpose(-21, -12), "C5", 51, "Eb3"),
    ],
)
def test_pitfall_15_transposition(sign: str, written: str, midi: int, sounding: str) -> None:
    data = score(part(bar(attributes(transposes=sign), note(written, 4))))
    tables = assert_events(data, [(0, 4, midi, sounding)])
    assert rows(tables, "parts", "transposition_semitones") == [
        midi - rows(tables, "notes", "written_midi")[0]
    ]


def test_pitfall_15_an_octave_within_chromatic_gets_a_remark() -> None:
    """Chromatic -12 beside octave-change -1 is followed as it stands, two octaves, and said."""
    data = score(part(bar(attributes(transposes=transpose(-12, -7, -1)), note("C4", 4))))
    tables = assert_events(data, [(0, 4, 36, "C2")])
    assert_remark(tables, "octave", "transpos")


def test_pitfall_15_rounding_to_sharps_and_flats_by_steps() -> None:
    """B sharp for a clarinet in A is G double sharp, in B flat A sharp."""
    data = score(
        part(bar(attributes(transposes=transpose(-3, -2)), note("B#4", 4))),
        part(bar(attributes(transposes=transpose(-2, -1)), note("B#4", 4))),
    )
    assert_events(data, [(0, 4, 69, "G##4")], [(0, 4, 70, "A#4")])


def test_pitfall_16_transposition_changes_within_a_bar() -> None:
    data = score(
        part(
            bar(
                attributes(transposes=transpose(-2, -1)),
                note("D5", 2),
                attributes(transposes=transpose(-3, -2)),
                note("Eb5", 2),
            ),
            bar(note("Eb5", 4)),
            name="Clarinet",
        )
    )
    assert_events(data, [(0, 2, 72, "C5"), (2, 2, 72, "C5"), (4, 4, 72, "C5")])


def test_pitfall_16_a_later_voice_meets_the_change_in_time_not_in_the_text() -> None:
    """The second voice is written after the change; its first note sounds before it."""
    data = score(
        part(
            bar(
                attributes(transposes=transpose(-2, -1)),
                note("D5", 2, voice=1),
                attributes(transposes=transpose(-3, -2)),
                note("Eb5", 2, voice=1),
                backup(4),
                note("F4", 1, voice=2),
                note("G4", 1, voice=2),
                note("F4", 2, voice=2),
            ),
            name="Clarinet",
        )
    )
    assert_events(
        data,
        [
            (0, 2, 72, "C5"),
            (0, 1, 63, "Eb4"),
            (1, 1, 65, "F4"),
            (2, 2, 72, "C5"),
            (2, 2, 62, "D4"),
        ],
    )


def test_pitfall_16_a_change_written_after_backup_holds_for_the_voice_before_it() -> None:
    """The change at beat 3 stands in the text after all notes of voice 1."""
    data = score(
        part(
            bar(
                note("C5", 2, voice=1),
                note("D5", 2, voice=1),
                backup(2),
                attributes(transposes=transpose(-2, -1)),
                note("D4", 2, voice=2),
            ),
        )
    )
    assert_events(data, [(0, 2, 72, "C5"), (2, 2, 72, "C5"), (2, 2, 60, "C4")])


def test_pitfall_17_transposition_of_one_staff() -> None:
    data = score(
        part(
            bar(
                attributes(staves=2, transposes=transpose(-2, -1, number=2)),
                note("D5", 4, staff=1, voice=1),
                backup(4),
                note("D5", 4, staff=2, voice=2),
            )
        )
    )
    assert_events(data, [(0, 4, 74, "D5"), (0, 4, 72, "C5")])


def test_pitfall_17_each_staff_its_own_transposition_until_one_for_all() -> None:
    both = transpose(-2, -1, number=1) + transpose(-7, -4, number=2)
    data = score(
        part(
            bar(
                attributes(staves=2, transposes=both),
                note("D5", 4, staff=1, voice=1),
                backup(4),
                note("G4", 4, staff=2, voice=2),
            ),
            bar(
                attributes(transposes=transpose(0, 0)),
                note("D5", 4, staff=1, voice=1),
                backup(4),
                note("G4", 4, staff=2, voice=2),
            ),
        )
    )
    assert_events(data, [(0, 4, 72, "C5"), (0, 4, 60, "C4"), (4, 4, 74, "D5"), (4, 4, 67, "G4")])


def test_pitfall_18_double_sounds_an_octave_below_too() -> None:
    data = score(
        part(
            bar(attributes(transposes=transpose(0, double="below")), note("C3", 4)),
            name="Violoncello",
        )
    )
    assert_events(data, [(0, 4, 48, "C3"), (0, 4, 36, "C2", "derived")])


def test_pitfall_18_double_above_with_ties_and_an_end() -> None:
    data = score(
        part(
            bar(
                attributes(transposes=transpose(-2, -1, double="above")),
                note("D5", 4, tie="start"),
            ),
            bar(
                note("D5", 2, tie="stop"),
                attributes(transposes=transpose(-2, -1)),
                note("E5", 2),
            ),
        )
    )
    assert_events(data, [(0, 6, 72, "C5"), (0, 6, 84, "C6", "derived"), (6, 2, 74, "D5")])


def test_pitfall_19_concert_pitch_until_a_transposition_is_stated() -> None:
    clarinet = (
        '<score-instrument id="P1-I1"><instrument-name>Clarinet</instrument-name>'
        "<instrument-sound>wind.reed.clarinet.bflat</instrument-sound></score-instrument>"
        '<midi-instrument id="P1-I1"><midi-program>72</midi-program></midi-instrument>'
    )
    data = score(
        part(
            bar(note("C5", 4)),
            bar(attributes(transposes=transpose(-2, -1)), note("D5", 4)),
            name="Clarinet",
            entry=clarinet,
        )
    )
    tables = assert_events(data, [(0, 4, 72, "C5"), (4, 4, 72, "C5")])
    assert rows(tables, "parts", "transposition_semitones") == [0]


@pytest.mark.parametrize(
    ("sign", "written", "midi", "sounding"),
    [
        (transpose(0, octave=-1), "C3", 36, "C2"),
        (transpose(-2), "D5", 72, "C5"),
        (transpose(-2), "Eb5", 73, "Db5"),
        (transpose(-2), "F#5", 76, "E5"),
        (transpose(-3), "Eb5", 72, "C5"),
        (transpose(-7), "G4", 60, "C4"),
        (transpose(-9), "C5", 63, "Eb4"),
        (transpose(-10), "C5", 62, "D4"),
        (transpose(-14), "C5", 58, "Bb3"),
        (transpose(5), "B4", 76, "E5"),
        (transpose(3), "E5", 79, "G5"),
        (transpose(-2, octave=-1), "C5", 58, "Bb3"),
    ],
)
def test_pitfall_20_transposition_without_diatonic(
    sign: str, written: str, midi: int, sounding: str
) -> None:
    data = score(part(bar(attributes(transposes=sign), note(written, 4))))
    assert_events(data, [(0, 4, midi, sounding)])


def test_pitfall_21_octave_lines_change_no_pitch() -> None:
    def shift(kind: str) -> str:
        return direction(element("octave-shift", type=kind, size=8))

    data = score(
        part(bar(shift("down"), note("C6", 1), note("D6", 1), shift("stop"), note("E5", 2)))
    )
    assert_events(data, [(0, 1, 84, "C6"), (1, 1, 86, "D6"), (2, 2, 76, "E5")])


def test_pitfall_21_octave_clefs_change_no_pitch() -> None:
    tenor = "<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>"
    data = score(part(bar(attributes(clefs=tenor), note("G3", 4)), name="Tenor"))
    assert_events(data, [(0, 4, 55, "G3")])


def test_pitfall_22_a_concert_score_keeps_its_octaves_and_for_part_is_for_parts() -> None:
    for_part = (
        "<for-part><part-transpose><diatonic>-1</diatonic><chromatic>-2</chromatic>"
        "</part-transpose></for-part>"
    )
    concert = "<defaults><concert-score/></defaults>"
    data = score(
        part(
            bar(attributes(times=time("4/4"), transposes=for_part), note("C5", 4)),
            name="Clarinet",
        ),
        part(bar(attributes(transposes=transpose(0, 0, -1)), note("C3", 4)), name="Double Bass"),
        head=concert,
    )
    assert_events(data, [(0, 4, 72, "C5")], [(0, 4, 36, "C2")])
