"""Melodic patterns: the three intervals of four notes in a row of one line.

Of notes that a line begins together the highest counts; rests between notes do not. Four notes of
one pitch are no pattern. Lines that double each other at one pitch tell a pattern once. By these
patterns a melody is found again at any height; definition of the project.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.ranks import groups
from collaparte.measures.sounding import sounding
from collaparte.reference import Reference
from collaparte.schema import Tables, empty, table_of
from collaparte.settings import Settings

_NOTES = 4
_BAR = ("bar_index", "bar_key", "bar")


def melodic_patterns(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The table `melodic_patterns` from `notes`, `lines`, `bars` and `layers`."""
    notes, lines, bars = tables["notes"], tables["lines"], tables["bars"]
    line_keys = lines["line_key"].to_numpy()
    line, bar, midi = _top_notes(notes.take(sounding(notes)), line_keys)
    start = np.arange(max(len(line) - _NOTES + 1, 0))
    intervals = np.diff(midi[start[:, None] + np.arange(_NOTES)], axis=1)
    is_pattern = (line[start] == line[start + _NOTES - 1]) & intervals.any(axis=1)
    start, intervals = start[is_pattern], intervals[is_pattern]
    if not len(start):
        return {"melodic_patterns": empty("melodic_patterns")}
    first, last, pitch = bar[start], bar[start + _NOTES - 1], midi[start]
    row = groups([first, last, pitch, *intervals.T])
    _, one = np.unique(row, return_index=True)
    columns = {
        **{name: pc.take(bars[name], first[one]) for name in _BAR},
        "last_bar_index": last[one],
        "midi": pitch[one],
        **dict(zip(("interval_1", "interval_2", "interval_3"), intervals[one].T, strict=True)),
        "leads": np.bincount(row, _leads(tables["layers"], line_keys, first, line[start])) > 0,
    }
    return {
        "melodic_patterns": table_of("melodic_patterns", lines["movement_id"][0].as_py(), columns)
    }


def _top_notes(notes: pa.Table, line_keys: Ints) -> tuple[Ints, Ints, Ints]:
    """Line (its row), bar and pitch of the highest note of each attack, by line, then time."""
    line = np.searchsorted(line_keys, notes["line_key"].to_numpy())
    onset, bar, midi = (
        notes[name].to_numpy().astype(np.int64) for name in ("onset_ticks", "bar_index", "midi")
    )
    order = np.lexsort((-midi, onset, line))
    line, onset, bar, midi = line[order], onset[order], bar[order], midi[order]
    highest = np.ones(len(order), np.bool_)
    highest[1:] = (np.diff(line) != 0) | (np.diff(onset) != 0)
    return line[highest], bar[highest], midi[highest]


def _leads(layers: pa.Table, line_keys: Ints, bar: Ints, line: Ints) -> Flags:
    """Whether each line leads in the bar."""
    leading = layers.filter(
        pc.and_(layers["leads"], pc.equal(layers["role"].cast(pa.string()), "leading_line"))
    )
    its_line = np.searchsorted(line_keys, leading["line_key"].to_numpy())
    its_bar = leading["bar_index"].to_numpy().astype(np.int64)
    count = len(line_keys)
    return np.isin(bar * count + line, its_bar * count + its_line)
