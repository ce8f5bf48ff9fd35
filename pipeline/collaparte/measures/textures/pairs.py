"""How far two lines are apart in a bar, and how they go together, over the bar's window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.lines import SUSTAINED, LineMeasures
from collaparte.measures.textures.windows import Windows
from collaparte.settings import Settings

_CELLS = 1 << 22
"""Pairs × stretches that are compared at once."""


@dataclass(frozen=True)
class PairMeasures:
    """Measures of two lines, each of shape (bars, lines, lines) and symmetric; 0 to 1.

    On the diagonal stands nothing that means anything.
    """

    rhythm: Reals
    """R = onsets in common ÷ onsets of either."""
    pitch: Reals
    """P = (time with the same pitch class ÷ sounding time of the sparser) × (onsets in common ÷
    onsets of the sparser). Highest and lowest notes count as the line's pitches. 0 unless at
    least two different pitch classes match and both lines move."""
    distance: Reals
    """1 − max(R, P); at most `held_distance` between two sustained lines."""


def measure_pairs(
    grid: Grid, lines: LineMeasures, around: Windows, settings: Settings
) -> PairMeasures:
    """The measures of all pairs of lines."""
    a, b = np.triu_indices(grid.lines, 1)
    common, same_time, classes = _compared(grid, a, b)
    onsets = around.sums(grid.sums(grid.begins))
    time = around.sums(lines.ticks)
    common_sum = around.sums(common)
    either = onsets[:, a] + onsets[:, b] - common_sum
    rhythm = ratio(common_sum, either)
    pitch = ratio(around.sums(same_time), np.minimum(time[:, a], time[:, b])) * ratio(
        common_sum, np.minimum(onsets[:, a], onsets[:, b])
    )
    moving = lines.moves > 0
    matched = np.bitwise_count(around.unions(classes)) >= 2
    pitch = np.where(matched & moving[:, a] & moving[:, b], np.minimum(pitch, 1), 0)
    distance = 1 - np.maximum(rhythm, pitch)
    held = lines.kind == SUSTAINED
    distance = np.where(
        held[:, a] & held[:, b], np.minimum(distance, settings.held_distance), distance
    )
    return PairMeasures(*(_square(values, grid.lines) for values in (rhythm, pitch, distance)))


def _compared(grid: Grid, a: Ints, b: Ints) -> tuple[Ints, Ints, npt.NDArray[np.int16]]:
    """Onsets in common, time on the same pitch class, and which classes match; (bars, pairs)."""
    outer = np.where(
        grid.sounds,
        np.left_shift(1, grid.top % 12) | np.left_shift(1, grid.bottom % 12),
        0,
    ).astype(np.int16)
    shape = (grid.bars, len(a))
    common, same = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    classes = np.zeros(shape, np.int16)
    for pairs in _blocks(len(a), len(grid.length)):
        one, two = a[pairs], b[pairs]
        match = outer[:, one] & outer[:, two]
        common[:, pairs] = grid.sums(grid.begins[:, one] & grid.begins[:, two])
        same[:, pairs] = grid.sums((match != 0) * grid.length[:, None])
        classes[:, pairs] = grid.unions(match)
    return common, same, classes


def _blocks(pairs: int, stretches: int) -> Iterator[slice]:
    size = max(1, _CELLS // max(stretches, 1))
    return (slice(first, first + size) for first in range(0, pairs, size))


def _square(values: Reals, lines: int) -> Reals:
    square = np.zeros((len(values), lines, lines))
    square[:, *np.triu_indices(lines, 1)] = values
    return square + square.transpose(0, 2, 1)


def present_pairs(present: Flags) -> Flags:
    """Pairs of lines that are both present; shape (bars, lines, lines)."""
    return present[:, :, None] & present[:, None, :]
