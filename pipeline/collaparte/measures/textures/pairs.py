"""How far two lines are apart in a bar, and how they go together, over the bar's window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.degrees import reaching, rising
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.imitation import imitation
from collaparte.measures.textures.lines import (
    CHORDS,
    FIGURED,
    LINE,
    REPEATED,
    SUSTAINED,
    LineMeasures,
)
from collaparte.measures.textures.themes import NoteGroups
from collaparte.measures.textures.windows import Windows
from collaparte.schema import TICKS
from collaparte.settings import Settings

_CELLS = 1 << 22
"""Pairs × stretches that are compared at once."""
_STROKES = 4
"""Onsets a quarter that two tremolos have in common."""


@dataclass(frozen=True)
class PairMeasures:
    """Measures of two lines, each of shape (bars, lines, lines) and symmetric; 0 to 1.

    On the diagonal stands nothing that means anything.
    """

    rhythm: Reals
    """R = onsets in common ÷ onsets of either while the other sounds. Silence counts in T alone, so
    that a missing note does not count twice. A tremolo counts as it is written; but two tremolos
    have four onsets a quarter in common while both sound, and any repeated note meets one of a
    tremolo."""
    pitch: Reals
    """P = (time with the same pitch class ÷ sounding time of the sparser) × (onsets in common ÷
    onsets of the sparser); or the share of the sparser's notes that begin with a note of the same
    pitch class in the other, as far as that reaches `pitch_line_share` and the sparser has
    `met_notes` (one less does not count): it has the main notes of the other. Highest and lowest
    notes count as the line's pitches. 0 unless at least two different pitch classes match and
    both lines move."""
    together: Reals
    """T = time in which both sound ÷ time in which either sounds."""
    contrary: Reals
    """Onsets at which the two move in opposite directions ÷ onsets at which both move."""
    imitation: Reals
    """I = groups of notes of either that the other imitates ÷ groups of both (`imitation`)."""
    distance: Reals
    """1 − max(R · T − w · contrary · (1 − R), P), w = `contrary_weight` as far as both lines are
    melodic; as far as they are, the first argument counts × (1 − I), and as far as one is a figure
    and the other a line, × `figure_weight`. Melodic are lines of the kinds `line` and `repeated`
    (many a subject repeats notes) that move `counter_moves` a bar or more. At most `held_distance`
    as far as both lines are sustained and T reaches `held_together`, or as far as they complement
    each other (`_complementary`). Layers are made by it."""
    loose_distance: Reals
    """The same with √T for T: a line that drops out now and then is not so far. Companies are made
    by it, so that a missing note moves them less."""
    one_line: Reals
    """How far the two are on one line of pitches: the least of the degrees by which P reaches
    `pitch_line_share` (or the sparser has the main notes of the other), the calmer line moves
    `lead_moves` a bar, and it has `pitch_line_moves_share` of the moves of the other."""


def measure_pairs(
    grid: Grid, lines: LineMeasures, groups: NoteGroups, around: Windows, settings: Settings
) -> PairMeasures:
    """The measures of all pairs of lines."""
    a, b = np.triu_indices(grid.lines, 1)
    sums = _compared(grid, around, a, b)
    begun = around.sums(grid.sums(grid.begins))
    time = around.sums(lines.ticks)
    strokes = sums["strokes"] * (_STROKES / TICKS)
    common = sums["common"] + sums["stroked"] + strokes
    rhythm = np.minimum(ratio(common, sums["onsets"] - sums["common"] + strokes), 1)
    pitch = ratio(sums["same"], np.minimum(time[:, a], time[:, b])) * ratio(
        sums["common"], np.minimum(begun[:, a], begun[:, b])
    )
    moving = lines.moves > 0
    matched = np.bitwise_count(sums["classes"].astype(np.int16)) >= 2
    sparser = np.minimum(begun[:, a], begun[:, b])
    met = ratio(sums["met"], sparser)
    spread = settings.degree_spread
    main = np.minimum(
        reaching(met, settings.pitch_line_share, spread, most=1),
        rising(sparser, settings.met_notes - 1, settings.met_notes),
    )
    free = matched & moving[:, a] & moving[:, b]
    pitch = np.where(free, np.minimum(np.maximum(pitch, main * met), 1), 0)
    alike = np.maximum(reaching(pitch, settings.pitch_line_share, spread, most=1), main * free)
    together = ratio(sums["both"], time[:, a] + time[:, b] - sums["both"])
    contrary = ratio(sums["against"], sums["against"] + sums["along"])
    imitated = imitation(grid, groups, around, a, b, settings)
    held = lines.kinds[:, :, SUSTAINED]
    chord = held[:, a] * held[:, b]
    chord *= reaching(together, settings.held_together, spread)
    near = np.maximum(chord, _complementary(lines, together, a, b, settings))

    def apart(together: Reals) -> Reals:
        common = rhythm * together
        likeness = _likeness(lines, common, rhythm, contrary, imitated, a, b, settings)
        distance = 1 - np.maximum(np.maximum(likeness, pitch), 0)
        distance -= near * np.maximum(distance - settings.held_distance, 0)
        return np.asarray(distance, np.float64)

    return PairMeasures(
        *(
            _square(values, grid.lines)
            for values in (
                rhythm, pitch, together, contrary, imitated,
                apart(together), apart(np.sqrt(together)),
                _on_one_line(lines, alike, a, b, settings),
            )
        )
    )  # fmt: skip


def _likeness(
    lines: LineMeasures,
    common: Reals,
    rhythm: Reals,
    contrary: Reals,
    imitated: Reals,
    a: Ints,
    b: Ints,
    settings: Settings,
) -> Reals:
    """What common rhythm says for one layer, less contrary motion, imitation, unlike kinds.

    Parameters
    ----------
    common
        R · T, or R · √T.
    """
    line, figure = lines.kinds[:, :, LINE], lines.kinds[:, :, FIGURED]
    sings = line + lines.kinds[:, :, REPEATED]
    sings = sings * reaching(lines.moves, settings.counter_moves, settings.degree_spread)
    melodic = sings[:, a] * sings[:, b]
    likeness = common - settings.contrary_weight * melodic * contrary * (1 - rhythm)
    likeness *= 1 - melodic * imitated
    mixed = figure[:, a] * line[:, b] + figure[:, b] * line[:, a]
    likeness *= 1 - (1 - settings.figure_weight) * mixed
    return likeness


def _complementary(
    lines: LineMeasures, together: Reals, a: Ints, b: Ints, settings: Settings
) -> Reals:
    """How far pairs are such as bass and after-beat: background of kept rhythm, by turns.

    Both keep their rhythm to `kept_rhythm_share`, are no melodic or sustained line, and sound
    together for at most `turns_together` of the time in which either sounds.
    """
    spread = settings.degree_spread
    steady = reaching(lines.kept_rhythm, settings.kept_rhythm_share, spread, most=1)
    steady *= lines.kinds[:, :, (REPEATED, FIGURED, CHORDS)].sum(axis=2)
    return steady[:, a] * steady[:, b] * (1 - reaching(together, settings.turns_together, spread))


def _on_one_line(lines: LineMeasures, alike: Reals, a: Ints, b: Ints, settings: Settings) -> Reals:
    spread = settings.degree_spread
    fewer = np.minimum(lines.moves[:, a], lines.moves[:, b])
    more = np.maximum(lines.moves[:, a], lines.moves[:, b])
    degrees = (
        alike,
        reaching(fewer, settings.lead_moves, spread),
        reaching(fewer, settings.pitch_line_moves_share * more, spread),
    )
    return np.asarray(np.minimum.reduce(degrees), np.float64)


def _compared(grid: Grid, around: Windows, a: Ints, b: Ints) -> dict[str, Reals]:
    """Sums over the windows for every pair; (bars, pairs).

    common, met, stroked: onsets at once; those on one pitch class; repeated notes within a
    tremolo of the other. onsets: those of either line while the other sounds, added up. same,
    both, strokes: ticks on one pitch class, ticks of both, ticks of both in tremolo. against,
    along: joint moves in opposite directions, in one. classes: pitch classes that match, as bits.
    """
    outer = np.where(
        grid.sounds, np.left_shift(1, grid.top % 12) | np.left_shift(1, grid.bottom % 12), 0
    ).astype(np.int16)
    sounds, begins, length, way = grid.sounds, grid.begins, grid.length[:, None], grid.way
    inside, again = grid.tremolo & ~grid.begins, grid.reiterates & ~grid.tremolo
    names = (
        "common", "met", "stroked", "onsets", "same", "both", "strokes", "against", "along",
        "classes",
    )  # fmt: skip
    found = {name: np.zeros((grid.bars, len(a))) for name in names}
    for pairs in _blocks(len(a), len(grid.length)):
        one, two = a[pairs], b[pairs]
        match = outer[:, one] & outer[:, two]
        turn = way[:, one] * way[:, two]
        common = begins[:, one] & begins[:, two]
        values = {
            "common": common,
            "met": common & (match != 0),
            "stroked": (again[:, one] & inside[:, two]) | (again[:, two] & inside[:, one]),
            "onsets": (begins[:, one] & sounds[:, two]).astype(np.int8)
            + (begins[:, two] & sounds[:, one]),
            "same": (match != 0) * length,
            "both": (sounds[:, one] & sounds[:, two]) * length,
            "strokes": (grid.tremolo[:, one] & grid.tremolo[:, two]) * length,
            "against": turn < 0,
            "along": turn > 0,
        }
        for name, value in values.items():
            found[name][:, pairs] = around.sums(grid.sums(value))
        found["classes"][:, pairs] = around.unions(grid.unions(match))
    return found


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
