"""Three lines or more on one line."""

from typing import Any

import pyarrow as pa

from collaparte.measures.doublings import doublings
from collaparte.measures.groups import unison_groups
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

TUNE = [60, 62, 64, 65, 67, 65, 64, 62]


def up(notes: list[Note], semitones: int) -> list[Note]:
    return [Note(note.onset, note.length, note.midi + semitones) for note in notes]


def made(*lines: Line) -> dict[str, pa.Table]:
    tables = score(lines)
    tables |= doublings(tables, None, Settings())
    return unison_groups(tables, None, Settings())


def brief(*lines: Line) -> list[tuple[Any, ...]]:
    tables = made(*lines)
    members = tables["group_members"].to_pylist()
    return [
        (
            group["start_ticks"] / TICKS,
            group["end_ticks"] / TICKS,
            [
                (row["line_key"] & 0xFF, row["interval_to_lowest"])
                for row in members
                if row["group_key"] == group["group_key"]
            ],
            group["common_onsets"],
            group["pitch_changes"],
        )
        for group in tables["unison_groups"].to_pylist()
    ]


def test_three_lines_are_a_group_and_two_are_none() -> None:
    tune = melody(TUNE)
    assert brief(Line(up(tune, 12)), Line(tune), Line(up(tune, 12))) == [
        (0, 8, [(0, 12), (1, 0), (2, 12)], 8, 7)
    ]
    assert brief(Line(tune), Line(tune)) == []


def test_a_line_that_joins_opens_another_row() -> None:
    tune = melody(TUNE)
    rows = brief(Line(tune), Line(tune), Line(tune), Line(tune[4:]))
    assert rows == [
        (0, 4, [(0, 0), (1, 0), (2, 0)], 4, 3),
        (4, 8, [(0, 0), (1, 0), (2, 0), (3, 0)], 4, 3),
    ]


def test_two_pairs_on_different_lines_are_no_group() -> None:
    tune, other = melody(TUNE), melody([pitch + 3 for pitch in TUNE[::-1]])
    assert brief(Line(tune), Line(other), Line(tune), Line(other)) == []


def test_members_hang_together_by_a_chain() -> None:
    """Lines 0 and 2 have too few onsets in common, each goes with line 1."""
    tune = melody(TUNE)
    assert [len(row[2]) for row in brief(Line(tune), Line(up(tune, 12)), Line(up(tune, -12)))] == [
        3
    ]


def test_families_and_chorus() -> None:
    tune = melody(TUNE)
    tables = made(
        Line(tune, "oboe"),
        Line(tune, "voice", "voice", "voices", "chorus"),
        Line(tune, "violin", "string", "violins", "section"),
    )
    (row,) = tables["unison_groups"].to_pylist()
    assert (row["lines"], row["families"], row["has_chorus"]) == (3, 3, True)


def test_an_interval_that_changes_is_not_told() -> None:
    tune = melody(TUNE)
    wandering = [
        Note(note.onset, note.length, note.midi - 12 * (number % 2))
        for number, note in enumerate(tune)
    ]
    (row,) = brief(Line(tune), Line(up(tune, -12)), Line(wandering))
    assert row[2] == [(0, 12), (1, 0), (2, None)]
