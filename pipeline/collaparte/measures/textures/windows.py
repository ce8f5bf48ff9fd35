"""The context of a bar: its neighbours, as far as they are near and alike."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Flags, Reals
from collaparte.measures.textures.grid import Grid
from collaparte.schema import TICKS
from collaparte.settings import Settings


@dataclass(frozen=True)
class Windows:
    """Weights of the bars around each bar.

    `weight[b, reach + d]` is what bar b + d counts in the window of bar b.
    """

    reach: int
    weight: Reals

    def sums(self, values: npt.NDArray[Any]) -> Reals:
        """Weighted sums over the window of each bar; shape (bars, …) stays."""
        total = np.zeros(values.shape, np.float64)
        for distance, here, there in self._shifts(len(values)):
            weight = self.weight[here, self.reach + distance]
            total[here] += values[there] * weight.reshape(-1, *[1] * (values.ndim - 1))
        return total

    def unions(self, values: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Unions of bits (or of flags) over the bars that count at all in each window."""
        total = values.copy()
        for distance, here, there in self._shifts(len(values)):
            counts = self.weight[here, self.reach + distance] > 0
            shape = (-1, *[1] * (values.ndim - 1))
            total[here] |= np.where(counts.reshape(shape), values[there], values.dtype.type(0))
        return total

    def _shifts(self, bars: int) -> list[tuple[int, slice, slice]]:
        return [
            (
                distance,
                slice(max(0, -distance), max(0, bars - max(0, distance))),
                slice(max(0, distance), max(0, bars + min(0, distance))),
            )
            for distance in range(-self.reach, self.reach + 1)
        ]


def windows(grid: Grid, present: Flags, settings: Settings) -> Windows:
    """The windows of all bars.

    The bar itself counts 1. The bar at distance d counts `neighbour_weight` × the product of the
    likenesses on the way to it, if d = 1 or the middles of the two bars lie within
    `context_quarters` or `context_seconds` of the tempo in force, whichever is longer; the
    likeness of two neighbouring bars is the number of lines present in
    both ÷ lines present in either (Jaccard), and one under `context_likeness` ends the window.

    Parameters
    ----------
    present
        Shape (bars, lines): lines that count in the bar.
    """
    reach = settings.context_bars
    reached = np.maximum(settings.context_quarters * TICKS, settings.context_seconds * grid.second)
    middle = grid.bar_start + grid.bar_length / 2
    both = (present[1:] & present[:-1]).sum(axis=1)
    either = (present[1:] | present[:-1]).sum(axis=1)
    like = both / np.maximum(either, 1)
    like[like < settings.context_likeness] = 0
    weight = np.zeros((grid.bars, 2 * reach + 1))
    weight[:, reach] = 1
    path = np.ones(grid.bars)
    for distance in range(1, min(reach, grid.bars - 1) + 1):
        # From bar b to bar b + distance.
        path = path[:-1] * like[distance - 1 :]
        near = (distance == 1) | (middle[distance:] - middle[:-distance] <= reached[distance:])
        found = np.where(near, settings.neighbour_weight * path, 0)
        weight[:-distance, reach + distance] = found
        weight[distance:, reach - distance] = found
    return Windows(reach, weight)
