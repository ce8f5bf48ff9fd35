"""Measures of each line in each bar, over the bar's window."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.degrees import reaching
from collaparte.kernels.ratios import ratio
from collaparte.measures.textures.figures import figures
from collaparte.measures.textures.grid import Grid
from collaparte.measures.textures.windows import Windows, windows
from collaparte.settings import Settings

PART_KINDS = ("line", "sustained", "repeated", "figured", "chords")
LINE, SUSTAINED, REPEATED, FIGURED, CHORDS = range(len(PART_KINDS))


@dataclass(frozen=True)
class LineMeasures:
    """Measures of the lines, each of shape (bars, lines) unless told.

    "Window" is the weighted sum of `Windows`; "window's time" is the sum of its bars' lengths.
    """

    present: Flags
    """Sounds in at least `present_share` of the bar or begins a note in it."""
    ticks: Ints
    """Time in which the line sounds in the bar itself."""
    sounding: Reals
    """Sounding time ÷ the window's time; 0 to 1."""
    attacks: Reals
    """Notes that begin ÷ the window's bars; 0 and more a bar."""
    moves: Reals
    """Notes on another pitch than the one before ÷ the window's bars; 0 and more a bar."""
    held: Reals
    """Time of long notes ÷ sounding time; 0 to 1. A note is long by how far it reaches
    `held_bar_share` of the bar, `held_seconds` and `held_onsets` × the window's mean distance of
    the score's onsets, whichever is longest; tremolos are not held."""
    repeated: Reals
    """Time of repeated notes (`figures`) ÷ sounding time; 0 to 1."""
    figured: Reals
    """Time of notes of figures (`figures`) ÷ sounding time; 0 to 1."""
    leaps: Reals
    """Leaps ÷ steps of any size; 0 to 1."""
    steps: Reals
    """Steps of one or two semitones ÷ steps of any size; 0 to 1."""
    notes: Reals
    """Notes that begin in the window, weighted."""
    highest: Reals
    """Time in which no line is higher ÷ the score's sounding time in the window; 0 to 1."""
    lowest: Reals
    """Time in which no line is lower ÷ the same; 0 to 1."""
    highest_in_bar: Reals
    """As `highest`, in the bar alone."""
    sounding_in_bar: Reals
    """Sounding time ÷ length of the bar, in the bar alone; 0 to 1."""
    pitch: Reals
    """Mean top pitch over the sounding time of the window (MIDI); nan in silence."""
    low_pitch: Reals
    """Mean bottom pitch over the same."""
    classes: npt.NDArray[np.int16]
    """Pitch classes that sound in the bars of the window, one bit each."""
    values: Ints
    """Different note values that begin in the bars of the window."""
    kept_rhythm: Reals
    """Mean over the window's bars of the onsets that stand where one stood in the bar before ÷
    places of onsets in either bar; 0 to 1, and 0 for a bar after a silent one."""
    fresh: Reals
    """e^(−n/2), n bars after the first bar since the line was silent for a bar; 0 to 1, 0 where
    it never was silent before."""
    degree: Reals
    """Mean dynamic of the notes that begin in the window, in degrees; nan where none is known."""
    kinds: Reals
    """Shape (bars, lines, kinds): degree of each of `PART_KINDS`, together 1; 0 where absent."""

    @property
    def kind(self) -> Ints:
        """Number in `PART_KINDS` of the greatest degree; where absent without meaning."""
        return np.asarray(self.kinds.argmax(axis=2), np.int64)


def present_lines(grid: Grid, settings: Settings) -> tuple[Flags, Ints]:
    """Lines that count in each bar, and their sounding ticks; both of shape (bars, lines)."""
    ticks = grid.sums(grid.sounds * grid.length[:, None])
    begins = grid.sums(grid.begins) > 0
    return begins | (
        (ticks >= settings.present_share * grid.bar_length[:, None]) & (ticks > 0)
    ), ticks


