"""Textures of bars: six measures, the nearest centre, passages, a word of the handbooks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.paths import cheapest_path
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.lines import FIGURED, REPEATED, SUSTAINED
from collaparte.measures.textures.roles import (
    COUNTER,
    FIGURATION,
    HARMONY,
    LEAD,
    PEDAL,
    REPEATED_NOTES,
    LayerMeasures,
    struck_pedals,
)
from collaparte.reference.rows import TextureCentre
from collaparte.settings import Settings

MEASURES = ("concentration", "one_pitch_class", "lines", "sustained", "repeated", "figured")
_MOST_LINES = 3
HANDBOOK_WORDS = (
    "one line",
    "block chords",
    "background alone",
    "melody with accompaniment",
    "melody, countermelody and accompaniment",
    "several lines with accompaniment",
    "part writing",
)


@dataclass(frozen=True)
class Named:
    """The textures of all bars, each of shape (bars,); without meaning where nothing sounds."""

    texture: Ints
    next_texture: Ints
    """Nearest and second nearest centre."""
    margin: Reals
    """(d2 − d1) ÷ (d2 + d1) of their distances; 0 (between the two) to 1."""
    passage_texture: Ints
    """Texture by the cheapest path through the distances, `passage_change_cost` a change."""


def six_measures(grid: Grid, layers: Layers, measures: LayerMeasures, roles: Ints) -> Reals:
    """The six measures of each bar, shape (bars, 6), in the order of `MEASURES`; all 0 to 1.

    With s = √(part-time of a layer) ÷ the sum of these roots over the layers of the bar:

    - concentration: Σ s²; 1 for one layer, 1/n for n equal ones
    - one_pitch_class: share of the bar's sounding time in which one pitch class sounds, in at
      least two lines unless the bar has one layer
    - lines: layers that lead or are countermelodies, three at most, ÷ 3
    - sustained, repeated, figured: Σ s over sustained harmony and held pedal points, over
      repeated notes, over figuration, where the s of a layer is divided as the sounding time of
      its sustained, repeated and figured lines; a pedal point that is struck counts as repeated
      notes with its share of part-time alone, so that one drum under a full block leaves it a
      block
    """
    part = np.sqrt(measures.ticks)
    total = np.bincount(layers.bar_of, part, minlength=grid.bars)
    share = part / np.maximum(total[layers.bar_of], 1e-9)

    in_bar = np.bincount(layers.bar_of, measures.ticks, minlength=grid.bars)
    part_time = measures.ticks / np.maximum(in_bar[layers.bar_of], 1)
    struck = struck_pedals(roles, measures)

    def added(values: Reals) -> Reals:
        return np.bincount(layers.bar_of, values, minlength=grid.bars).astype(np.float64)

    background = share[:, None] * _divided(roles, measures, struck)
    singing = added(np.isin(roles, (LEAD, COUNTER)).astype(np.float64))
    return np.stack(
        [
            added(share**2),
            _one_pitch_class(grid, layers),
            np.minimum(singing, _MOST_LINES) / _MOST_LINES,
            added(background[:, 0]),
            added(background[:, 1] + part_time * struck),
            added(background[:, 2]),
        ],
        axis=1,
    )


def _divided(roles: Ints, measures: LayerMeasures, struck: Flags) -> Reals:
    """Shares of sustained, repeated and figured in each layer; (layers, 3), 0 if no background.

    Figuration of leaping lines has no figured line and is whole.
    """
    whole = np.stack(
        [
            np.isin(roles, (HARMONY, PEDAL)) & ~struck,
            roles == REPEATED_NOTES,
            roles == FIGURATION,
        ],
        axis=1,
    ).astype(np.float64)
    mixed = np.isin(roles, (HARMONY, REPEATED_NOTES, FIGURATION))
    parts = measures.kinds[:, (SUSTAINED, REPEATED, FIGURED)]
    time = parts.sum(axis=1, keepdims=True)
    return np.where(mixed[:, None] & (time > 0), parts / np.maximum(time, 1e-9), whole)


def _one_pitch_class(grid: Grid, layers: Layers) -> Reals:
    classes = np.bitwise_or.reduce(grid.classes, axis=1)
    together = (grid.sounds.sum(axis=1) >= 2) | (layers.in_bar == 1)[grid.bar]
    alone = grid.sums((np.bitwise_count(classes) == 1) * together * grid.length)
    sounding = grid.sums((classes != 0) * grid.length)
    return alone / np.maximum(sounding, 1)


def name_textures(
    six: Reals, sounds: Flags, centres: Sequence[TextureCentre], settings: Settings
) -> Named:
    """The nearest of the frozen centres (Euclid), the next, the margin and the passages.

    Parameters
    ----------
    sounds
        Shape (bars,): bars that have a layer; the others cost nothing in any passage.
    """
    places = np.array([centre.measures for centre in centres])
    distance = np.sqrt(((six[:, None, :] - places) ** 2).sum(axis=2))
    order = np.argsort(distance, axis=1, kind="stable")
    bars = np.arange(len(six))
    first, second = distance[bars, order[:, 0]], distance[bars, order[:, 1]]
    return Named(
        texture=order[:, 0],
        next_texture=order[:, 1],
        margin=(second - first) / np.maximum(second + first, 1e-9),
        passage_texture=cheapest_path(
            np.where(sounds[:, None], distance, 0), settings.passage_change_cost
        ),
    )


def handbook_words(layers: Layers, roles: Ints, one_pitch_class: Reals, settings: Settings) -> Ints:
    """A word for reading, by rule from the roles: number in `HANDBOOK_WORDS`; shape (bars,).

    After the kinds of texture of Piston 1955 (from memory). One line: one pitch class sounds for
    `one_line_share` of the bar; block chords: one layer; background alone: nothing leads and no
    countermelody; then by the number of lines and whether anything accompanies them.
    """
    lines = np.bincount(layers.bar_of[roles == LEAD], minlength=layers.bars)
    lines += np.bincount(layers.bar_of[roles == COUNTER], minlength=layers.bars)
    accompanied = layers.in_bar > lines
    return np.select(
        [
            one_pitch_class >= settings.one_line_share,
            layers.in_bar == 1,
            lines == 0,
            accompanied & (lines == 1),
            accompanied & (lines == 2),
            accompanied,
        ],
        range(len(HANDBOOK_WORDS) - 1),
        len(HANDBOOK_WORDS) - 1,
    ).astype(np.int64)
