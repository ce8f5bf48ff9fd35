"""Matched onsets of pairs of lines, and what lies between two that follow each other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.joins import equal_pairs, matching_pairs, pairs_within, positions_within
from collaparte.measures.doublings.melody import Melody

_OCTAVE = 1200


@dataclass(frozen=True)
class Steps:
    """What lies between each match and the next; all of shape (matches − 1,).

    `same_pair`: they are of one pair of lines. `a`, `b`: how many notes of the line further
    on the next match stands.
    """

    same_pair: Flags
    a: Ints
    b: Ints


@dataclass(frozen=True)
class Matches:
    """Onsets at which two lines both begin a note, sorted by pair of lines, then onset.

    `a` and `b` are positions in the melody, `a` in the upper line; shape (matches,).
    """

    melody: Melody
    a: Ints
    b: Ints

    def __len__(self) -> int:
        return len(self.a)

    @property
    def pair(self) -> Ints:
        """Number of the pair of lines."""
        return self.melody.line[self.a] * self.melody.lines + self.melody.line[self.b]

    @property
    def interval(self) -> Ints:
        """Sounding b minus a, in cents."""
        return self.melody.pitch[self.b] - self.melody.pitch[self.a]

    def steps(self) -> Steps:
        """The steps between neighbouring matches."""
        return Steps(np.diff(self.pair) == 0, np.diff(self.a), np.diff(self.b))

    def take(self, rows: Ints | Flags) -> Matches:
        """These rows alone."""
        return Matches(self.melody, self.a[rows], self.b[rows])


def same_pitch_class(melody: Melody, fewest: int) -> Matches:
    """Onsets at which two lines begin notes an octave, octaves or nothing apart.

    Pairs of lines with fewer than `fewest` of them are left out.
    """
    key = melody.place * _OCTAVE + melody.pitch % _OCTAVE
    upper, lower = facing(melody, key, key) if melody.faced else equal_pairs(key)
    return in_order(Matches(melody, upper, lower), fewest)


def meetings(melody: Melody, key: Ints, sought: Ints) -> Matches:
    """Pairs of notes of which one has the key that the other seeks, in no order."""
    if melody.faced:
        one, other = facing(melody, key, sought), facing(melody, sought, key)
        return Matches(melody, *(np.concatenate(sides) for sides in zip(one, other, strict=True)))
    first, second = matching_pairs(key, sought)
    return Matches(melody, np.minimum(first, second), np.maximum(first, second))


def facing(melody: Melody, own: Ints, copied: Ints) -> tuple[Ints, Ints]:
    """Pairs of a note and a note of the copy of a lower line, `own` and `copied` being equal."""
    lines = melody.own_lines
    copies = int(np.searchsorted(melody.line, lines))
    key = own[:copies] * lines
    upper, lower = pairs_within(
        key + melody.line[:copies] + 1,
        key + lines,
        copied[copies:] * lines + melody.line[copies:] - lines,
    )
    return upper, lower + copies


def in_order(matches: Matches, fewest: int) -> Matches:
    """Those of pairs with at least `fewest` matches, sorted by pair, then onset."""
    pair = matches.pair
    enough = np.bincount(pair, minlength=1)[pair] >= fewest
    kept, pair = matches.take(enough), pair[enough]
    places = kept.melody.places
    return kept.take(np.argsort(pair * places + kept.melody.place[kept.a]))


def unbroken(matches: Matches, wanted: Flags, limit: int) -> Flags:
    """Which of the wanted steps hold no joint silence of more than `limit` ticks.

    In a wanted step one line at least goes on by exactly one note, so that all notes between
    belong to the other line.
    """
    melody = matches.melody
    rests = np.zeros(len(melody) + 1, np.int64)
    np.cumsum(melody.onset[1:] - melody.until[:-1] > limit, out=rests[1:-1])
    at = np.flatnonzero(wanted)
    a, b = matches.a, matches.b
    # Both lines pause somewhere in the step, else there is nothing to look at.
    pauses = (rests[a[at + 1]] > rests[a[at]]) & (rests[b[at + 1]] > rests[b[at]])
    at = at[pauses]
    walks_a = a[at + 1] - a[at] > 1
    begin, end = np.where(walks_a, a[at], b[at]), np.where(walks_a, a[at + 1], b[at + 1])
    other = melody.until[np.where(walks_a, b[at], a[at])]
    counts = end - begin
    note = np.repeat(begin, counts) + positions_within(counts)
    silence = melody.onset[note + 1] - np.maximum(melody.until[note], np.repeat(other, counts))
    broken = np.zeros(len(wanted), np.bool_)
    broken[np.repeat(at, counts)[silence > limit]] = True
    return wanted & ~broken