def measure_lines(grid: Grid, settings: Settings) -> tuple[LineMeasures, Windows]:
    """The measures of all lines, and the windows that they are taken over."""
    present, ticks = present_lines(grid, settings)
    around = windows(grid, present, settings)
    found = figures(grid, settings)
    bars = around.sums(np.ones(grid.bars))[:, None]
    own_time = around.sums(ticks)
    bar_time = grid.sums(grid.sounds.any(axis=1) * grid.length)
    score_time = around.sums(bar_time)[:, None]
    attacks = around.sums(_counted(grid, np.ones(len(grid.attacks), np.bool_)))
    moves = around.sums(_counted(grid, found.moves)) / bars
    leaps, steps = (around.sums(_counted(grid, flags)) for flags in (found.leap, found.step))
    intervals = around.sums(_counted(grid, found.leap | found.step))
    held, repeated, figured = (
        ratio(around.sums(_time(grid, flags)), own_time)
        for flags in (_long(grid, around, settings), found.repeated, found.figured)
    )
    highest, lowest = _outer(grid)
    sounding = own_time / np.maximum(around.sums(grid.bar_length), 1)[:, None]
    kept_rhythm = around.sums(_kept_rhythm(grid)) / bars
    measures = LineMeasures(
        present=present,
        ticks=ticks,
        sounding=sounding,
        attacks=attacks / bars,
        moves=moves,
        held=held,
        repeated=repeated,
        figured=figured,
        leaps=ratio(leaps, intervals),
        steps=ratio(steps, intervals),
        notes=attacks,
        highest=ratio(around.sums(highest), score_time),
        lowest=ratio(around.sums(lowest), score_time),
        highest_in_bar=ratio(highest, bar_time[:, None]),
        sounding_in_bar=ratio(ticks, grid.bar_length[:, None]),
        pitch=ratio(around.sums(_time_of_pitch(grid, grid.top)), own_time, np.nan),
        low_pitch=ratio(around.sums(_time_of_pitch(grid, grid.bottom)), own_time, np.nan),
        classes=around.unions(grid.unions(grid.classes)),
        values=_distinct(grid, around, grid.attacks.end - grid.attacks.onset),
        kept_rhythm=kept_rhythm,
        fresh=_fresh(ticks),
        degree=_degree(grid, around),
        kinds=_kinds(
            present,
            (held, repeated, figured),
            (moves, attacks / bars),
            (sounding, kept_rhythm),
            settings,
        ),
    )
    return measures, around


def _fresh(ticks: Ints) -> Reals:
    bars = np.arange(len(ticks))[:, None]
    silent = np.maximum.accumulate(np.where(ticks == 0, bars, -1), axis=0)
    return np.where((silent >= 0) & (silent < bars), np.exp((silent + 1 - bars) / 2), 0.0)


def _kinds(
    present: Flags,
    times: tuple[Reals, Reals, Reals],
    activity: tuple[Reals, Reals],
    rests: tuple[Reals, Reals],
    settings: Settings,
) -> Reals:
    """What each line is, by degrees: sustained, repeated, chords, figured, line, the first first.

    Each takes what those before have left, by the degree to which its own conditions hold
    (`degree_spread`). A sustained line is held for `kind_share` of its time, moves less than
    `held_moves`, and has less than `held_moves_share` of the moves or of the attacks of the line
    that has most. A line of chords sounds for `chord_sounding` of the time at most, with rests
    between, in a rhythm that it keeps to `chord_kept_rhythm`; one that hardly moves is of chords
    too if it is no figure.
    """
    held, repeated, figured = times
    moves, attacks = activity
    sounding, kept_rhythm = rests
    spread = settings.degree_spread
    busiest, most = (
        np.where(present, values, 0).max(axis=1, initial=0)[:, None] for values in activity
    )
    share = settings.held_moves_share
    calmer = 1 - reaching(moves, share * busiest, spread)
    sparser = 1 - reaching(attacks, share * most, spread)
    still = np.where(busiest > 0, np.maximum(calmer, sparser), 1)
    still *= 1 - reaching(moves, settings.held_moves, spread)
    few = 1 - reaching(moves, settings.chord_moves, spread)
    few *= 1 - reaching(moves, settings.chord_moves_share * busiest, spread)
    short = 1 - reaching(sounding, settings.chord_sounding, spread, most=1)
    short *= reaching(kept_rhythm, settings.chord_kept_rhythm, spread)

    def lasting(time: Reals) -> Reals:
        return reaching(time, settings.kind_share, spread)

    kinds = np.zeros((*present.shape, len(PART_KINDS)))
    left = present.astype(np.float64)
    for kind, degree in (
        (SUSTAINED, lasting(held) * still),
        (REPEATED, lasting(repeated)),
        (CHORDS, short),
        (FIGURED, lasting(figured)),
        (CHORDS, few),
    ):
        kinds[:, :, kind] += left * degree
        left = left * (1 - degree)
    kinds[:, :, LINE] = left
    return kinds


