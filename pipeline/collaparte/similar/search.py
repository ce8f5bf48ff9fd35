"""The search: passages of several lengths in all other works, roughly, then the best exactly."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from collaparte.kernels.arrays import Flags, Reals
from collaparte.similar.index import Answer, Index
from collaparte.similar.measures import MEASURES
from collaparte.similar.melody import Melody, melody_of

LENGTHS = (1 / 2, 3 / 4, 1.0, 4 / 3, 2.0)
"""Lengths of passages that are looked at, against that of the one asked for."""

ROUGH_SLICES, SLICES = 3, 12
"""Parts of a passage of which the means are compared."""

FINALISTS = 200
"""Starts of passages that are compared exactly."""

MELODY_WEIGHT, HEIGHT_WEIGHT = 4, 2
"""The melody, at any height and at its own, counts as much as so many measures."""
LENGTH_WEIGHT = 1
"""Twice the length, or half of it, counts as much as so many measures: a longer passage holds more
melody and means that stray less."""

_DECIMALS, _EQUAL = 9, 1e-9
"""Of passages at one distance, told apart by rounding alone, that of the same length is taken."""

_NEAREST, _FARTHEST = 3, 2

Row = dict[str, Any]

ROWS = """
SELECT unnest($rows::STRUCT(
    movement_id VARCHAR,
    bars VARCHAR,
    distance DOUBLE,
    melody DOUBLE,
    melody_at_pitch DOUBLE,
    nearest VARCHAR[],
    farthest VARCHAR[]
)[], max_depth := 2)
"""
"""The rows that `similar` gives, as an answer."""


@dataclass(frozen=True)
class _Passage:
    """A passage, from its first bar to the one after its last, with the means of its slices."""

    start: int
    end: int
    slices: Reals


@dataclass(frozen=True)
class _Compared:
    """A passage beside the one asked for."""

    distance: float
    passage: _Passage
    differences: Reals
    """Mean of the slices' differences in each measure, in parts of its range."""
    other_length: int
    """Bars that it has more or less."""
    melody: float | None = None
    melody_at_pitch: float | None = None


def similar(answer: Answer, index: Index, movement_id: str, bars: str, rows: int) -> list[Row]:
    """The nearest passages of other works, the nearest first, none overlapping another.

    Parameters
    ----------
    bars
        As in `Index.rows`.
    rows
        Passages at most.

    Returns
    -------
    Rows with movement_id, bars, distance (0 to 1), melody (share of the melodic patterns of the
    line that leads in the passage asked for that any line has there, at any height; null where
    no line leads), melody_at_pitch (the same at its own height), nearest and farthest: the three
    measures in which the two passages are most alike and the two in which they are least, each
    with its mean there and, in brackets, in the passage asked for.

    Raises
    ------
    UsageError
        There is no such passage.
    """
    start, end = index.rows(movement_id, bars)
    wanted = _passage(index, start, end)
    melody = melody_of(answer, index, start, end)
    compared = [
        _compared(index, wanted, melody, *place) for place in _candidates(index, wanted, melody)
    ]
    found: list[Row] = []
    taken = np.zeros(len(index.movement), np.bool_)
    for item in sorted(compared, key=lambda item: (item.distance, item.other_length)):
        place = slice(item.passage.start, item.passage.end)
        if len(found) < rows and not taken[place].any():
            taken[place] = True
            found.append(_told(index, wanted, item))
    return found


def _candidates(index: Index, wanted: _Passage, melody: Melody) -> list[tuple[int, int]]:
    """First bar and bar after the last of the passages that are roughly nearest."""
    bars = len(index.movement)
    best = np.full(bars, np.inf)
    length_of = np.zeros(bars, np.int64)
    own = index.work == index.work[wanted.start]
    rough = _slices(index.sums, wanted.start, wanted.end, ROUGH_SLICES)
    weighed = [
        (weight, *_counts(melody, chosen, bars), patterns)
        for weight, chosen, patterns in (
            (MELODY_WEIGHT, melody.interval >= 0, melody.intervals),
            (HEIGHT_WEIGHT, melody.pattern >= 0, melody.patterns),
        )
        if patterns
    ]
    whole = wanted.end - wanted.start
    lengths = {max(1, round(whole * share)) for share in LENGTHS}
    for length in sorted(lengths, key=lambda length: abs(length - whole)):
        starts = bars - length + 1
        if starts <= 0:
            continue
        total = _rough_differences(index.sums, length, rough) + _lengthened(length, whole)
        for weight, begun, ended, patterns in weighed:
            # Patterns that end before the passage's end less those that begin before it.
            inside = np.clip(ended[length:] - begun[:starts], 0, patterns)
            total += weight * (1 - inside / patterns)
        apart = index.movement[:starts] != index.movement[length - 1 :]
        total[apart | own[:starts]] = np.inf
        better = total < best[:starts] - _EQUAL
        best[:starts][better] = total[better]
        length_of[:starts][better] = length
    finalists = np.argsort(best, kind="stable")[:FINALISTS]
    return [(int(at), int(at + length_of[at])) for at in finalists if np.isfinite(best[at])]


