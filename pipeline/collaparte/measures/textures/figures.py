"""What is repeated and what is a figure, note by note within each line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.kernels.arrays import Flags, Ints
from collaparte.kernels.runs import distinct_within, runs
from collaparte.measures.textures.grid import Attacks, Grid
from collaparte.settings import Settings

_LAGS = (2, 3, 4, 6, 8)
"""Notes after which a figure comes back."""
_FIGURE_NOTES = 4
"""Notes from which equal note values make a figure."""
_REPEATS = 3
"""Equal pitches in a row from which they are repeated notes."""


@dataclass(frozen=True)
class Figures:
    """Properties of attacks, each of shape (attacks,).

    A line's first note, and the first after a rest as long as a bar, has no step before it.
    """

    moves: Flags
    """Top or bottom pitch differs from the attack before in the line, rests between or not."""
    leap: Flags
    """Its step is `leap_semitones` or wider."""
    step: Flags
    """Its step is of one or two semitones."""
    repeated: Flags
    figured: Flags


def figures(grid: Grid, settings: Settings) -> Figures:
    """Which attacks move, which are repeated notes and which belong to a figure.

    - *repeated*: one of at least three attacks in a row on the same pitches, each within a bar's
      length of the one before; or a tremolo on one note.
    - *figured*, unless repeated: a note of a tremolo between two notes; or one of at
      least lag + 1 attacks that each bring back, at the same distance of time (a bar at most),
      the pitches of the attack 2, 3, 4, 6 or 8 (the lag) before; or one of at least
      four equal short notes of a bar (`short_note_share` of it at most) of whose steps
      `figure_leaps` are leaps; or of a bar of at least four notes, all of one value, with more
      leaps than half or at least two notes for each pitch.
    """
    attacks = grid.attacks
    apart = np.diff(attacks.onset, prepend=0)
    follows = attacks.follows()
    close = follows & (apart <= grid.bar_length[attacks.bar])
    interval = np.abs(np.diff(attacks.top, prepend=0))
    same = follows & (interval == 0) & (np.diff(attacks.bottom, prepend=0) == 0)
    leap = close & (interval >= settings.leap_semitones)
    repeated = _in_long_runs(same & close, _REPEATS) | attacks.tremolo
    return Figures(
        moves=follows & ~same,
        leap=leap,
        step=close & (interval > 0) & (interval <= 2),
        repeated=repeated,
        figured=~repeated
        & (
            attacks.alternates
            | _come_back(attacks, grid.bar_length[attacks.bar])
            | _equal_notes(grid, follows, leap, settings)
        ),
    )


def _in_long_runs(joined: Flags, least: int) -> Flags:
    """Rows in runs of at least `least`; `joined[i]`: row i belongs to the row before."""
    if not len(joined):
        return joined
    number = runs(joined[1:])
    return (np.bincount(number) >= least)[number]


def _come_back(attacks: Attacks, bar: Ints) -> Flags:
    """Attacks of figures that come back with their pitches and their rhythm."""
    found = np.zeros(len(attacks), np.bool_)
    for lag in _LAGS:
        if len(attacks) <= lag:
            break
        now, then = slice(lag, None), slice(None, -lag)
        period = attacks.onset[now] - attacks.onset[then]
        back = (
            (attacks.line[now] == attacks.line[then])
            & (attacks.top[now] == attacks.top[then])
            & (attacks.bottom[now] == attacks.bottom[then])
            & (period <= bar[now])
        )
        joined = np.zeros(len(back), np.bool_)
        joined[1:] = back[1:] & back[:-1] & (period[1:] == period[:-1])
        long = back & _in_long_runs(joined, lag + 1)
        for shift in range(lag + 1):
            found[shift : len(found) - lag + shift] |= long
    return found


def _equal_notes(grid: Grid, follows: Flags, leap: Flags, settings: Settings) -> Flags:
    """Attacks of a bar's equal notes that leap about or turn round few pitches."""
    attacks = grid.attacks
    if not len(attacks):
        return leap
    value = attacks.end - attacks.onset
    in_bar = follows.copy()
    in_bar[1:] &= attacks.bar[1:] == attacks.bar[:-1]
    alike = in_bar.copy()
    alike[1:] &= value[1:] == value[:-1]

    run = runs(alike[1:])
    notes = np.bincount(run)
    leaps = np.bincount(run[alike], leap[alike], minlength=len(notes))
    short = value <= settings.short_note_share * grid.bar_length[attacks.bar]
    jumps = (notes >= _FIGURE_NOTES) & (leaps >= settings.figure_leaps * (notes - 1))

    bar = runs(in_bar[1:])
    notes = np.bincount(bar)
    values = distinct_within(bar, value, len(notes))
    pitches = distinct_within(bar, attacks.top, len(notes))
    leaps = np.bincount(bar[in_bar], leap[in_bar], minlength=len(notes))
    one_value = (notes >= _FIGURE_NOTES) & (values == 1)
    turns = one_value & ((2 * leaps > notes - 1) | (notes >= 2 * pitches))
    found: Flags = (jumps[run] & short) | turns[bar]
    return found
