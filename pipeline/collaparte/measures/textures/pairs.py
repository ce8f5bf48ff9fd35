"""How far two lines are apart in a bar, and how they go together, over the bar's window."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.imitation import imitation
from collaparte.measures.textures.lines import FIGURED, LINE, REPEATED, SUSTAINED, LineMeasures
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
    pitch class in the other, if that is `pitch_line_share` and the sparser has `met_notes`: it
    has the main notes of the other. Highest and lowest notes count as the line's pitches. 0
    unless at least two different pitch classes match and both lines move."""
    together: Reals
    """T = time in which both sound ÷ time in which either sounds."""
    contrary: Reals
    """Onsets at which the two move in opposite directions ÷ onsets at which both move."""
    imitation: Reals
    """I = groups of notes of either that the other imitates ÷ groups of both (`imitation`)."""
    distance: Reals
    """1 − max(R · T − w · contrary · (1 − R), P), w = `contrary_weight` between two melodic
    lines and 0 elsewhere; between these the first argument counts × (1 − I), between a figure and
    a line × `figure_weight`. Melodic are lines of the kinds `line` and `repeated` (many a subject
    repeats notes) that move `counter_moves` a bar or more. At most `held_distance` between two
    sustained lines with T of at least `held_together`, and between two that complement each other
    (`_complementary`)."""


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
    main = (met >= settings.pitch_line_share) & (sparser >= settings.met_notes)
    pitch = np.where(main, np.maximum(pitch, met), pitch)
    pitch = np.where(matched & moving[:, a] & moving[:, b], np.minimum(pitch, 1), 0)
    together = ratio(sums["both"], time[:, a] + time[:, b] - sums["both"])
    contrary = ratio(sums["against"], sums["against"] + sums["along"])
    sings = np.isin(lines.kind, (LINE, REPEATED)) & (lines.moves >= settings.counter_moves)
    melodic = sings[:, a] & sings[:, b]
    imitated = imitation(grid, groups, around, a, b, settings)
    likeness = rhythm * together
    likeness -= settings.contrary_weight * melodic * contrary * (1 - rhythm)
    likeness *= 1 - melodic * imitated
    figure = lines.kind == FIGURED
    mixed = (figure[:, a] & (lines.kind[:, b] == LINE)) | (
        figure[:, b] & (lines.kind[:, a] == LINE)
    )
    likeness = np.where(mixed, settings.figure_weight * likeness, likeness)
    distance = 1 - np.maximum(np.maximum(likeness, pitch), 0)
    held = lines.kind == SUSTAINED
    chord = held[:, a] & held[:, b] & (together >= settings.held_together)
    near = chord | _complementary(lines, together, a, b, settings)
    distance = np.where(near, np.minimum(distance, settings.held_distance), distance)
    return PairMeasures(
        *(
            _square(values, grid.lines)
            for values in (rhythm, pitch, together, contrary, imitated, distance)
        )
    )


def _complementary(
    lines: LineMeasures, together: Reals, a: Ints, b: Ints, settings: Settings
) -> Flags:
    """Pairs such as bass and after-beat: background of kept rhythm that sounds by turns.

    Both keep their rhythm in `kept_rhythm_share` of the bars, are no melodic or sustained line,
    and sound together for at most `turns_together` of the time in which either sounds.
    """
    steady = (lines.kept_rhythm >= settings.kept_rhythm_share) & ~np.isin(
        lines.kind, (LINE, SUSTAINED)
    )
    return steady[:, a] & steady[:, b] & (together <= settings.turns_together)


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
