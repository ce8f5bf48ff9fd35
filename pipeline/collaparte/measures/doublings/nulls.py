"""Two null models: what shared metre, form and harmony give by themselves.

A null draw is an altered copy of all notes of a movement. In every pair of lines the upper one
stays as it is and the lower one is taken from the copy, so that one draw serves all pairs; the
expectation of a pair is that of a draw of its own, since it depends on that pair alone.

- `shift`: the copy runs ahead by the length of a random number of bars, at least
  `shift_margin_bars` from either end, what is left over at the beginning following the end. All
  lines are shifted alike, so that chords stay chords, and the partners of a line keep what they
  have in common when their doublings are united.
- `harmony`: onset and length stay; each pitch of a line in a bar is drawn anew, in the octave
  nearest to the old one, from the pitch classes that sound in the bar over the whole score, a
  class as likely as notes have it. What repeats a pitch within the bar repeats the new one, so
  that repeated notes stay part of the rhythm. (Both readings give chance more than their
  opposites do, classes alike or every note for itself: measured on 22 movements, 4.8% against
  1.0% of the doubled time of the inclusive thresholds.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pyarrow as pa

from collaparte.kernels.arrays import Ints
from collaparte.kernels.joins import positions_within
from collaparte.kernels.ranks import groups
from collaparte.kernels.seeds import generator
from collaparte.measures.doublings.melody import UNSPELLED, Sounds

SHIFT, HARMONY = "shift", "harmony"

_OCTAVE = 1200
_STEPS = 7


@dataclass(frozen=True)
class Shifts:
    """The shifts that a movement allows, in ticks, and the length of the circle they turn on."""

    ticks: Ints
    circle: int


def shifts(bars: pa.Table, margin: int) -> Shifts:
    """All shifts of a movement; none where it has no more than twice `margin` bars.

    Bars that complete each other count as one. Shifts and circle are whole multiples of the
    most frequent length of a bar, so that an upbeat does not set the copy off its beats.
    """
    first = np.flatnonzero(np.diff(bars["bar_group"].to_numpy(), prepend=-1))
    start = bars["start_ticks"].to_numpy()[first]
    end = int(bars["start_ticks"].to_numpy()[-1] + bars["length_ticks"].to_numpy()[-1])
    lengths, counts = np.unique(np.diff(np.append(start, end)), return_counts=True)
    usual = max(int(lengths[np.argmax(counts)]), 1)
    whole = -(-np.append(start, end) // usual) * usual
    last = len(start) - margin if len(start) > 2 * margin else margin - 1
    return Shifts(whole[margin : last + 1], int(whole[-1]))


def shifted(found: Sounds, ticks: int, circle: int) -> Sounds:
    """The copy that runs ahead by so many ticks."""
    onset = moved(found.onset, ticks, circle)
    return replace(found, onset=onset, end=onset + found.end - found.onset)


def moved(onset: Ints, ticks: int, circle: int) -> Ints:
    """Onsets after a shift."""
    return (onset - ticks) % circle


def drawn_shifts(movement_id: str, allowed: Shifts, draws: int) -> Ints:
    """The shift of each draw; none twice before all have come.

    Without repetition the draws lie closer to their mean, and the mean is the same.
    """
    if not len(allowed.ticks):
        return allowed.ticks
    chance = generator(movement_id, SHIFT)
    rounds = -(-draws // len(allowed.ticks))
    order = np.concatenate([chance.permutation(len(allowed.ticks)) for _ in range(rounds)])
    drawn: Ints = allowed.ticks[order[:draws]]
    return drawn


@dataclass(frozen=True)
class Harmonies:
    """The notes that sound in each bar, and the pitches that are drawn anew.

    `pitch` and `degree` of those in bar i stand at `begin[i]` to `begin[i] + count[i]`. `place`
    is for each note of the score the number of its pitch in its line and bar, `bar` the bar of
    each of these numbers.
    """

    begin: Ints
    count: Ints
    pitch: Ints
    degree: Ints
    place: Ints
    bar: Ints


def harmonies(found: Sounds, bars: pa.Table) -> Harmonies:
    """The notes of each bar, whether they begin in it or sound on from before."""
    start = bars["start_ticks"].to_numpy()
    bar = np.searchsorted(start, found.onset, side="right") - 1
    bars_of = np.searchsorted(start, found.end) - bar
    note = np.repeat(np.arange(len(bar)), bars_of)
    within = bar[note] + positions_within(bars_of)
    order = np.argsort(within, kind="stable")
    begin = np.searchsorted(within[order], np.arange(len(start) + 1))
    place = groups([bar, found.line, found.pitch])
    bar_of_place = np.zeros(int(place.max()) + 1, np.int64)
    bar_of_place[place] = bar
    sounding = note[order]
    return Harmonies(
        begin[:-1],
        np.diff(begin),
        found.pitch[sounding],
        found.degree[sounding],
        place,
        bar_of_place,
    )


def redrawn(found: Sounds, harmony: Harmonies, chance: np.random.Generator) -> Sounds:
    """The copy whose pitches are drawn from the harmony of their bars."""
    share = chance.random(len(harmony.bar))
    drawn = harmony.begin[harmony.bar] + (share * harmony.count[harmony.bar]).astype(np.int64)
    drawn = drawn[harmony.place]
    pitch, degree = harmony.pitch[drawn], harmony.degree[drawn]
    # A tritone up and down are as near; up is taken.
    octaves = (found.pitch - pitch + _OCTAVE // 2) // _OCTAVE
    return replace(
        found,
        pitch=pitch + octaves * _OCTAVE,
        degree=np.where(degree == UNSPELLED, degree, degree + octaves * _STEPS),
    )
