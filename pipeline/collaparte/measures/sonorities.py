"""Sonorities: the stretches in which the set of sounding notes does not change.

Pitched notes count, grace and cue notes do not; silence makes no row. Spacing is measured
between neighbouring different pitches, to the semitone. Definitions of the project.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.kernels.joins import positions_within
from collaparte.kernels.runs import distinct_within
from collaparte.measures.sounding import sounding
from collaparte.reference import Reference
from collaparte.schema import TICKS, Tables, empty, keys, table_of
from collaparte.settings import Settings

_PITCHES = 128
_OF_NOTE = ("line_key", "instrument", "family", "ensemble", "midi", "register_class")
_BAR = ("bar_index", "bar_key", "bar")


def sonorities(tables: Mapping[str, pa.Table], reference: Reference, settings: Settings) -> Tables:
    """The tables `sonorities` and `sonority_members` from `notes`, `lines` and `bars`."""
    notes = tables["notes"]
    members = _members(notes)
    if not len(members.note):
        return {name: empty(name) for name in ("sonorities", "sonority_members")}
    movement_id = notes["movement_id"][0].as_py()
    numbers = keys(movement_id, np.arange(len(members.start), dtype=np.int64))
    bars = tables["bars"]
    starts = bars["start_ticks"].to_numpy()
    at = np.searchsorted(starts, members.start, side="right") - 1
    bar: dict[str, Any] = {name: pc.take(bars[name], at) for name in _BAR}
    lines = np.searchsorted(
        tables["lines"]["line_key"].to_numpy(), notes["line_key"].to_numpy()[members.note]
    )
    ticks = members.end - members.start
    midi = notes["midi"].fill_null(0).to_numpy()[members.note]
    spacing = _spacing(members, midi)
    return {
        "sonorities": table_of(
            "sonorities",
            movement_id,
            {
                "sonority_key": numbers,
                "start_ticks": members.start,
                "ticks": ticks,
                "start_quarters": members.start / TICKS,
                "lines_sounding": distinct_within(members.sonority, lines, len(members.start)),
                **bar,
                **spacing,
            },
        ),
        "sonority_members": table_of(
            "sonority_members",
            movement_id,
            {
                "sonority_key": numbers[members.sonority],
                "note_key": pc.take(notes["note_key"], members.note),
                "start_ticks": members.start[members.sonority],
                "ticks": ticks[members.sonority],
                "is_lowest": midi == spacing["lowest"][members.sonority],
                "is_attack": notes["onset_ticks"].to_numpy()[members.note]
                == members.start[members.sonority],
                **{name: pc.take(values, members.sonority) for name, values in bar.items()},
                **{name: pc.take(notes[name], members.note) for name in _OF_NOTE},
            },
        ),
    }


@dataclass(frozen=True)
class _Members:
    """Sonorities by `start` and `end`; the notes in each, by sonority, then row of `notes`."""

    start: Ints
    end: Ints
    sonority: Ints
    note: Ints


def _members(notes: pa.Table) -> _Members:
    rows = sounding(notes)
    onset = notes["onset_ticks"].to_numpy()[rows]
    end = onset + notes["duration_ticks"].to_numpy()[rows]
    moments = np.unique(np.concatenate([onset, end]))
    first = np.searchsorted(moments, onset)
    counts = np.searchsorted(moments, end) - first
    span = np.repeat(first, counts) + positions_within(counts)
    order = np.argsort(span, kind="stable")
    span, note = span[order], np.repeat(rows, counts)[order]
    filled, sonority = np.unique(span, return_inverse=True)
    return _Members(moments[filled], moments[filled + 1], sonority, note)


def _spacing(members: _Members, midi: Ints) -> dict[str, Any]:
    """Columns that depend on the pitches of each sonority."""
    key = np.unique(members.sonority * _PITCHES + midi)
    sonority, pitch = key // _PITCHES, key % _PITCHES
    first = np.flatnonzero(np.diff(sonority, prepend=-1))
    count = np.diff(np.append(first, len(key)))
    lowest, highest = pitch[first], pitch[first + count - 1]
    classes = np.bitwise_or.reduceat(np.left_shift(1, pitch % 12), first)
    # The gap below each pitch, with the pitch under it so that the lowest of equals is taken.
    gap = np.diff(pitch, prepend=0) * _PITCHES + (_PITCHES - 1 - np.roll(pitch, 1))
    gap[first] = -1
    widest = np.maximum.reduceat(gap, first)
    single = count == 1
    second = pitch[np.minimum(first + 1, len(pitch) - 1)]
    return {
        "distinct_pitches": count,
        "distinct_pitch_classes": np.bitwise_count(classes),
        "lowest": lowest,
        "highest": highest,
        "spread_semitones": pa.array(highest - lowest, mask=single),
        "widest_gap": pa.array(widest // _PITCHES, mask=single),
        "gap_above": pa.array(_PITCHES - 1 - widest % _PITCHES, mask=single),
        "lowest_interval": pa.array(second - lowest, mask=single),
    }
