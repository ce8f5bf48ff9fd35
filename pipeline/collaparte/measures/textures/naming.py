"""Textures of bars: six measures, the nearest centre, passages, a word of the handbooks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.degrees import reaching
from collaparte.kernels.paths import cheapest_path
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.company import CompanyMeasures, evened
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.layers import Layers
from collaparte.measures.textures.roles import (
    COUNTER,
    FIGURATION,
    HARMONY,
    LEAD,
    PEDAL,
    REPEATED_NOTES,
    RoleDegrees,
)
from collaparte.reference.rows import TextureCentre
from collaparte.settings import Settings

MEASURES = ("concentration", "one_pitch_class", "lines", "sustained", "repeated", "figured")
TRAITS = ("one_layer", "one_pitch_class", "lines", "sustained", "repeated", "figured")
"""What `traits` gives, in this order; the columns of the centres."""
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


def six_measures(
    grid: Grid, layers: Layers, measures: CompanyMeasures, roles: RoleDegrees
) -> Reals:
    """The six measures of each bar, shape (bars, 6), in the order of `MEASURES`; all 0 to 1.

    With s = the share of a line by roots of part-time (`CompanyMeasures.share`), so that a layer
    has √part-time ÷ the sum of these roots over the layers of the bar, and Σ over its lines:

    - concentration: Σ s × s of its company; 1 for one layer, 1/n for n equal ones
    - one_pitch_class: share of the bar's sounding time in which one pitch class sounds, in at
      least two lines unless the bar has one layer
    - lines: Σ (how far it leads or is a countermelody ÷ lines of its company), so that a layer
      counts one; three at most, ÷ 3
    - sustained, repeated, figured: Σ s × how far it is sustained harmony or a held pedal point,
      repeated notes, figuration; a pedal point that is struck counts as repeated notes with its
      share of part-time alone, so that one drum under a full block leaves it a block
    """
    share, degrees = measures.share, roles.degrees
    theirs = np.einsum("bij,bj->bi", measures.alike, share)
    singing = ratio(degrees[:, :, (LEAD, COUNTER)].sum(axis=2), measures.lines).sum(axis=1)
    held = degrees[:, :, HARMONY] + degrees[:, :, PEDAL] - roles.struck
    repeated = share * degrees[:, :, REPEATED_NOTES] + measures.part_time * roles.struck
    six = np.stack(
        [
            (share * theirs).sum(axis=1),
            _one_pitch_class(grid, layers),
            np.minimum(singing, _MOST_LINES) / _MOST_LINES,
            (share * held).sum(axis=1),
            repeated.sum(axis=1),
            (share * degrees[:, :, FIGURATION]).sum(axis=1),
        ],
        axis=1,
    )
    return np.minimum(evened(six), 1)


def _one_pitch_class(grid: Grid, layers: Layers) -> Reals:
    classes = np.bitwise_or.reduce(grid.classes, axis=1)
    together = (grid.sounds.sum(axis=1) >= 2) | (layers.in_bar == 1)[grid.bar]
    alone = grid.sums((np.bitwise_count(classes) == 1) * together * grid.length)
    sounding = grid.sums((classes != 0) * grid.length)
    return ratio(alone, sounding)


def traits(six: Reals, settings: Settings) -> Reals:
    """How the six measures mark a texture, shape (bars, 6), in the order of `TRAITS`; 0 to 1.

    Between the values that mark one texture and those that mark another there is little to tell,
    so each measure goes from nothing to all about one value, as degrees do (`degree_spread`).

    - one layer: 2/3 × how far `concentration` reaches `trait_one_layer`
    - one pitch class: how far `one_pitch_class` reaches `trait_one_pitch_class`
    - lines: 1/3 × how far what is there of a second line reaches `trait_second_line`, and of a
      third `trait_third_line`
    - sustained, repeated, figured: 1/2 × how far their sum reaches `trait_background`, divided as
      their squares are to each other, and as far as there is no second line: it is what lies
      behind one melody that tells textures apart

    Parameters
    ----------
    six
        Shape (bars, 6), as `six_measures` gives them.
    """

    def reached(values: Reals, threshold: float) -> Reals:
        return reaching(values, threshold, settings.degree_spread, most=1)

    lines = six[:, 2] * _MOST_LINES
    second = reached(lines - 1, settings.trait_second_line)
    third = reached(lines - 2, settings.trait_third_line)
    behind = six[:, 3:]
    squares = behind**2
    behind_one = reached(behind.sum(axis=1), settings.trait_background) * (1 - second)
    return np.column_stack(
        [
            2 / 3 * reached(six[:, 0], settings.trait_one_layer),
            reached(six[:, 1], settings.trait_one_pitch_class),
            (second + third) / _MOST_LINES,
            behind_one[:, None] / 2 * ratio(squares, squares.sum(axis=1, keepdims=True)),
        ]
    )


def name_textures(
    marked: Reals, sounds: Flags, centres: Sequence[TextureCentre], settings: Settings
) -> Named:
    """The nearest of the frozen centres (Euclid), the next, the margin and the passages.

    Parameters
    ----------
    marked
        Shape (bars, 6), as `traits` gives them.
    sounds
        Shape (bars,): bars that have a layer; the others cost nothing in any passage.
    """
    places = np.array([centre.traits for centre in centres])
    distance = np.sqrt(((marked[:, None, :] - places) ** 2).sum(axis=2))
    order = np.argsort(distance, axis=1, kind="stable")
    bars = np.arange(len(marked))
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
