"""Small scores as tables, for the tests of measures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
import pyarrow as pa

from collaparte.schema import TABLES, TICKS, empty, keys, table_of

LETTERS = ((0, 0), (0, 1), (1, 0), (2, -1), (2, 0), (3, 0), (3, 1), (4, 0), (4, 1), (5, 0),
           (6, -1), (6, 0))  # fmt: skip
"""Letter (C is 0) and alteration of each pitch class."""


@dataclass(frozen=True)
class Note:
    """One note: onset and length in quarters, sounding pitch; `marks` are columns of `notes`."""

    onset: Fraction | float
    length: Fraction | float
    midi: int
    marks: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class Line:
    """One line and what the table `lines` says of it; each line is a part unless told."""

    notes: Sequence[Note]
    instrument: str = "flute"
    family: str = "woodwind"
    subfamily: str = "flutes"
    ensemble: str = "player"
    part: int | None = None
    confidence: str = "certain"


def melody(pitches: Sequence[int], length: float = 1, start: float = 0) -> list[Note]:
    """Notes of one length that follow each other."""
    return [Note(start + index * length, length, midi) for index, midi in enumerate(pitches)]


def score(
    lines: Sequence[Line], bar_quarters: int = 4, movement_id: str = "test"
) -> dict[str, pa.Table]:
    """The tables `notes`, `lines`, `bars`, `directions` of a movement with lines in score order."""
    rows = [
        (index, note)
        for index, line in enumerate(lines)
        for note in sorted(line.notes, key=lambda note: (note.onset, -note.midi))
    ]
    ends = [note.onset + note.length for _, note in rows]
    bars = max(1, -int(-max(ends, default=0) // bar_quarters))
    numbers = np.arange(bars)
    length = bar_quarters * TICKS
    bar_table = filled(
        "bars",
        movement_id,
        {
            "bar_index": numbers,
            "bar_key": keys(movement_id, numbers),
            "bar": [str(number + 1) for number in numbers],
            "bar_group": numbers,
            "start_ticks": numbers * length,
            "length_ticks": np.full(bars, length),
            "start_quarters": numbers * float(bar_quarters),
            "length_quarters": np.full(bars, float(bar_quarters)),
        },
    )
    return {
        "notes": _notes(movement_id, lines, rows, bar_table, length),
        "lines": _lines(movement_id, lines),
        "bars": bar_table,
        "directions": empty("directions"),
    }


def _notes(
    movement_id: str,
    lines: Sequence[Line],
    rows: Sequence[tuple[int, Note]],
    bars: pa.Table,
    bar_length: int,
) -> pa.Table:
    ticks = [int(note.onset * TICKS) for _, note in rows]
    index = np.array(ticks, np.int64) // bar_length
    marks: dict[str, Any] = {
        "part_index": [_part(lines, line) for line, _ in rows],
        "instrument": [lines[line].instrument for line, _ in rows],
        "family": [lines[line].family for line, _ in rows],
        "ensemble": [lines[line].ensemble for line, _ in rows],
        "onset_ticks": ticks,
        "duration_ticks": [int(note.length * TICKS) for _, note in rows],
        "onset_quarters": [float(note.onset) for _, note in rows],
        "duration_quarters": [float(note.length) for _, note in rows],
        "bar_index": index,
        "bar_key": bars["bar_key"].to_numpy()[index],
        "bar": [str(number + 1) for number in index],
        "step": ["CDEFGAB"[LETTERS[note.midi % 12][0]] for _, note in rows],
        "alter": [float(LETTERS[note.midi % 12][1]) for _, note in rows],
        "octave": [note.midi // 12 - 1 for _, note in rows],
        "midi": [note.midi for _, note in rows],
        "cents": [0] * len(rows),
        "register_class": ["middle"] * len(rows),
        "techniques": [[]] * len(rows),
        "is_grace": [False] * len(rows),
        "is_cue": [False] * len(rows),
        "is_unpitched": [False] * len(rows),
    }
    for row, (_, note) in enumerate(rows):
        for name, value in (note.marks or {}).items():
            marks.setdefault(name, [None] * len(rows))[row] = value
    numbers = np.arange(len(rows))
    line_numbers = np.array([line for line, _ in rows], np.int64)
    return filled(
        "notes",
        movement_id,
        {
            "note_key": keys(movement_id, numbers),
            "line_key": keys(movement_id, line_numbers),
            **marks,
        },
    )


def _lines(movement_id: str, lines: Sequence[Line]) -> pa.Table:
    count = len(lines)
    return filled(
        "lines",
        movement_id,
        {
            "line_key": keys(movement_id, np.arange(count)),
            "player_key": keys(movement_id, np.arange(count)),
            "part_index": [_part(lines, index) for index in range(count)],
            "player": [f"line {index}" for index in range(count)],
            "instrument": [line.instrument for line in lines],
            "family": [line.family for line in lines],
            "subfamily": [line.subfamily for line in lines],
            "ensemble": [line.ensemble for line in lines],
            "ensemble_confidence": [line.confidence for line in lines],
            "sounding_ticks": [
                int(sum(note.length for note in line.notes) * TICKS) for line in lines
            ],
            "notes": [len(line.notes) for line in lines],
        },
    )


def filled(name: str, movement_id: str, columns: dict[str, Any]) -> pa.Table:
    """The table with something plain in every required column that is not given."""
    rows = len(next(iter(columns.values())))
    missing = {
        column.name: pa.array([_PLAIN.get(column.type, [])] * rows, column.type)
        for column in TABLES[name].columns
        if not column.optional and column.name not in ("movement_id", "movement_key", *columns)
    }
    return table_of(name, movement_id, {**missing, **columns})


_PLAIN = {
    pa.bool_(): False,
    pa.int16(): 0,
    pa.int32(): 0,
    pa.int64(): 0,
    pa.float32(): 0.0,
    pa.float64(): 0.0,
    pa.string(): "",
    pa.dictionary(pa.int32(), pa.string()): "",
}


def _part(lines: Sequence[Line], index: int) -> int:
    part = lines[index].part
    return index if part is None else part
