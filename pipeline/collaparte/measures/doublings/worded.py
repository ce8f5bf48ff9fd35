"""Doublings that the score says in words alone: the line named, and the lines that follow it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.kernels.spans import union_lengths
from collaparte.measures.doublings.melody import Melody, in_lines, sounds, top_notes
from collaparte.schema import TICKS, keys, table_of

_OCTAVE = "octave_with"
_OF_LINE = ("line_key", "part_index", "instrument", "family", "ensemble")


def worded(tables: Mapping[str, pa.Table], first: int) -> pa.Table | None:
    """Rows of `doublings` with the basis `words`; None where there is none.

    The lines of the part that has the words go with the line that they name, from the words to
    their end: at the octave where they say so, else in unison. What they play is not notated,
    so all counts and times are those of the line named, the interval is not known, and no row
    is strict.

    Parameters
    ----------
    tables
        With `notes`, `lines`, `bars` and `directions`.
    first
        Running number of the first row.
    """
    notes, lines = tables["notes"], tables["lines"]
    every_note = sounds(notes, lines)
    said = list(_said(tables))
    if not said or not len(every_note.line):
        return None
    melody = top_notes(in_lines(every_note, len(lines)))
    rows = [row for words in said if (row := _counted(melody, *words))]
    if not rows:
        return None
    movement_id = lines["movement_id"][0].as_py()
    columns: dict[str, Any] = {name: [row[name] for row in rows] for name in rows[0]}
    columns["doubling_key"] = keys(movement_id, first + np.arange(len(rows)))
    columns |= _places(columns, tables["bars"])
    for side in ("a", "b"):
        of_line = {name: pc.take(lines[name], columns[f"line_{side}"]) for name in _OF_LINE}
        columns[f"line_{side}"] = of_line.pop("line_key")
        columns[f"part_{side}"] = of_line.pop("part_index")
        columns |= {f"{name}_{side}": values for name, values in of_line.items()}
    return table_of("doublings", movement_id, columns)


def _said(tables: Mapping[str, pa.Table]) -> Iterator[tuple[int, int, int, int, bool]]:
    """Line that follows, line named, start, end and whether at the octave, of all words."""
    directions = tables["directions"]
    means_a_span = pc.and_(
        pc.equal(directions["kind"].cast(pa.string()), "doubling"),
        pc.and_(pc.is_valid(directions["target_line_key"]), pc.is_valid(directions["end_ticks"])),
    )
    line_keys = tables["lines"]["line_key"].to_numpy()
    for row in directions.filter(means_a_span).to_pylist():
        named = int(np.searchsorted(line_keys, row["target_line_key"]))
        octave = _OCTAVE in (row["understood_as"] or "")
        for line in _following(tables, row["part_index"], row["staff"], row["onset_ticks"]):
            if line != named:
                yield line, named, row["onset_ticks"], row["end_ticks"], octave


def _following(
    tables: Mapping[str, pa.Table], part: int, staff: int | None, start: int
) -> list[int]:
    """The lines of a part, or of one staff of it, that are in force at a time.

    Of the lines of one player it is the one that has sounded last, else the first.
    """
    notes, lines = tables["notes"], tables["lines"]
    own = notes.filter(pc.equal(notes["part_index"], part))
    if staff is not None:
        own = own.filter(pc.equal(own["staff"], staff))
    onset, line = own["onset_ticks"].to_numpy(), own["line_key"].to_numpy()
    candidates = lines.filter(pc.equal(lines["part_index"], part)).select(
        ["line_key", "player_key"]
    )
    here = set(line.tolist()) if staff is not None else None
    in_force: dict[int, tuple[int, int]] = {}
    for row in candidates.to_pylist():
        if here is not None and row["line_key"] not in here:
            continue
        before = onset[(line == row["line_key"]) & (onset < start)]
        found = (int(before.max(initial=-1)), -row["line_key"])
        in_force[row["player_key"]] = max(found, in_force.get(row["player_key"], found))
    line_keys = lines["line_key"].to_numpy()
    return sorted(int(np.searchsorted(line_keys, -key)) for _, key in in_force.values())


def _counted(
    melody: Melody, line: int, named: int, start: int, end: int, octave: bool
) -> dict[str, Any] | None:
    """One row from the notes of the line named; None where it is silent."""
    rows = np.flatnonzero((melody.line == named) & (melody.onset >= start) & (melody.onset < end))
    if not len(rows):
        return None
    ends = np.minimum(melody.end[rows], end)
    pitch = melody.pitch[rows]
    return {
        "kind": "octave" if octave else "unison",
        "same_line": True,
        "strict": False,
        "basis": "words",
        "line_a": min(line, named),
        "line_b": max(line, named),
        "start_ticks": start,
        "end_ticks": end,
        "matched_notes": len(rows),
        "added_notes": [],
        "pitch_changes": int(np.count_nonzero(np.diff(pitch))),
        "distinct_pitches": len(np.unique(pitch)),
        "matched_ticks": int(
            union_lengths(np.zeros(len(rows), np.int64), melody.onset[rows], ends, 1)[0]
        ),
        "share_a": 1.0,
        "share_b": 1.0,
    }


def _places(columns: Mapping[str, Any], bars: pa.Table) -> dict[str, Any]:
    """Starts and ends in quarters, and their bars."""
    starts = bars["start_ticks"].to_numpy()
    placed: dict[str, Any] = {}
    for name, within in (("start", 0), ("end", -1)):
        ticks: Ints = np.array(columns[f"{name}_ticks"], np.int64)
        bar = np.searchsorted(starts, ticks + within, side="right") - 1
        placed[f"{name}_quarters"] = ticks / TICKS
        placed[f"{name}_bar_index"] = pc.take(bars["bar_index"], bar)
        placed[f"{name}_bar"] = pc.take(bars["bar"], bar)
    return placed