def _counted(grid: Grid, flags: Flags) -> Ints:
    """How many of these attacks begin in each bar; shape (bars, lines)."""
    spot = grid.attacks.bar * grid.lines + grid.attacks.line
    counts = np.bincount(spot[flags], minlength=grid.bars * grid.lines)
    return counts.reshape(grid.bars, grid.lines)


def _time(grid: Grid, values: Flags | Reals) -> npt.NDArray[Any]:
    """Time in each bar in which one of these notes sounds on top; shape (bars, lines).

    `values` have one row an attack, or one a stretch and line: a flag, or a degree by which the
    time counts.
    """
    if values.ndim == 1:
        values = np.append(values, False)[grid.attack]
    return grid.sums(values * grid.length[:, None])


def _long(grid: Grid, around: Windows, settings: Settings) -> Reals:
    """How far a long note sounds; shape (stretches, lines)."""
    onsets = around.sums(grid.sums(grid.onsets))
    apart = around.sums(grid.bar_length) / np.maximum(onsets, 1)
    threshold = np.maximum(settings.held_bar_share * grid.bar_length, settings.held_onsets * apart)
    threshold = np.maximum(threshold, settings.held_seconds * grid.second)[grid.attacks.bar]
    value = np.where(grid.attacks.tremolo | grid.attacks.alternates, 0, _values(grid))
    long = np.append(reaching(value, threshold, settings.degree_spread), 0)
    return np.asarray(long[grid.attack] * grid.sounds, np.float64)


def _values(grid: Grid) -> Ints:
    return grid.attacks.end - grid.attacks.onset


def _outer(grid: Grid) -> tuple[Ints, Ints]:
    """Time in each bar in which the line is the highest, and the lowest; (bars, lines)."""
    top = grid.top
    bottom = np.where(grid.sounds, grid.bottom, np.int16(np.iinfo(np.int16).max))
    length = grid.length[:, None]
    highest = grid.sounds & (top == top.max(axis=1, keepdims=True, initial=-1))
    lowest = grid.sounds & (
        bottom == bottom.min(axis=1, keepdims=True, initial=np.iinfo(np.int16).max)
    )
    return grid.sums(highest * length), grid.sums(lowest * length)


def _time_of_pitch(grid: Grid, pitch: npt.NDArray[np.int16]) -> Ints:
    return grid.sums(np.where(grid.sounds, pitch.astype(np.int64), 0) * grid.length[:, None])


def _distinct(grid: Grid, around: Windows, values: Ints) -> Ints:
    """Different values among the attacks of the bars of each window; shape (bars, lines)."""
    _, code = np.unique(values, return_inverse=True)
    there = np.zeros((grid.bars, grid.lines, int(code.max(initial=0)) + 1), np.bool_)
    there[grid.attacks.bar, grid.attacks.line, code] = True
    return np.asarray(around.unions(there).sum(axis=2), np.int64)


def _kept_rhythm(grid: Grid) -> Reals:
    """Onsets where the bar before had one ÷ places of onsets in either; (bars, lines)."""
    attacks = grid.attacks
    place = attacks.onset - grid.bar_start[attacks.bar]
    bars = int(place.max(initial=0)) + 1
    spot = (attacks.line * (grid.bars + 1) + attacks.bar) * bars + place
    onsets = _counted(grid, np.ones(len(spot), np.bool_))
    # Attacks are in order of line and onset, and so the spots are sorted.
    before = np.minimum(np.searchsorted(spot, spot - bars), max(len(spot) - 1, 0))
    common = _counted(grid, spot[before] == spot - bars)
    either = onsets - common
    either[1:] += onsets[:-1]
    return ratio(common, either)


def _degree(grid: Grid, around: Windows) -> Reals:
    attacks = grid.attacks
    known = ~np.isnan(attacks.degree)
    spot = attacks.bar * grid.lines + attacks.line
    sums = np.bincount(spot[known], attacks.degree[known], minlength=grid.bars * grid.lines)
    shape = (grid.bars, grid.lines)
    return ratio(around.sums(sums.reshape(shape)), around.sums(_counted(grid, known)), np.nan)
