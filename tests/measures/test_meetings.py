"""Where two lines join in one and where they part: four quarters a bar, worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte import reference
from collaparte.measures import measure
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score

TUNE = [60, 62, 64, 65, 67, 65, 64, 62]
"""Two bars, seven changes of pitch."""
OTHER = [55, 52, 55, 59, 60, 57, 53, 50]
"""Two bars that share no pitch class with those of TUNE at the same beat."""


def meetings(*lines: Line) -> list[dict[str, Any]]:
    tables = measure(score(lines), reference.load(), Settings())
    return tables["line_meetings"].to_pylist()


def brief(*lines: Line) -> list[tuple[Any, ...]]:
    return [
        (
            row["kind"], row["start_ticks"] / TICKS, row["bar"], row["bars_free"],
            row["bars_together"], row["line_key"] & 0xFF, row["partner_line_key"] & 0xFF,
        )
        for row in meetings(*lines)
    ]  # fmt: skip


def test_two_lines_join_and_part_again() -> None:
    """Free in bars 1 and 2, one line in bars 3 and 4, free in 5 and 6."""
    upper = Line(melody([*TUNE, *TUNE, *TUNE]))
    lower = Line(melody([*OTHER, *TUNE, *OTHER]))
    assert brief(upper, lower) == [
        ("join", 8, "3", 2, 2, 0, 1),
        ("part", 16, "5", 2, 2, 0, 1),
    ]


def test_what_is_told_of_both_lines() -> None:
    upper = Line(melody([*TUNE, *TUNE]), "oboe", "woodwind")
    lower = Line(melody([*OTHER, *TUNE]), "violin", "string", ensemble="section")
    (row,) = meetings(upper, lower)
    assert (row["instrument"], row["family"], row["ensemble"]) == ("oboe", "woodwind", "player")
    assert (row["partner_instrument"], row["partner_family"]) == ("violin", "string")
    assert row["partner_ensemble"] == "section"
    assert not row["strict"]
    tables = measure(score([upper, lower]), reference.load(), Settings())
    layers = {
        (layer["bar"], layer["line_key"]): (layer["layer"], layer["role"])
        for layer in tables["layers"].to_pylist()
    }
    for prefix in ("", "partner_"):
        key = row[f"{prefix}line_key"]
        before = row[f"{prefix}layer_before"], row[f"{prefix}role_before"]
        after = row[f"{prefix}layer_after"], row[f"{prefix}role_after"]
        assert (before, after) == (layers["2", key], layers["3", key])
    assert row["layer_after"] == row["partner_layer_after"]


def test_lines_join_within_a_bar_at_their_beat() -> None:
    """The lower line takes up the tune on the third beat of bar 3."""
    upper = Line(melody([*TUNE, *TUNE]))
    lower = Line(melody([*OTHER, 48, 47, *TUNE[2:]]))
    assert brief(upper, lower) == [("join", 10, "3", 2, 2, 0, 1)]


def test_a_line_that_enters_as_a_double_was_not_free() -> None:
    upper = Line(melody([*TUNE, *TUNE]))
    assert brief(upper, Line(melody(TUNE, start=8))) == []
    assert brief(upper, Line(melody(TUNE))) == []


def test_bars_of_rest_end_the_freedom_that_counts() -> None:
    """Bar 1 is free, bar 2 the lower line rests, bar 3 is free, bars 4 and 5 are together."""
    upper = Line(melody([*TUNE, *OTHER[:4], *TUNE]))
    lower = Line([*melody(OTHER[:4]), *melody([49, 51, 54, 56], start=8), *melody(TUNE, start=12)])
    assert brief(upper, lower) == [("join", 12, "4", 1, 2, 0, 1)]


def test_octaves_after_unison_are_no_new_joining() -> None:
    upper = Line(melody([*TUNE, *TUNE, *TUNE]))
    lower = Line(melody([*OTHER, *TUNE, *(pitch - 12 for pitch in TUNE)]))
    assert brief(upper, lower) == [("join", 8, "3", 2, 4, 0, 1)]


@given(st.permutations(range(3)), st.integers(-12, 12))
def test_order_and_height_of_other_lines_change_nothing(order: list[int], shift: int) -> None:
    lines = [
        Line(melody([*TUNE, *TUNE, *TUNE]), "oboe"),
        Line(melody([*OTHER, *TUNE, *OTHER]), "violin"),
        Line([Note(start, 4, 72 + shift) for start in range(0, 24, 4)], "horn"),
    ]
    rows = meetings(*(lines[place] for place in order))
    told = {
        (row["kind"], row["start_ticks"], row["bars_free"], row["bars_together"],
         frozenset((row["instrument"], row["partner_instrument"])))
        for row in rows
    }  # fmt: skip
    pair = frozenset(("oboe", "violin"))
    assert told == {("join", 8 * TICKS, 2, 2, pair), ("part", 16 * TICKS, 2, 2, pair)}


@pytest.mark.parametrize("lines", [(), (Line(melody(TUNE)),)])
def test_fewer_than_two_lines_never_meet(lines: tuple[Line, ...]) -> None:
    assert meetings(*lines) == []
