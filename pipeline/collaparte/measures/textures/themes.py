"""Recurrence: groups of notes that come back elsewhere in the movement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Ints, Reals
from collaparte.kernels.ranks import groups
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.grid import Grid

_NOTES = 5
"""Notes of a group."""
_PITCHES = 3
"""Different pitches that a group has at least."""
_BARS_AWAY = 2


@dataclass(frozen=True)
class NoteGroups:
    """Groups of five notes: first attack of each, and which of the different groups it is."""

    start: Ints
    group: Ints


@dataclass(frozen=True)
class Recurrence:
    """How far the notes of each line in each bar come back; shape (bars, lines).

    Two groups of five notes are the same when their intervals (in steps of the staff, so that a
    transposition counts) and the distances of their onsets are; a group has at least three
    different pitches. A note counts as its best group does.
    """

    elsewhere: Reals
    """Notes of groups that also begin two bars away or more ÷ notes of the bar; 0 to 1."""
    before: Reals
    """The same of groups that began two bars before or more; 0 to 1."""
    handed: Reals
    """The same of groups that another line had first, two bars before or more; 0 to 1."""
    bars: Reals
    """Mean over the notes of log2 of the number of bars in which the group begins."""
    lines: Reals
    """Mean over the notes of log2 of the number of lines that have the group."""


def recurrence(grid: Grid, found: NoteGroups) -> Recurrence:
    """The recurrence of all lines."""
    attacks = grid.attacks
    start, group = found.start, found.group
    bar, line = attacks.bar[start], attacks.line[start]
    count = int(group.max(initial=-1)) + 1
    first, last = np.full(count, grid.bars), np.full(count, -1)
    np.minimum.at(first, group, bar)
    np.maximum.at(last, group, bar)
    # The line that begins a group first; groups are in order of line, so of equals the upper.
    order = np.lexsort((line, attacks.onset[start], group))
    opening = np.zeros(count, np.int64)
    opening[group[order][::-1]] = line[order][::-1]
    bars, lines = (
        np.log2(np.bincount(np.unique(group * (size + 1) + of) // (size + 1), minlength=count))
        for of, size in ((bar, grid.bars), (line, grid.lines))
    )
    before = bar - first[group] >= _BARS_AWAY
    values = {
        "elsewhere": before | (last[group] - bar >= _BARS_AWAY),
        "before": before,
        "handed": before & (opening[group] != line),
        "bars": bars[group],
        "lines": lines[group],
    }
    return Recurrence(**{name: _by_bar(grid, start, value) for name, value in values.items()})


def note_groups(grid: Grid) -> NoteGroups:
    """The groups of notes of all lines that no rest of a bar cuts."""
    attacks = grid.attacks
    start = np.arange(max(len(attacks) - _NOTES + 1, 0))
    notes = start[:, None] + np.arange(_NOTES)
    apart = np.diff(attacks.onset[notes], axis=1)
    close = (np.diff(attacks.line[notes], axis=1) == 0) & (
        apart <= grid.bar_length[attacks.bar[notes[:, :-1]]]
    )
    pitches = np.sort(attacks.top[notes], axis=1)
    varied = 1 + (np.diff(pitches, axis=1) != 0).sum(axis=1) >= _PITCHES
    kept = close.all(axis=1) & varied
    steps = np.diff(attacks.staff_step[notes], axis=1)
    if not kept.any():
        return NoteGroups(start[:0], start[:0])
    return NoteGroups(start[kept], groups([*steps[kept].T, *apart[kept].T]))


def _by_bar(grid: Grid, start: Ints, value: Reals) -> Reals:
    """Mean over the attacks of each line in each bar of the best group that they belong to."""
    attacks = grid.attacks
    best = np.zeros(len(attacks))
    for note in range(_NOTES):
        np.maximum.at(best, start + note, value)
    spot, size = attacks.bar * grid.lines + attacks.line, grid.bars * grid.lines
    total = np.bincount(spot, best, minlength=size).reshape(grid.bars, grid.lines)
    return ratio(total, np.bincount(spot, minlength=size).reshape(grid.bars, grid.lines))
