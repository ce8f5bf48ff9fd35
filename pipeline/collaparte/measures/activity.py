"""Activity of pairs: how long two lines sound together, and how long they double each other.

A row for every kind and strictness of every pair of lines that ever sound together, so that a
pair that never doubles counts with 0. Doubled time is the length of the union of the overlaps
of matched notes. What chance gives, in the mean over all draws of a null model, stands beside it
after a build with chance.
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
    """The table `pair_activity` of all pairs of lines that ever sound together.

    From `lines`, `bars`, `sonority_members`, `doubled_notes` and `chance_doubled`. Times by
    chance are null without draws, that of the shift null also in a movement of no more than
    twice `shift_margin_bars` bars.
    """
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
    for model, name in _possible_models(tables["bars"], settings).items():
        drawn = tables["chance_doubled"]
        drawn = drawn.filter(pc.equal(drawn["model"].cast(pa.string()), model))
        columns[name] = (_drawn(drawn, line_keys) / settings.chance_draws)[spot]
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


def _possible_models(bars: pa.Table, settings: Settings) -> dict[str, str]:
    """The null models that there are draws of, each with its column."""
    models = {"shift": "chance_shift_ticks", "harmony": "chance_harmony_ticks"}
    if len(pc.unique(bars["bar_group"])) <= 2 * settings.shift_margin_bars:
        del models["shift"]
    return models if settings.chance_draws else {}


def _doubled(doubled_notes: pa.Table, line_keys: Ints) -> tuple[Ints, Ints]:
    """Doubled ticks and number of stretches, by the numbers of `_ways`."""
    size = _size(line_keys)
    if not len(doubled_notes):
        return np.zeros(size, np.int64), np.zeros(size, np.int64)
    row, way = _ways(doubled_notes, line_keys)
    doubled = _united(way, doubled_notes, row, size)
    _, stretch = np.unique(doubled_notes["doubling_key"].to_numpy(), return_inverse=True)
    different = np.unique(way * (int(stretch.max()) + 1) + stretch[row])
    stretches = np.bincount(different // (int(stretch.max()) + 1), minlength=size)
    return doubled, stretches


def _drawn(drawn: pa.Table, line_keys: Ints) -> Ints:
    """Doubled ticks of all draws of one model, by the numbers of `_ways`."""
    size = _size(line_keys)
    if not len(drawn):
        return np.zeros(size, np.int64)
    row, way = _ways(drawn, line_keys)
    draw = drawn["draw"].to_numpy()[row].astype(np.int64)
    draws = int(draw.max()) + 1
    ticks = _united(draw * size + way, drawn, row, draws * size)
    return np.asarray(ticks.reshape(draws, size).sum(axis=0), np.int64)


def _ways(table: pa.Table, line_keys: Ints) -> tuple[Ints, Ints]:
    """Rows and the number of their line, partner, kind (as in `KINDS`) and strictness.

    A strict row comes twice, for it also counts among all stretches of its kind.
    """
    line, partner = (
        np.searchsorted(line_keys, table[name].to_numpy())
        for name in ("line_key", "partner_line_key")
    )
    kind = pc.index_in(table["kind"].cast(pa.string()), pa.array(KINDS)).to_numpy()
    way = ((line * len(line_keys) + partner) * len(KINDS) + kind) * 2
    strict = np.flatnonzero(table["strict"].to_numpy())
    row = np.concatenate([np.arange(len(way)), strict])
    return row, np.concatenate([way, way[strict] + 1])


def _size(line_keys: Ints) -> int:
    """One more than the highest number of `_ways`."""
    return len(line_keys) ** 2 * len(KINDS) * 2


def _united(group: Ints, table: pa.Table, row: Ints, count: int) -> Ints:
    """Length of the union of the spans in these rows, for each of `count` groups."""
    start = table["start_ticks"].to_numpy()[row]
    end = start + table["ticks"].to_numpy()[row]
    used, number = np.unique(group, return_inverse=True)
    lengths = np.zeros(count, np.int64)
    lengths[used] = union_lengths(number, start, end, len(used))
    return lengths
