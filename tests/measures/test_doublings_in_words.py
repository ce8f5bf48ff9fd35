"""Words such as "col Basso": rows of their own, which no share counts."""

from typing import Any

import numpy as np
import pyarrow as pa
import pytest

from collaparte.measures.doublings import doublings
from collaparte.measures.groups import unison_groups
from collaparte.schema import TICKS, keys
from collaparte.settings import Settings
from score_tables import Line, filled, melody, score

BASS = melody([48, 50, 52, 53, 55, 53, 52, 50])


def tables(
    lines: list[Line], part: int, target: int | None, *, words: str = "with", end: int | None = 8
) -> dict[str, pa.Table]:
    """A score in which this part has words from quarter 4 to quarter `end`."""
    made = score(lines)
    columns: dict[str, Any] = {
        "direction_key": keys("test", np.arange(1)),
        "bar_index": [1],
        "bar": ["2"],
        "onset_ticks": [4 * TICKS],
        "onset_quarters": [4.0],
        "end_ticks": pa.array([end and end * TICKS], pa.int64()),
        "part_index": [part],
        "kind": ["doubling"],
        "understood_as": [words],
        "target_line_key": pa.array(
            [None if target is None else int(keys("test", np.array([target]))[0])], pa.int64()
        ),
        "is_printed": [True],
    }
    return made | {"directions": filled("directions", "test", columns)}


def rows(made: dict[str, pa.Table]) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = doublings(made, None, Settings())["doublings"].to_pylist()
    return [row for row in found if row["basis"] == "words"]


def test_the_line_named_is_counted_from_the_words_to_their_end() -> None:
    bassoon = Line(melody([60], 4), "bassoon")
    made = tables([bassoon, Line(BASS, "double-bass", "string")], 0, 1)
    (row,) = rows(made)
    assert (row["instrument_a"], row["instrument_b"]) == ("bassoon", "double-bass")
    assert (row["kind"], row["same_line"], row["strict"]) == ("unison", True, False)
    assert (row["start_ticks"], row["end_ticks"]) == (4 * TICKS, 8 * TICKS)
    assert (row["start_bar"], row["end_bar"]) == ("2", "2")
    assert (row["matched_notes"], row["pitch_changes"], row["distinct_pitches"]) == (4, 3, 4)
    assert row["matched_ticks"] == 4 * TICKS
    assert row["interval_semitones"] is None
    assert doublings(made, None, Settings())["doubled_notes"].num_rows == 0


def test_the_upper_line_stands_first_whichever_has_the_words() -> None:
    made = tables([Line(BASS, "violoncello"), Line(melody([36], 4), "double-bass")], 1, 0)
    (row,) = rows(made)
    assert (row["instrument_a"], row["instrument_b"]) == ("violoncello", "double-bass")


def test_words_that_name_an_octave() -> None:
    (row,) = rows(tables([Line(melody([60], 4)), Line(BASS)], 0, 1, words="octave_with"))
    assert row["kind"] == "octave"


@pytest.mark.parametrize(("target", "end"), [(None, 8), (1, None)])
def test_without_a_line_or_a_span_there_is_no_row(target: int | None, end: int | None) -> None:
    assert rows(tables([Line(melody([60], 4)), Line(BASS)], 0, target, end=end)) == []


def test_where_the_line_named_is_silent_there_is_no_row() -> None:
    assert rows(tables([Line(melody([60], 4)), Line(BASS[:4])], 0, 1)) == []


def test_both_lines_of_the_part_follow_and_keys_go_on() -> None:
    """Two violins in unison in the first bar's notes, then both with the bass in words."""
    violin = melody([73, 75, 77, 78])
    lines = [Line(violin, "violin", part=0), Line(violin, "violin", part=0), Line(BASS, part=1)]
    made = doublings(tables(lines, 0, 2), None, Settings())["doublings"].to_pylist()
    assert [row["basis"] for row in made] == ["notes", "words", "words"]
    assert [row["doubling_key"] for row in made] == keys("test", np.arange(3)).tolist()


def test_words_make_no_unison_group() -> None:
    violin = melody([73, 75, 77, 78])
    lines = [Line(violin, "violin", part=0), Line(violin, "violin", part=0), Line(BASS, part=1)]
    made = tables(lines, 0, 2)
    made |= doublings(made, None, Settings())
    assert len(unison_groups(made, None, Settings())["unison_groups"]) == 0
