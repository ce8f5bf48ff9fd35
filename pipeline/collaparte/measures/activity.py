"""Activity of pairs: how long two lines sound together, and how long they double each other.

A row for every kind and strictness of every pair of lines that ever sound together, so that a
pair that never doubles counts with 0. Doubled time is the length of the union of the overlaps
of matched notes. What chance would give is filled in by a build with chance.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Ints
from collaparte.kernels.spans import union_lengths
from collaparte.measures.kinds import KINDS, SAME_LINE
from collaparte.reference import Reference
from collaparte.schema import Tables, empty, table_of
from collaparte.settings import Settings

_OF_LINE = ("line_key", "instrument", "family", "ensemble")


def pair_activity(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The table `pair_activity` from `lines`, `sonority_members` and `doubled_notes`."""
    lines = tables["lines"]
    line_keys = lines["line_key"].to_numpy()
    together = _together(tables["sonority_members"], line_keys)
    line, partner = np.nonzero(together)
    if not len(line):
        return {"pair_activity": empty("pair_activity")}
    doubled, stretches = _doubled(tables["doubled_notes"], line_keys)
    # For every pair each kind, and for every kind all stretches and the strict ones.
    alphabet = np.argsort(KINDS)
    ways = 2 * len(KINDS)
    row = np.repeat(np.arange(len(line)), ways)
    kind = np.tile(np.repeat(alphabet, 2), len(line))
    strict = np.tile(np.array([0, 1]), len(line) * len(KINDS))
    spot = ((line[row] * len(lines) + partner[row]) * len(KINDS) + kind) * 2 + strict
    columns: dict[str, Any] = {
        "kind": pa.DictionaryArray.from_arrays(pa.array(kind, pa.int32()), pa.array(KINDS)),
        "same_line": kind < len(SAME_LINE),
        "strict": strict == 1,
        "together_ticks": together[line, partner][row],
        "doubled_ticks": doubled[spot],
        "stretches": stretches[spot],
    }
    for prefix, side in (("", line), ("partner_", partner)):
        columns |= {f"{prefix}{name}": pc.take(lines[name], side[row]) for name in _OF_LINE}
    movement_id = lines["movement_id"][0].as_py()
    return {"pair_activity": table_of("pair_activity", movement_id, columns)}


def _together(members: pa.Table, line_keys: Ints) -> Ints:
    """Ticks in which each line sounds together with each other, shape (lines, lines)."""
    lines = len(line_keys)
    if not len(members):
        return np.zeros((lines, lines), np.int64)
    _, sonority = np.unique(members["sonority_key"].to_numpy(), return_inverse=True)
    line = np.searchsorted(line_keys, members["line_key"].to_numpy())
    ticks = np.zeros(int(sonority.max()) + 1, np.int64)
    ticks[sonority] = members["ticks"].to_numpy()
    sounds = np.zeros((len(ticks), lines), np.int64)
    sounds[sonority, line] = 1
    together = sounds.T @ (sounds * ticks[:, None])
    np.fill_diagonal(together, 0)
    return together


def _doubled(doubled_notes: pa.Table, line_keys: Ints) -> tuple[Ints, Ints]:
    """Doubled ticks and number of stretches by line, partner, kind (as in `KINDS`), strictness."""
    size = len(line_keys) ** 2 * len(KINDS) * 2
    if not len(doubled_notes):
        return np.zeros(size, np.int64), np.zeros(size, np.int64)
    line, partner = (
        np.searchsorted(line_keys, doubled_notes[name].to_numpy())
        for name in ("line_key", "partner_line_key")
    )
    kind = pc.index_in(doubled_notes["kind"].cast(pa.string()), pa.array(KINDS)).to_numpy()
    spot = ((line * len(line_keys) + partner) * len(KINDS) + kind) * 2
    strict = np.flatnonzero(doubled_notes["strict"].to_numpy())
    row = np.concatenate([np.arange(len(spot)), strict])
    spot = np.concatenate([spot, spot[strict] + 1])
    start = doubled_notes["start_ticks"].to_numpy()[row]
    end = start + doubled_notes["ticks"].to_numpy()[row]
    used, group = np.unique(spot, return_inverse=True)
    doubled = np.zeros(size, np.int64)
    doubled[used] = union_lengths(group, start, end, len(used))
    _, stretch = np.unique(doubled_notes["doubling_key"].to_numpy(), return_inverse=True)
    different = np.unique(spot * (int(stretch.max()) + 1) + stretch[row])
    stretches = np.bincount(different // (int(stretch.max()) + 1), minlength=size)
    return doubled, stretches
