"""Melodic patterns of lines written here, told by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pytest

from collaparte.measures.melodic_patterns import melodic_patterns
from collaparte.schema import TABLES, empty
from collaparte.settings import Settings
from score_tables import Line, Note, filled, melody, score


def patterns(
    lines: Sequence[Line], leading: Mapping[int, int] | None = None, role: str = "leading_line"
) -> list[tuple[Any, ...]]:
    """First and last bar (from 0), pitch, intervals and `leads` of each row.

    `leading` says which line leads a bar, in a layer of this role.
    """
    tables = score(lines)
    tables["layers"] = empty("layers")
    if leading:
        layers = {
            "bar_index": list(leading),
            "line_key": tables["lines"]["line_key"].take(list(leading.values())),
            "role": [role] * len(leading),
            "leads": [True] * len(leading),
        }
        tables["layers"] = filled("layers", "test", layers)
    found = melodic_patterns(tables, None, Settings())["melodic_patterns"]
    assert found.schema.equals(TABLES["melodic_patterns"].arrow())
    return [
        (
            row["bar_index"], row["last_bar_index"], row["midi"],
            (row["interval_1"], row["interval_2"], row["interval_3"]), row["leads"],
        )
        for row in found.to_pylist()
    ]  # fmt: skip


def test_four_notes_in_a_row_also_across_a_bar_line() -> None:
    """C D E C | G in quarters: two patterns, the second ends in the next bar."""
    assert patterns([Line(melody([60, 62, 64, 60, 67]))]) == [
        (0, 0, 60, (2, 2, -4), False),
        (0, 1, 62, (2, -4, 7), False),
    ]


def test_rests_between_the_notes_do_not_count() -> None:
    """Two notes, ten quarters of rest, two notes; an interval may be as large as it likes."""
    line = Line([Note(0, 1, 60), Note(1, 1, 62), Note(12, 1, 95), Note(13, 1, 90)])
    assert patterns([line]) == [(0, 3, 60, (2, 33, -5), False)]


def test_of_notes_begun_together_the_highest_counts_and_grace_notes_do_not() -> None:
    grace = Note(2, 0, 80, {"is_grace": True})
    line = Line([*melody([60, 62, 64, 65]), Note(1, 1, 50), grace])
    assert patterns([line]) == [(0, 0, 60, (2, 2, 1), False)]


@pytest.mark.parametrize(
    "pitches", [[60, 60, 60, 60], [60, 62, 64]], ids=["one pitch", "three notes"]
)
def test_what_is_no_pattern(pitches: list[int]) -> None:
    assert patterns([Line(melody(pitches))]) == []


def test_notes_of_two_lines_are_no_pattern() -> None:
    assert patterns([Line(melody([60, 62])), Line(melody([64, 65]))]) == []


def test_lines_that_play_alike_tell_once_and_one_that_leads_is_enough() -> None:
    tune = [60, 62, 64, 65]
    lines = [Line(melody(tune)), Line(melody(tune)), Line(melody([pitch + 12 for pitch in tune]))]
    steps = (2, 2, 1)
    assert patterns(lines) == [(0, 0, 60, steps, False), (0, 0, 72, steps, False)]
    assert patterns(lines, {0: 1}) == [(0, 0, 60, steps, True), (0, 0, 72, steps, False)]
    assert patterns(lines, {0: 1}, "bass") == [(0, 0, 60, steps, False), (0, 0, 72, steps, False)]


def test_the_line_that_leads_in_the_bar_of_the_first_note() -> None:
    """One rises from the first bar on, the other falls in the second, in which it leads."""
    lines = [Line(melody([60, 62, 64, 65, 67])), Line(melody([67, 65, 64, 62], start=4))]
    assert patterns(lines, {0: 0, 1: 1}) == [
        (0, 0, 60, (2, 2, 1), True),
        (0, 1, 62, (2, 1, 2), True),
        (1, 1, 67, (-2, -1, -2), True),
    ]
    assert [row[-1] for row in patterns(lines, {1: 0})] == [False, False, False]
