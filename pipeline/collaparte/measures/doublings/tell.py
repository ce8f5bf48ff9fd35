"""Stretches told as the tables `doublings` and `doubled_notes`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.kernels.spans import union_lengths
from collaparte.measures.doublings.stretches import CHANGING, Stretches, sums
from collaparte.measures.kinds import KINDS, SAME_LINE
from collaparte.schema import TICKS, Tables, keys, table_of

_SIDE = (
    "line_key",
    "instrument",
    "family",
    "ensemble",
    "midi",
    "register_class",
    "register_scheme",
    "dynamic_degree",
    "techniques",
)
_LINE = ("instrument", "family", "ensemble")
_BAR = ("bar_index", "bar_key", "bar")


def tables(movement_id: str, found: Stretches, notes: pa.Table, lines: pa.Table) -> Tables:
    """The tables `doublings` and `doubled_notes`.

    Parameters
    ----------
    found
        In the order of the keys that they get.
    """
    numbers = keys(movement_id, np.arange(len(found), dtype=np.int64))
    return {
        "doublings": _doublings(movement_id, found, numbers, notes, lines),
        "doubled_notes": _doubled_notes(movement_id, found, numbers, notes),
    }


def _doublings(
    movement_id: str,
    found: Stretches,
    numbers: Ints,
    notes: pa.Table,
    lines: pa.Table,
) -> pa.Table:
    count = len(found)
    matched = union_lengths(found.stretch, found.pair_start, found.pair_end, count)
    first = np.searchsorted(found.stretch, np.arange(count))
    overlap = sums(found.pair_end - found.pair_start, first)
    last = np.searchsorted(found.stretch, np.arange(count), side="right") - 1
    opening, closing = found.note_a[first], _later(found, notes)[last]
    interval, changing = _semitones(found.interval)
    columns: dict[str, Any] = {
        "doubling_key": numbers,
        "basis": pa.repeat("notes", count),
        "interval_semitones": pa.array(interval, mask=changing),
        "start_ticks": found.start,
        "end_ticks": found.end,
        "start_quarters": found.start / TICKS,
        "end_quarters": found.end / TICKS,
        "start_bar_index": pc.take(notes["bar_index"], opening),
        "end_bar_index": pc.take(notes["bar_index"], closing),
        "start_bar": pc.take(notes["bar"], opening),
        "end_bar": pc.take(notes["bar"], closing),
        "matched_notes": found.matched,
        "added_notes": _added_notes(found, notes),
        "pitch_changes": found.changes,
        "distinct_pitches": found.distinct,
        "matched_ticks": matched,
        "share_a": overlap / found.own_a,
        "share_b": overlap / found.own_b,
        **_kind_columns(found, slice(None)),
    }
    for side, line in (("a", found.line_a), ("b", found.line_b)):
        columns[f"line_{side}"] = pc.take(lines["line_key"], line)
        columns[f"part_{side}"] = pc.take(lines["part_index"], line)
        columns |= {f"{name}_{side}": pc.take(lines[name], line) for name in _LINE}
    return table_of("doublings", movement_id, columns)


def _added_notes(found: Stretches, notes: pa.Table) -> pa.Array:
    """For each stretch the keys of the notes that a chord adds, in their order."""
    order = np.lexsort((found.added, found.added_to))
    cuts = np.searchsorted(found.added_to, np.arange(len(found) + 1))
    keys_added = notes["note_key"].to_numpy()[found.added[order]]
    return pa.ListArray.from_arrays(pa.array(cuts, pa.int32()), pa.array(keys_added))


def _doubled_notes(movement_id: str, found: Stretches, numbers: Ints, notes: pa.Table) -> pa.Table:
    own = np.concatenate([found.note_a, found.note_b])
    partner = np.concatenate([found.note_b, found.note_a])
    stretch = np.concatenate([found.stretch, found.stretch])
    alphabet = np.argsort(np.argsort(KINDS))
    order = np.lexsort((alphabet[found.kind[stretch]], partner, own))
    own, partner, stretch = own[order], partner[order], stretch[order]
    start = np.concatenate([found.pair_start, found.pair_start])[order]
    end = np.concatenate([found.pair_end, found.pair_end])[order]
    later = np.concatenate([_later(found, notes)] * 2)[order]
    midi = notes["midi"].fill_null(0).to_numpy()
    columns: dict[str, Any] = {
        "note_key": pc.take(notes["note_key"], own),
        "partner_note_key": pc.take(notes["note_key"], partner),
        "doubling_key": numbers[stretch],
        "ticks": end - start,
        "start_ticks": start,
        "interval_semitones": midi[partner] - midi[own],
        **_kind_columns(found, stretch),
    }
    columns |= {name: pc.take(notes[name], later) for name in _BAR}
    columns |= {name: pc.take(notes[name], own) for name in _SIDE}
    columns |= {f"partner_{name}": pc.take(notes[name], partner) for name in _SIDE}
    return table_of("doubled_notes", movement_id, columns)


def _kind_columns(found: Stretches, rows: Ints | slice) -> dict[str, Any]:
    kind = found.kind[rows]
    words = pa.DictionaryArray.from_arrays(pa.array(kind, pa.int32()), pa.array(KINDS))
    return {"kind": words, "same_line": kind < len(SAME_LINE), "strict": found.strict[rows]}


def _later(found: Stretches, notes: pa.Table) -> Ints:
    """Of each pair of notes the one that begins when the overlap begins."""
    onset = notes["onset_ticks"].to_numpy()[found.note_a]
    return np.where(onset == found.pair_start, found.note_a, found.note_b)


def _semitones(cents: Ints) -> tuple[Ints, Any]:
    changing = cents == CHANGING
    return np.where(changing, 0, cents) // 100, changing
