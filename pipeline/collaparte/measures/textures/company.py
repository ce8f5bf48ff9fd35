"""The company of a line: the lines of the bar that it goes with, each by a degree.

A layer is a yes or no, and turns over at the least change of a note or a threshold. So what is
counted and added up in a bar rests on companies. Where the degrees are those of layers, 1 within
and 0 between, the company of a line is its layer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.degrees import rising
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import LineMeasures
from collaparte.measures.textures.pairs import PairMeasures, present_pairs
from collaparte.settings import Settings


def companies(lines: LineMeasures, pairs: PairMeasures, settings: Settings) -> Reals:
    """How far each line goes with each other; shape (bars, lines, lines), 1 with itself.

    1 up to a `loose_distance` of `company_near`, 0 from `company_far` on and a straight line
    between; or as far as the two are on one line of pitches, if that is more.
    """
    alike = rising(-pairs.loose_distance, -settings.company_far, -settings.company_near)
    return _with_itself(np.maximum(alike, pairs.one_line), lines.present)


def companies_of_layers(layers: Layers, present: Flags) -> Reals:
    """1 for two lines of one layer, 0 for others; shape (bars, lines, lines)."""
    layer = np.full(present.shape, -1)
    layer[layers.bar, layers.line] = layers.layer
    return _with_itself((layer[:, :, None] == layer[:, None, :]).astype(np.float64), present)


def _with_itself(alike: Reals, present: Flags) -> Reals:
    alike = np.where(present_pairs(present), alike, 0.0)
    line = np.arange(present.shape[1])
    alike[:, line, line] = present
    return alike


@dataclass(frozen=True)
class CompanyMeasures:
    """Measures of the company of each line, each of shape (bars, lines) unless told.

    "Of the line that has most": the greatest value × degree.
    """

    alike: Reals
    """Shape (bars, lines, lines), as made by `companies`."""
    lines: Reals
    """How many lines it has: the degrees added up."""
    share: Reals
    """Part of the line in the bar by roots of part-time: (own sounding time ÷ √part-time of its
    company) ÷ the sum of these over the bar. A layer has √part-time ÷ the sum of the roots."""
    part_time: Reals
    """Own sounding time ÷ that of all lines of the bar."""
    kinds: Reals
    """Shape (bars, lines, kinds): degrees of kinds, means over its sounding time."""
    moves: Reals
    sounding: Reals
    notes: Reals
    """Of the line that has most."""
    leaps: Reals
    kept_rhythm: Reals
    """Means of its lines."""
    one_class: Flags
    """One pitch class sounds in the window in the lines that go with it by half or more."""
    lowest: Reals
    """Time in which one of its lines is the lowest ÷ the most of the bar; 0 to 1."""
    low_pitch: Reals
    """Mean bottom pitch of the lowest of the lines that go with it by half or more."""


def measure_companies(lines: LineMeasures, alike: Reals) -> CompanyMeasures:
    """The measures of the companies of all lines."""
    # A line that only begins in the bar sounds for a moment.
    ticks = np.where(lines.present, np.maximum(lines.ticks, 1), 0).astype(np.float64)
    near = alike >= 0.5

    def added(values: Reals) -> Reals:
        return evened(np.einsum("bij,bj->bi", alike, values))

    def most(values: Reals) -> Reals:
        return np.asarray((alike * values[:, None, :]).max(axis=2, initial=0), np.float64)

    count = added(lines.present.astype(np.float64))
    part_time = added(ticks)
    root = ratio(ticks, np.sqrt(part_time))
    time_lowest = added(lines.lowest)
    low_pitch = np.where(np.isnan(lines.low_pitch), np.inf, lines.low_pitch)
    return CompanyMeasures(
        alike=alike,
        lines=count,
        share=evened(ratio(root, root.sum(axis=1, keepdims=True))),
        part_time=ratio(ticks, ticks.sum(axis=1, keepdims=True)),
        kinds=evened(
            ratio(np.einsum("bij,bj,bjk->bik", alike, ticks, lines.kinds), part_time[:, :, None])
        ),
        moves=most(lines.moves),
        sounding=most(lines.sounding),
        notes=most(lines.notes),
        leaps=ratio(added(lines.leaps), count),
        kept_rhythm=ratio(added(lines.kept_rhythm), count),
        one_class=np.bitwise_count(_classes(lines, near)) <= 1,
        lowest=ratio(time_lowest, time_lowest.max(axis=1, keepdims=True, initial=0)),
        low_pitch=np.where(near, low_pitch[:, None, :], np.inf).min(axis=2, initial=np.inf),
    )


def evened(values: Reals) -> Reals:
    """The values to twelve places: a silent line more or less changes the order of adding up."""
    return np.asarray(np.round(values, 12), np.float64)


def _classes(lines: LineMeasures, near: Flags) -> Ints:
    classes = np.where(near, lines.classes.astype(np.int64)[:, None, :], 0)
    return np.asarray(np.bitwise_or.reduce(classes, axis=2), np.int64)