def _rough_differences(sums: Reals, length: int, wanted: Reals) -> Reals:
    """Sum over the measures of the mean difference of the slices, for each start."""
    starts = sums.shape[1] - length
    edges = np.linspace(0, length, wanted.shape[1] + 1)
    total = np.zeros(starts)
    for measure, row in enumerate(sums):
        reached = [_at(row, edge, starts) for edge in edges]
        for part, value in enumerate(wanted[measure]):
            mean = (reached[part + 1] - reached[part]) / (edges[part + 1] - edges[part])
            total += np.abs(mean - value)
    return np.asarray(total / wanted.shape[1])


def _at(row: Reals, offset: float, starts: int) -> Reals:
    """The sums reached `offset` bars after each start, within a bar by its part."""
    whole = int(offset)
    part = offset - whole
    if not part:
        return row[whole : whole + starts]
    return row[whole : whole + starts] * (1 - part) + row[whole + 1 : whole + 1 + starts] * part


def _slices(sums: Reals, start: int, end: int, count: int) -> Reals:
    """Means of the measures in parts of equal length of a passage, shape (measures, count)."""
    edges = np.linspace(start, end, count + 1)
    whole = np.minimum(edges.astype(np.int64), sums.shape[1] - 2)
    part = edges - whole
    reached = sums[:, whole] * (1 - part) + sums[:, whole + 1] * part
    return np.asarray(np.diff(reached, axis=1) / np.diff(edges))


def _passage(index: Index, start: int, end: int) -> _Passage:
    return _Passage(start, end, _slices(index.sums, start, end, SLICES))


def _counts(melody: Melody, chosen: Flags, bars: int) -> tuple[Reals, Reals]:
    """How many places of patterns begin, and how many end, before each bar."""
    begun, ended = np.zeros(bars + 1), np.zeros(bars + 1)
    np.cumsum(np.bincount(melody.first[chosen], minlength=bars), out=begun[1:])
    np.cumsum(np.bincount(melody.last[chosen], minlength=bars), out=ended[1:])
    return begun, ended


def _lengthened(length: int, wanted: int) -> float:
    return LENGTH_WEIGHT * abs(math.log2(length / wanted))


def _compared(index: Index, wanted: _Passage, melody: Melody, start: int, end: int) -> _Compared:
    passage = _passage(index, start, end)
    differences = np.abs(passage.slices - wanted.slices).mean(axis=1)
    other_length = abs((end - start) - (wanted.end - wanted.start))
    away = differences.sum() + _lengthened(end - start, wanted.end - wanted.start)
    whole = len(MEASURES) + LENGTH_WEIGHT
    if not melody.patterns:
        distance = round(float(away) / whole, _DECIMALS)
        return _Compared(distance, passage, differences, other_length)
    anywhere, at_pitch = melody.within(start, end)
    away += MELODY_WEIGHT * (1 - anywhere) + HEIGHT_WEIGHT * (1 - at_pitch)
    whole += MELODY_WEIGHT + HEIGHT_WEIGHT
    distance = round(float(away) / whole, _DECIMALS)
    return _Compared(distance, passage, differences, other_length, anywhere, at_pitch)


def _told(index: Index, wanted: _Passage, item: _Compared) -> Row:
    passage, differences = item.passage, item.differences
    mine, theirs = wanted.slices.mean(axis=1), passage.slices.mean(axis=1)
    # What both passages lack says little; of measures that are equally near, those say more of
    # which there is more.
    lacking = (mine == 0) & (theirs == 0)
    nearest = np.lexsort((-mine, differences.round(3), lacking))[:_NEAREST]
    farthest = np.argsort(-differences, kind="stable")[:_FARTHEST]
    first, last = index.printed[passage.start], index.printed[passage.end - 1]

    def values(measure: int) -> str:
        named = MEASURES[measure]
        there, here = (float(named.unscaled(side[measure])) for side in (theirs, mine))
        return f"{named.column} {there:.2f} ({here:.2f}) {named.unit}"

    return {
        "movement_id": index.movement_ids[index.movement[passage.start]],
        "bars": first if passage.end - passage.start == 1 else f"{first}–{last}",
        "distance": item.distance,
        "melody": item.melody,
        "melody_at_pitch": item.melody_at_pitch,
        "nearest": [values(measure) for measure in nearest],
        "farthest": [values(measure) for measure in farthest],
    }
