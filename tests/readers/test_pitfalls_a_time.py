"""Time cursor: items 1 to 7 of the list of reading pitfalls, worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest
from events import assert_events, assert_remark, quarters, rows

from scores import (
    attributes,
    backup,
    bar,
    element,
    forward,
    note,
    part,
    rest,
    score,
    time,
    transpose,
)


def test_pitfall_01_divisions_differ_between_parts() -> None:
    data = score(
        part(bar(note("C5", 4)), bar(note("D5", 4)), divisions=1),
        part(bar(note("C4", 8), note("D4", 8)), bar(note("E4", 16)), divisions=4),
    )
    assert_events(
        data,
        [(0, 4, 72, "C5"), (4, 4, 74, "D5")],
        [(0, 2, 60, "C4"), (2, 2, 62, "D4"), (4, 4, 64, "E4")],
    )


def test_pitfall_01_divisions_change_at_a_bar_and_within_one() -> None:
    data = score(
        part(
            bar(note("C5", 4)),
            bar(attributes(divisions=4), note("D5", 8), attributes(divisions=6), note("E5", 12)),
            bar(note("F5", 6), note("G5", 3), note("A5", 15)),
        )
    )
    assert_events(
        data,
        [
            (0, 4, 72, "C5"),
            (4, 2, 74, "D5"),
            (6, 2, 76, "E5"),
            (8, 1, 77, "F5"),
            (9, Fraction(1, 2), 79, "G5"),
            (Fraction(19, 2), Fraction(5, 2), 81, "A5"),
        ],
    )


def test_pitfall_02_duration_rules_type_prints() -> None:
    data = score(part(bar(note("C4", 2, type_="quarter"), note("D4", 2)), bar(note("E4", 4))))
    assert_events(data, [(0, 2, 60, "C4"), (2, 2, 62, "D4"), (4, 4, 64, "E4")])


def test_pitfall_03_a_short_bar_in_one_part_does_not_shift_its_later_bars() -> None:
    whole = attributes(times=time("4/4"))
    data = score(
        part(bar(whole, note("C5", 4)), bar(note("D5", 3)), bar(note("E5", 4))),
        part(bar(whole, note("C4", 4)), bar(note("D4", 4)), bar(note("E4", 4))),
    )
    tables = assert_events(
        data,
        [(0, 4, 72, "C5"), (4, 3, 74, "D5"), (8, 4, 76, "E5")],
        [(0, 4, 60, "C4"), (4, 4, 62, "D4"), (8, 4, 64, "E4")],
    )
    assert [quarters(ticks) for ticks in rows(tables, "bars", "start_ticks")] == [0, 4, 8]
    assert_remark(tables, "length", "longer", "shorter", "short")


def test_pitfall_03_a_bar_is_not_padded_to_the_signature() -> None:
    data = score(
        part(bar(attributes(times=time("4/4")), note("C5", 1)), bar(note("D5", 4))),
        part(bar(attributes(times=time("4/4")), note("C4", 1)), bar(note("D4", 4))),
    )
    tables = assert_events(
        data, [(0, 1, 72, "C5"), (1, 4, 74, "D5")], [(0, 1, 60, "C4"), (1, 4, 62, "D4")]
    )
    assert [quarters(ticks) for ticks in rows(tables, "bars", "length_ticks")] == [1, 4]


def test_pitfall_04_forward_at_the_end_belongs_to_the_bar() -> None:
    data = score(part(bar(note("C5", 2), forward(2)), bar(note("D5", 4))))
    assert_events(data, [(0, 2, 72, "C5"), (4, 4, 74, "D5")])


def test_pitfall_04_the_bar_ends_at_the_furthest_point_not_at_the_last() -> None:
    data = score(
        part(
            bar(
                note("C5", 4, voice=1),
                backup(4),
                forward(1, voice=2),
                note("E4", 1, voice=2),
                backup(2),
                note("C4", 1, voice=3),
            ),
            bar(note("D5", 4, voice=1)),
        )
    )
    assert_events(data, [(0, 4, 72, "C5"), (0, 1, 60, "C4"), (1, 1, 64, "E4"), (4, 4, 74, "D5")])


def test_pitfall_04_backup_before_the_bar_stops_at_its_start() -> None:
    data = score(
        part(
            bar(note("C5", 4)),
            bar(note("D5", 2, voice=1), backup(3), note("E4", 4, voice=2)),
            bar(note("F5", 4)),
        )
    )
    tables = assert_events(
        data, [(0, 4, 72, "C5"), (4, 2, 74, "D5"), (4, 4, 64, "E4"), (8, 4, 77, "F5")]
    )
    assert_remark(tables, "backup", "step back", "before")


@pytest.mark.parametrize("too_far", [5, 86])
def test_pitfall_04_a_step_back_too_far_lengthens_no_bar(too_far: int) -> None:
    """Two such steps in one bar: every voice begins at its start, the longest makes its length."""
    data = score(
        part(
            bar(
                note("D4", 2),
                backup(too_far),
                note("E4", 1),
                backup(2),
                note("F4", 4),
                backup(too_far),
            ),
            bar(note("C4", 2)),
        )
    )
    assert_events(data, [(0, 4, 65, "F4"), (0, 1, 64, "E4"), (0, 2, 62, "D4"), (4, 2, 60, "C4")])


def test_pitfall_05_voices_and_staves_are_independent() -> None:
    data = score(
        part(
            bar(
                attributes(staves=2),
                note("C5", 2, voice=1, staff=1),
                note("D5", 2, voice=1, staff=2),
                backup(4),
                note("G3", 4, voice=1, staff=2),
            ),
            name="Harp",
        )
    )
    tables = assert_events(data, [(0, 4, 55, "G3"), (0, 2, 72, "C5"), (2, 2, 74, "D5")])
    assert sorted(rows(tables, "notes", "midi", "staff", "voice")) == [
        (55, 2, "1"),
        (72, 1, "1"),
        (74, 2, "1"),
    ]
    assert rows(tables, "parts", "staves") == [2]
    assert rows(tables, "parts", "part_index") == [0]


def test_pitfall_05_a_missing_voice_after_backup_still_overlaps() -> None:
    data = score(part(bar(note("C5", 4), backup(4), note("C4", 1), note("D4", 3))))
    assert_events(data, [(0, 4, 72, "C5"), (0, 1, 60, "C4"), (1, 3, 62, "D4")])


def test_pitfall_05_a_voice_is_any_text() -> None:
    data = score(part(bar(note("C5", 4, voice="upper"), backup(4), note("C4", 4, voice="1a"))))
    tables = assert_events(data, [(0, 4, 72, "C5"), (0, 4, 60, "C4")])
    assert sorted(rows(tables, "notes", "midi", "voice")) == [(60, "1a"), (72, "upper")]


def test_pitfall_06_a_note_of_a_chord_has_its_own_duration() -> None:
    data = score(part(bar(note("C5", 8), note("E4", 4, chord=True), note("D5", 8)), divisions=2))
    assert_events(data, [(0, 4, 72, "C5"), (0, 2, 64, "E4"), (4, 4, 74, "D5")])


def test_pitfall_06_a_chord_after_backup_stays_with_its_first_note() -> None:
    data = score(
        part(
            bar(
                note("C5", 1, voice=1),
                note("D5", 3, voice=1),
                backup(3),
                note("F4", 3, voice=1, chord=True),
                note("G4", 1, voice=2),
            )
        )
    )
    assert_events(data, [(0, 1, 72, "C5"), (1, 3, 74, "D5"), (1, 3, 65, "F4"), (1, 1, 67, "G4")])


def test_pitfall_07_unisons_within_a_part_stay_two_notes() -> None:
    data = score(
        part(
            bar(note("C5", 4, voice=1), backup(4), note("C5", 4, voice=2)),
            bar(note("D5", 4, voice=1), note("D5", 4, voice=1, chord=True)),
            name="Oboe",
        )
    )
    assert_events(data, [(0, 4, 72, "C5"), (0, 4, 72, "C5"), (4, 4, 74, "D5"), (4, 4, 74, "D5")])


def test_notes_are_ordered_by_part_onset_and_pitch_from_the_top() -> None:
    data = score(
        part(bar(rest(1), note("C4", 1), note("G4", 1, chord=True), note("E4", 2))),
        part(
            bar(
                attributes(transposes=transpose(-2, -1)),
                note("C4", 4),
                backup(4),
                element("forward", element("duration", 1)),
                note("D5", 3),
            )
        ),
    )
    tables = assert_events(
        data,
        [(1, 1, 67, "G4"), (1, 1, 60, "C4"), (2, 2, 64, "E4")],
        [(0, 4, 58, "Bb3"), (1, 3, 72, "C5")],
    )
    assert rows(tables, "notes", "part_index", "midi") == [
        (0, 67),
        (0, 60),
        (0, 64),
        (1, 58),
        (1, 72),
    ]
    assert rows(tables, "notes", "note_key") == sorted(rows(tables, "notes", "note_key"))
    assert rows(tables, "notes", "written_midi") == [67, 60, 64, 60, 74]
    assert sorted(rows(tables, "notes", "midi", "source_notes")) == [
        (58, [0]),
        (60, [1]),
        (64, [3]),
        (67, [2]),
        (72, [1]),
    ]
