"""The melody that leads in a passage, and where it is played in all movements."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Ints
from collaparte.kernels.ranks import groups
from collaparte.similar.index import Answer, Index

_PATTERNS = """
SELECT movement_key, bar_index, last_bar_index, interval_1, interval_2, interval_3, midi, leads
FROM melodic_patterns
SEMI JOIN (
    SELECT *
    FROM melodic_patterns
    WHERE movement_key = $movement_key AND bar_index >= $first AND last_bar_index <= $last AND leads
) USING (interval_1, interval_2, interval_3)
"""


@dataclass(frozen=True)
class Melody:
    """The melodic patterns of a passage's leading line, and where they stand in all movements.

    A place has the bars of a pattern's first and last note (places are in order of the first),
    the number of its intervals among `intervals`, and the number of the whole pattern among
    `patterns` or −1 where it stands at another height.
    """

    intervals: int
    """How many different patterns there are, whatever their height."""
    patterns: int
    """How many there are at their own height."""
    first: Ints
    last: Ints
    interval: Ints
    pattern: Ints

    def within(self, start: int, end: int) -> tuple[float, float]:
        """Shares of the patterns that stand in a passage, at any height and at their own."""
        place = slice(*np.searchsorted(self.first, [start, end]))
        inside = self.last[place] < end
        interval, pattern = self.interval[place][inside], self.pattern[place][inside]
        found = np.count_nonzero(np.bincount(interval, minlength=self.intervals))
        at_pitch = np.count_nonzero(np.bincount(pattern[pattern >= 0], minlength=self.patterns))
        return found / self.intervals, at_pitch / self.patterns


def melody_of(answer: Answer, index: Index, start: int, end: int) -> Melody:
    """The melody that leads from one row of the index to before another."""
    movement = index.movement[start]
    before = index.starts[movement]
    passage = {
        "movement_key": int(index.keys[movement]),
        "first": int(start - before),
        "last": int(end - 1 - before),
    }
    told = answer(_PATTERNS, passage).fetchnumpy()
    first, last = (
        index.row(told["movement_key"], told[name]) for name in ("bar_index", "last_bar_index")
    )
    interval = groups([told[name] for name in ("interval_1", "interval_2", "interval_3")])
    whole = groups([interval, told["midi"]])
    own = np.unique(whole[(first >= start) & (last < end) & told["leads"]])
    number = np.full(len(whole), -1)
    number[own] = np.arange(len(own))
    order = np.argsort(first, kind="stable")
    return Melody(
        intervals=int(interval.max(initial=-1)) + 1,
        patterns=len(own),
        first=first[order],
        last=last[order],
        interval=interval[order],
        pattern=number[whole][order],
    )
