"""Layers: which lines of a bar move together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.linkage import average_link, single_link
from collaparte.measures.textures.lines import LineMeasures
from collaparte.measures.textures.pairs import PairMeasures, present_pairs
from collaparte.settings import Settings


@dataclass(frozen=True)
class Layers:
    """One row a line present in a bar, by bar, then line; layers count through the movement."""

    bar: Ints
    line: Ints
    layer: Ints
    """Layer of each row, from 0, in order of bars and of the layer's highest line in the score."""
    pitch_line: Ints
    """Which lines of the layer are on one line of pitches: number within the layer, from 0."""
    bar_of: Ints
    """Shape (layers,): bar of each layer."""
    bars: int

    def __len__(self) -> int:
        return len(self.bar)

    @property
    def number(self) -> Ints:
        """Shape (layers,): number of each layer within its bar, from 0."""
        return np.arange(len(self.bar_of)) - np.searchsorted(self.bar_of, self.bar_of)

    @property
    def in_bar(self) -> Ints:
        """Shape (bars,): layers of each bar."""
        return np.bincount(self.bar_of, minlength=self.bars)

    def rows(self, values: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """The values of the rows, from shape (bars, lines)."""
        return values[self.bar, self.line]

    def of_layers(self, values: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """The values of the first line of each layer, from shape (bars, lines, …)."""
        _, first = np.unique(self.layer, return_index=True)
        return values[self.bar[first], self.line[first]]

    def sums(self, values: npt.NDArray[Any]) -> Reals:
        """Sums over the rows of each layer; shape (layers,)."""
        return np.bincount(
            self.layer, values.astype(np.float64), minlength=len(self.bar_of)
        ).astype(np.float64)

    def means(self, values: npt.NDArray[Any]) -> Reals:
        """Means over the rows of each layer; shape (layers,)."""
        return self.sums(values) / np.maximum(self.sums(np.ones(len(self))), 1)

    def most(self, values: Reals) -> Reals:
        """Greatest values among the rows of each layer; shape (layers,)."""
        result = np.full(len(self.bar_of), -np.inf)
        np.maximum.at(result, self.layer, values)
        return result

    def most_of_bar(self, values: Reals) -> Reals:
        """For each row the greatest value among the rows of its bar."""
        result = np.full(self.bars, -np.inf)
        np.maximum.at(result, self.bar, values)
        return result[self.bar]


def find_layers(lines: LineMeasures, pairs: PairMeasures, settings: Settings) -> Layers:
    """The layers of every bar.

    Lines are on one line of pitches where they hang together (single link) by pairs that are so
    by half at least (`PairMeasures.one_line`); these are joined first. Then all are joined by
    average link on the distance of lines up to `layer_cut`.
    """
    bars, count = lines.present.shape
    both = present_pairs(lines.present)
    on_one_line = single_link(both & (pairs.one_line >= 0.5))
    same_line = (on_one_line[:, :, None] == on_one_line[:, None, :]) & both
    # Below all distances, so that lines of pitches are joined before anything else.
    distance = np.where(same_line, -1, pairs.distance)
    label = average_link(distance, lines.present, settings.layer_cut)
    bar, line = np.nonzero(lines.present)
    keys, layer = np.unique(bar * count + label[bar, line], return_inverse=True)
    groups, group = np.unique(layer * count + on_one_line[bar, line], return_inverse=True)
    first = np.searchsorted(groups // max(count, 1), np.arange(len(keys)))
    return Layers(
        bar=bar,
        line=line,
        layer=layer,
        pitch_line=group - first[layer],
        bar_of=keys // max(count, 1),
        bars=bars,
    )
