"""What `similar` searches: the measures of all bars, in plain arrays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np

from collaparte.errors import UsageError, did_you_mean
from collaparte.kernels.arrays import Ints, Reals
from collaparte.similar.measures import MEASURES

Answer = Callable[[str, Mapping[str, Any]], duckdb.DuckDBPyRelation]
"""Asks one SELECT with bound values."""

# Not a number instead of null: arrays with a mask take time.
_COLUMNS = ", ".join(
    f"coalesce(textures.{item.column}::DOUBLE, 'nan') AS {item.column}" for item in MEASURES
)

_BARS = f"""
SELECT work_id, textures.movement_id, textures.movement_key, textures.bar, {_COLUMNS}
FROM textures
JOIN movements USING (movement_key)
ORDER BY textures.movement_id, bar_index
"""


@dataclass(frozen=True)
class Index:
    """All bars of a store, by movement, then time; a bar is known by its row.

    Attributes
    ----------
    work, movement
        Shape (bars,): number of the work and of the movement of each bar, in `movement_ids`.
    printed
        Number of each bar as printed.
    sums
        Shape (measures, bars + 1): sums of the scaled measures of all bars before each.
    keys, starts
        Shape (movements,): key and first row of each movement.
    """

    work: Ints
    movement: Ints
    movement_ids: tuple[str, ...]
    printed: tuple[str, ...]
    sums: Reals
    keys: Ints
    starts: Ints

    def rows(self, movement_id: str, bars: str) -> tuple[int, int]:
        """First row of a passage and the row after its last.

        Parameters
        ----------
        bars
            One bar or the first and the last with a hyphen between them, as printed.

        Raises
        ------
        UsageError
            There is no such movement or bar, or the last bar stands before the first.
        """
        if movement_id not in self.movement_ids:
            near = did_you_mean(movement_id, self.movement_ids)
            raise UsageError(f"there is no movement {movement_id} with bars in the store{near}")
        start, end = self._span(movement_id)
        printed = self.printed[start:end]
        if bars in printed:
            names = (bars, bars)
        else:
            first, hyphen, last = bars.replace("–", "-").partition("-")
            names = (first.strip(), last.strip() if hyphen else first.strip())
        for name in names:
            if name not in printed:
                raise UsageError(
                    f"{movement_id} has no bar {name}; its bars are {printed[0]} to {printed[-1]}"
                )
        # A number may stand on several bars: of split bars the whole passage is meant.
        begin = start + printed.index(names[0])
        stop = end - printed[::-1].index(names[1])
        if stop <= begin:
            raise UsageError(f"bar {names[1]} stands before bar {names[0]}")
        return begin, stop

    def row(self, movement_key: Ints, bar_index: Ints) -> Ints:
        """Rows of bars of movements."""
        by_key = np.argsort(self.keys)
        movement = by_key[np.searchsorted(self.keys[by_key], movement_key)]
        return self.starts[movement] + bar_index

    def _span(self, movement_id: str) -> tuple[int, int]:
        number = self.movement_ids.index(movement_id)
        start, end = np.searchsorted(self.movement, [number, number + 1])
        return int(start), int(end)


def make_index(answer: Answer) -> Index:
    """The index of all movements that were read."""
    # By way of Arrow the first array would bring the whole of pandas, where it is installed.
    bars = answer(_BARS, {}).fetchnumpy()
    starts = np.flatnonzero(np.diff(bars["movement_key"], prepend=-1))
    movement = np.repeat(np.arange(len(starts)), np.diff(starts, append=len(bars["bar"])))
    work = np.unique(bars["work_id"][starts], return_inverse=True)[1]
    sums = np.zeros((len(MEASURES), len(movement) + 1))
    for row, item in enumerate(MEASURES):
        np.cumsum(item.scaled(_filled(bars[item.column], movement)), out=sums[row, 1:])
    return Index(
        work=work[movement],
        movement=movement,
        movement_ids=tuple(bars["movement_id"][starts].tolist()),
        printed=tuple(bars["bar"].tolist()),
        sums=sums,
        keys=bars["movement_key"][starts],
        starts=starts,
    )


def _filled(values: Reals, movement: Ints) -> Reals:
    """Bars in which nothing sounds have the value of the bar before, opening ones of that after."""
    known = np.flatnonzero(~np.isnan(values))
    if not len(known):
        return np.zeros(len(values))
    after = np.searchsorted(known, np.arange(len(values)), side="right")
    before = np.maximum(after - 1, 0)
    after = np.minimum(after, len(known) - 1)
    opening = movement[known[before]] != movement
    return values[known[np.where(opening, after, before)]]
