"""Joinings and partings: where two free lines become one line, and where they part again.

Told in bars of the file. In a bar two lines are together when a same-line doubling of the two
touches it, and free when both play in it (have a row in `layers`) and none does. A joining is the
start of a run of bars together that follows a free bar, a parting the end of such a run that a
free bar follows; both are told at the tick where the doubling starts or ends, so that lines may
join or part within a bar. Definitions of the project.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.arrow import words
from collaparte.kernels.joins import positions_within
from collaparte.kernels.lookup import last_before
from collaparte.kernels.spans import union
from collaparte.reference import Reference
from collaparte.schema import TICKS, Tables, empty, table_of
from collaparte.settings import Settings

KINDS = ("join", "part")
_OF_LINE = ("line_key", "instrument", "family", "ensemble")
_BAR = ("bar_index", "bar_key", "bar")


@dataclass(frozen=True)
class _Runs:
    """Runs of bars together, by pair, then time; all of shape (runs,)."""

    pair: Ints
    first: Ints
    """Row of its first bar."""
    last: Ints
    start: Ints
    """Tick at which the first doubling of the run starts."""
    end: Ints
    strict: Flags


@dataclass(frozen=True)
class _Meetings:
    """Joinings and partings; `before` and `after` are the bars on their two sides."""

    kind: Ints
    run: Ints
    moment: Ints
    free: Ints
    before: Ints
    after: Ints

    def take(self, rows: Ints) -> _Meetings:
        return _Meetings(
            *(
                values[rows]
                for values in (
                    self.kind, self.run, self.moment, self.free, self.before, self.after
                )
            )
        )  # fmt: skip


def line_meetings(
    tables: Mapping[str, pa.Table], reference: Reference, settings: Settings
) -> Tables:
    """The table `line_meetings` from `doublings`, `lines`, `bars` and `layers`."""
    lines, bars, layers = tables["lines"], tables["bars"], tables["layers"]
    doublings = tables["doublings"].filter(tables["doublings"]["same_line"])
    if not len(doublings) or not len(layers):
        return {"line_meetings": empty("line_meetings")}
    line_keys = lines["line_key"].to_numpy()
    a, b = (np.searchsorted(line_keys, doublings[name].to_numpy()) for name in ("line_a", "line_b"))
    pairs, pair = np.unique(a * len(lines) + b, return_inverse=True)
    line, partner = pairs // len(lines), pairs % len(lines)
    runs = _runs(doublings, pair, bars["start_ticks"].to_numpy())
    layer_row = _layer_rows(layers, line_keys, bars["bar_index"].to_numpy())
    plays = layer_row >= 0
    free = (plays[:, line] & plays[:, partner]).T
    free[_bars_of(runs)] = False
    found = _meetings(runs, free)
    found = found.take(
        np.lexsort((found.kind, partner[runs.pair[found.run]], line[runs.pair[found.run]],
                    found.moment))
    )  # fmt: skip
    if not len(found.run):
        return {"line_meetings": empty("line_meetings")}
    of_run = runs.pair[found.run]
    bar = np.searchsorted(bars["start_ticks"].to_numpy(), found.moment, side="right") - 1
    columns: dict[str, Any] = {
        "kind": words(found.kind, KINDS),
        "start_ticks": found.moment,
        "start_quarters": found.moment / TICKS,
        **{name: pc.take(bars[name], bar) for name in _BAR},
        "bars_free": found.free,
        "bars_together": (runs.last - runs.first + 1)[found.run],
        "strict": runs.strict[found.run],
    }
    for prefix, side in (("", line[of_run]), ("partner_", partner[of_run])):
        columns |= {f"{prefix}{name}": pc.take(lines[name], side) for name in _OF_LINE}
        for when, place in (("before", found.before), ("after", found.after)):
            row = layer_row[place, side]
            known = pa.array(row, mask=row < 0)
            columns |= {
                f"{prefix}{name}_{when}": pc.take(layers[name], known) for name in ("layer", "role")
            }
    movement_id = lines["movement_id"][0].as_py()
    return {"line_meetings": table_of("line_meetings", movement_id, columns)}


def _runs(doublings: pa.Table, pair: Ints, bar_starts: Ints) -> _Runs:
    start, end = (doublings[name].to_numpy() for name in ("start_ticks", "end_ticks"))
    first = np.searchsorted(bar_starts, start, side="right") - 1
    last = np.searchsorted(bar_starts, end, side="left") - 1
    run_pair, run_first, run_end = union(pair, first, last + 1)
    run = last_before(run_pair, run_first, pair, first)
    starts = np.full(len(run_pair), np.iinfo(np.int64).max)
    np.minimum.at(starts, run, start)
    ends = np.zeros(len(run_pair), np.int64)
    np.maximum.at(ends, run, end)
    strict = np.bincount(run, doublings["strict"].to_numpy(), len(run_pair)) > 0
    return _Runs(run_pair, run_first, run_end - 1, starts, ends, strict)


def _layer_rows(layers: pa.Table, line_keys: Ints, bar_indexes: Ints) -> Ints:
    """Row of `layers` of each line in each bar, −1 where it does not play; (bars, lines)."""
    rows = np.full((len(bar_indexes), len(line_keys)), -1, np.int64)
    bar = np.searchsorted(bar_indexes, layers["bar_index"].to_numpy())
    line = np.searchsorted(line_keys, layers["line_key"].to_numpy())
    rows[bar, line] = np.arange(len(layers))
    return rows


def _bars_of(runs: _Runs) -> tuple[Ints, Ints]:
    """Pair and bar of every bar of every run."""
    lengths = runs.last - runs.first + 1
    return (
        np.repeat(runs.pair, lengths),
        np.repeat(runs.first, lengths) + positions_within(lengths),
    )


def _meetings(runs: _Runs, free: Flags) -> _Meetings:
    """The starts of runs that a free bar precedes and the ends that one follows.

    Parameters
    ----------
    free
        Shape (pairs, bars).
    """
    bars = free.shape[1]
    # On both sides of the movement stands a bar that is not free; bar i has place i + 1.
    padded = np.pad(free, ((0, 0), (1, 1)))
    place = np.arange(bars + 2)
    wall_before = np.maximum.accumulate(np.where(padded, 0, place), axis=1)
    wall_after = np.minimum.accumulate(np.where(padded, bars + 1, place)[:, ::-1], axis=1)[:, ::-1]
    run = np.arange(len(runs.pair))
    both = (
        _Meetings(
            np.zeros_like(run), run, runs.start,
            runs.first - wall_before[runs.pair, runs.first], runs.first - 1, runs.first,
        ),
        _Meetings(
            np.ones_like(run), run, runs.end,
            wall_after[runs.pair, runs.last + 2] - runs.last - 2, runs.last, runs.last + 1,
        ),
    )  # fmt: skip
    found = [item.take(np.flatnonzero(item.free)) for item in both]
    return _Meetings(
        *(
            np.concatenate([getattr(item, name) for item in found])
            for name in ("kind", "run", "moment", "free", "before", "after")
        )
    )
