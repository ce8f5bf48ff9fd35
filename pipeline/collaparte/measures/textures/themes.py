"""Recurrence: groups of notes that come back elsewhere in the movement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.ranks import groups
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid

_NOTES, _LONG = 5, 10
"""Notes of a group, and of a long one."""
_PITCHES = 3
"""Different pitches that a group has at least."""


@dataclass(frozen=True)
class NoteGroups:
    """Groups of notes: first attack of each, and which of the different groups it is."""

    notes: int
    """Notes of each group."""
    start: Ints
    group: Ints


@dataclass(frozen=True)
class Recurrence:
    """How far the notes of each line in each bar come back; shape (bars, lines).

    Two groups of five notes are the same when their intervals (in steps of the staff, so that a
    transposition counts) and the distances of their onsets are, two of ten notes when their
    intervals are, for a long melody is the same in other note values; a group has at least three
    different pitches. A note counts as its best group does.
    """

    bars: Reals
    """Mean over the notes of log2 of the number of bars in which the group begins."""
    lines: Reals
    """Mean over the notes of log2 of the number of lines that have the group."""
    long_lines: Reals
    """The same of groups of ten notes."""


def recurrence(grid: Grid, found: NoteGroups) -> Recurrence:
    """The recurrence of all lines, `found` being the groups of five notes."""
    attacks = grid.attacks
    long = note_groups(grid, _LONG, with_rhythm=False)
    return Recurrence(
        bars=_recurs(grid, found, attacks.bar, grid.bars),
        lines=_recurs(grid, found, attacks.line, grid.lines),
        long_lines=_recurs(grid, long, attacks.line, grid.lines),
    )


def note_groups(grid: Grid, size: int = _NOTES, *, with_rhythm: bool = True) -> NoteGroups:
    """The groups of notes of all lines that no rest of a bar cuts.

    Parameters
    ----------
    size
        Notes of a group.
    with_rhythm
        Whether groups of unlike distances of onsets are different.
    """
    attacks = grid.attacks
    start = np.arange(max(len(attacks) - size + 1, 0))
    notes = start[:, None] + np.arange(size)
    apart = np.diff(attacks.onset[notes], axis=1)
    close = (np.diff(attacks.line[notes], axis=1) == 0) & (
        apart <= grid.bar_length[attacks.bar[notes[:, :-1]]]
    )
    pitches = np.sort(attacks.top[notes], axis=1)
    varied = 1 + (np.diff(pitches, axis=1) != 0).sum(axis=1) >= _PITCHES
    kept = close.all(axis=1) & varied
    steps = np.diff(attacks.staff_step[notes], axis=1)
    if not kept.any():
        return NoteGroups(size, start[:0], start[:0])
    alike = [*steps[kept].T, *(apart[kept].T if with_rhythm else ())]
    return NoteGroups(size, start[kept], groups(alike))


def _recurs(grid: Grid, found: NoteGroups, place: Ints, places: int) -> Reals:
    """In how many places the groups of each line in each bar begin; shape (bars, lines).

    Mean over the attacks of log2 of the number of the group of theirs that has most.

    Parameters
    ----------
    place, places
        Bar or line of each attack, and how many there are.
    """
    attacks = grid.attacks
    different = np.unique(found.group * (places + 1) + place[found.start]) // (places + 1)
    value = np.log2(np.maximum(np.bincount(different), 1))[found.group]
    best = np.zeros(len(attacks))
    for note in range(found.notes):
        np.maximum.at(best, found.start + note, value)
    spot, size = attacks.bar * grid.lines + attacks.line, grid.bars * grid.lines
    total = np.bincount(spot, best, minlength=size).reshape(grid.bars, grid.lines)
    return ratio(total, np.bincount(spot, minlength=size).reshape(grid.bars, grid.lines))
