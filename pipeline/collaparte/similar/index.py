"""What `similar` searches: measures of all bars and the melody that leads, in plain arrays."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import duckdb
import numpy as np
import pyarrow as pa

from collaparte.errors import UsageError, did_you_mean
from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.similar.measures import MEASURES

STEPS = 49
"""Intervals from two octaves down to two up."""

PATTERNS = STEPS**3
"""Sequences of three intervals."""

Answer = Callable[[str, Mapping[str, Any]], duckdb.DuckDBPyRelation]
"""Asks one SELECT with bound values."""

_COLUMNS = ", ".join(f"textures.{item.column}" for item in MEASURES)

_BARS = f"""
SELECT work_id, textures.movement_id, textures.bar, {_COLUMNS}
FROM textures
JOIN movements USING (movement_key)
WHERE state = 'read'
ORDER BY textures.movement_id, bar_index
"""

# Four notes in a row of one line, told in the bars of the first and the last: three intervals,
# cut at two octaves, not all of them 0. Lines that double each other at one pitch tell once.
_MELODY = f"""
WITH line AS (
    SELECT line_key, bar_key, onset_ticks, max(midi)::INTEGER AS midi
    FROM notes
    WHERE midi IS NOT NULL AND NOT is_grace AND NOT is_cue
    GROUP BY ALL
),

steps AS (
    SELECT
        line_key,
        bar_key,
        midi,
        lead(bar_key, 3) OVER onward AS last_bar_key,
        greatest(-24, least(24, lead(midi, 1) OVER onward - midi)) AS one,
        greatest(-24, least(24, lead(midi, 2) OVER onward - lead(midi, 1) OVER onward)) AS two,
        greatest(-24, least(24, lead(midi, 3) OVER onward - lead(midi, 2) OVER onward)) AS three
    FROM line
    WINDOW onward AS (PARTITION BY line_key ORDER BY onset_ticks)
),

places AS (
    SELECT
        bar_key,
        row_number() OVER (ORDER BY textures.movement_id, bar_index) - 1 AS place
    FROM textures
    JOIN movements USING (movement_key)
    WHERE state = 'read'
),

led AS (
    SELECT bar_key, line_key FROM layers WHERE leads AND role = 'leading_line'
)

SELECT
    first.place AS first,
    last.place AS last,
    ((one + 24) * {STEPS} + two + 24) * {STEPS} + three + 24 AS intervals,
    midi AS pitch,
    bool_or(led.line_key IS NOT NULL) AS leads
FROM steps
JOIN places AS first USING (bar_key)
JOIN places AS last ON last.bar_key = last_bar_key
LEFT JOIN led ON led.bar_key = steps.bar_key AND led.line_key = steps.line_key
WHERE one <> 0 OR two <> 0 OR three <> 0
GROUP BY ALL
ORDER BY first
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
    first, last, intervals, pitch, leads
        Shape (patterns,), by first: the bars of the first and the last note of each melodic
        pattern of any line; a number below `PATTERNS` for its three intervals; its first pitch;
        and whether its line leads in the bar of its first note.
    """

    work: Ints
    movement: Ints
    movement_ids: tuple[str, ...]
    printed: tuple[str, ...]
    sums: Reals
    first: Ints
    last: Ints
    intervals: Ints
    pitch: Ints
    leads: Flags

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

    def _span(self, movement_id: str) -> tuple[int, int]:
        number = self.movement_ids.index(movement_id)
        start, end = np.searchsorted(self.movement, [number, number + 1])
        return int(start), int(end)


def make_index(answer: Answer) -> Index:
    """The index of all movements that were read."""
    bars = answer(_BARS, {}).to_arrow_table()
    melody = answer(_MELODY, {}).to_arrow_table()
    movement = bars["movement_id"].cast(pa.string()).combine_chunks().dictionary_encode()
    work = bars["work_id"].cast(pa.string()).combine_chunks().dictionary_encode()
    numbers = np.asarray(movement.indices, np.int64)
    sums = np.zeros((len(MEASURES), len(bars) + 1))
    for row, item in enumerate(MEASURES):
        values = _filled(bars[item.column].cast(pa.float64()).to_numpy())
        np.cumsum(item.scaled(values), out=sums[row, 1:])
    return Index(
        work=np.asarray(work.indices, np.int64),
        movement=numbers,
        movement_ids=tuple(movement.dictionary.to_pylist()),
        printed=tuple(bars["bar"].cast(pa.string()).to_pylist()),
        sums=sums,
        **{
            name: melody[name].cast(pa.int64()).to_numpy()
            for name in ("first", "last", "intervals", "pitch")
        },
        leads=np.asarray(melody["leads"].to_numpy(), np.bool_),
    )


def _filled(values: Reals) -> Reals:
    """Bars in which nothing sounds have the value of the bar before, or the middle of all."""
    known = np.flatnonzero(~np.isnan(values))
    if not len(known):
        return np.zeros(len(values))
    at = np.searchsorted(known, np.arange(len(values)), side="right") - 1
    return np.where(at >= 0, values[known[np.maximum(at, 0)]], np.median(values[known]))
