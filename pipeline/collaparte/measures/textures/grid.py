"""A movement as exact stretches of time by lines: the ground of all measures of textures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.arrays import Flags, Ints, Reals
from collaparte.kernels.joins import positions_within
from collaparte.kernels.ranks import groups
from collaparte.measures.sounding import sounding
from collaparte.schema import TICKS

_CLASSES = 12
_LETTERS = "CDEFGAB"


@dataclass(frozen=True)
class Attacks:
    """What a line begins at one onset, one row an onset of a line, by line, then onset."""

    line: Ints
    onset: Ints
    end: Ints
    """Ticks; the end of the longest note that begins here."""
    top: Ints
    bottom: Ints
    """Highest and lowest pitch that begin here (MIDI)."""
    staff_step: Ints
    """Steps of the staff above C0 of the highest pitch; its semitones where it has no letter."""
    bar: Ints
    tremolo: Flags
    """Reiterated by strokes through the stem."""
    alternates: Flags
    """One of the two notes of a tremolo between notes."""
    degree: Reals
    """Dynamic in degrees, nan where not known."""

    def __len__(self) -> int:
        return len(self.line)

    def follows(self) -> Flags:
        """Whether the row before is of the same line; shape (attacks,)."""
        same = np.zeros(len(self), np.bool_)
        same[1:] = self.line[1:] == self.line[:-1]
        return same


@dataclass(frozen=True)
class Grid:
    """Stretches in which no note starts or ends and no bar ends; S stretches, L lines, B bars."""

    bars: int
    lines: int
    bar_start: Ints
    bar_length: Ints
    """Shape (B,), ticks."""
    second: Reals
    """Shape (B,): ticks of a second, by the tempo in force or the usual one."""
    length: Ints
    """Shape (S,), ticks."""
    bar: Ints
    """Shape (S,): bar of each stretch, never falls."""
    attack: Ints
    """Shape (S, L): row of `attacks` that sounds on top in the line; -1 in silence."""
    top: npt.NDArray[np.int16]
    bottom: npt.NDArray[np.int16]
    """Shape (S, L): highest and lowest sounding pitch (MIDI); -1 in silence."""
    classes: npt.NDArray[np.int16]
    """Shape (S, L): pitch classes that sound, one bit each."""
    begins: Flags
    """Shape (S, L): the line begins a note with the stretch."""
    pitches: npt.NDArray[np.uint64]
    """Shape (S, 2): all pitches that sound, one bit each from MIDI 0 on."""
    attacks: Attacks

    @property
    def sounds(self) -> Flags:
        """Shape (S, L): the line sounds."""
        return self.attack >= 0

    @property
    def tremolo(self) -> Flags:
        """Shape (S, L): the line sounds a tremolo on one note."""
        return np.append(self.attacks.tremolo, False)[self.attack]

    @property
    def reiterates(self) -> Flags:
        """Shape (S, L): the line begins a note again on the pitch of the one before."""
        same = self.attacks.follows()
        same[1:] &= self.attacks.top[1:] == self.attacks.top[:-1]
        return np.append(same, False)[self.attack] & self.begins

    @property
    def way(self) -> npt.NDArray[np.int8]:
        """Shape (S, L): 1 where the line begins a higher note than before, -1 a lower one."""
        step = np.where(self.attacks.follows(), np.diff(self.attacks.top, prepend=0), 0)
        way = np.append(np.sign(step), 0)[self.attack]
        return np.where(self.begins, way, 0).astype(np.int8)

    @property
    def onsets(self) -> Flags:
        """Shape (S,): any line begins a note with the stretch."""
        return np.asarray(self.begins.any(axis=1), np.bool_)

    def sums(self, values: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """Sums over the stretches of each bar; (S, …) to (B, …); whole numbers stay whole."""
        whole = not np.issubdtype(values.dtype, np.floating)
        return self._reduced(np.add, values, np.int64 if whole else np.float64)

    def unions(self, values: npt.NDArray[np.int16]) -> npt.NDArray[np.int16]:
        """Unions of bits over the stretches of each bar; (S, …) to (B, …)."""
        return self._reduced(np.bitwise_or, values, np.int16)

    def _reduced(
        self, reduction: np.ufunc, values: npt.NDArray[Any], kind: type
    ) -> npt.NDArray[Any]:
        result = np.zeros((self.bars, *values.shape[1:]), kind)
        filled, first = np.unique(self.bar, return_index=True)
        if len(filled):
            result[filled] = reduction.reduceat(values, first, axis=0, dtype=kind)
        return result


def grid(notes: pa.Table, lines: pa.Table, bars: pa.Table, usual_tempo: float) -> Grid:
    """The grid of a movement: pitched notes, grace and cue notes left out.

    Parameters
    ----------
    usual_tempo
        Quarters a minute where the score states none.
    """
    rows = sounding(notes)
    line = np.searchsorted(lines["line_key"].to_numpy(), notes["line_key"].to_numpy()[rows])
    onset = notes["onset_ticks"].to_numpy()[rows]
    end = onset + notes["duration_ticks"].to_numpy()[rows]
    midi = notes["midi"].cast(pa.int64()).fill_null(0).to_numpy()[rows]
    start, length = bars["start_ticks"].to_numpy(), bars["length_ticks"].to_numpy()
    attacks, attack_of_note = _attacks(notes, rows, line, onset, end, midi, start)

    close = start[-1:] + length[-1:]
    moments = np.unique(np.concatenate([onset, end, start, close]))
    stretches = max(len(moments) - 1, 0)
    first = np.searchsorted(moments, onset)
    counts = np.searchsorted(moments, end) - first
    # In order of pitch, so that of several notes the highest is written last and stays.
    order = np.argsort(midi, kind="stable")
    note = np.repeat(order, counts[order])
    place = np.repeat(first[order], counts[order]) + positions_within(counts[order])
    shape = (stretches, len(lines))
    attack, top = np.full(shape, -1, np.int64), np.full(shape, -1, np.int16)
    bottom, classes = np.full(shape, -1, np.int16), np.zeros(shape, np.int16)
    attack[place, line[note]] = attack_of_note[note]
    top[place, line[note]] = midi[note]
    bottom[place[::-1], line[note[::-1]]] = midi[note[::-1]]
    np.bitwise_or.at(classes, (place, line[note]), np.left_shift(1, midi[note] % _CLASSES))
    begins = np.zeros(shape, np.bool_)
    begins[first, line] = True
    pitches = np.zeros((stretches, 2), np.uint64)
    np.bitwise_or.at(
        pitches,
        (place, midi[note] // 64),
        np.left_shift(np.uint64(1), (midi[note] % 64).astype(np.uint64)),
    )
    return Grid(
        bars=len(bars),
        lines=len(lines),
        bar_start=start,
        bar_length=length,
        second=bars["tempo_quarters_per_minute"].fill_null(usual_tempo).to_numpy() * TICKS / 60,
        length=np.diff(moments),
        bar=np.searchsorted(start, moments[:-1], side="right") - 1,
        attack=attack,
        top=top,
        bottom=bottom,
        classes=classes,
        begins=begins,
        pitches=pitches,
        attacks=attacks,
    )


def _attacks(
    notes: pa.Table, rows: Ints, line: Ints, onset: Ints, end: Ints, midi: Ints, bar_start: Ints
) -> tuple[Attacks, Ints]:
    """The attacks, and the row of the attack that each note belongs to."""
    order = np.lexsort((onset, line))
    new = np.ones(len(order), np.bool_)
    new[1:] = (np.diff(line[order]) != 0) | (np.diff(onset[order]) != 0)
    first = np.flatnonzero(new)
    attack_of_note = np.empty(len(order), np.int64)
    attack_of_note[order] = np.cumsum(new) - 1
    strokes = _strokes_of_stems(notes)[rows]
    paired = notes["tremolo_pair"].is_valid().to_numpy()[rows]
    degree = notes["dynamic_degree"].cast(pa.float64()).to_numpy(zero_copy_only=False)[rows]

    def reduce(ufunc: np.ufunc, values: npt.NDArray[Any]) -> npt.NDArray[Any]:
        return ufunc.reduceat(values[order], first) if len(first) else values[:0]

    return (
        Attacks(
            line=line[order][first],
            onset=onset[order][first],
            end=reduce(np.maximum, end),
            top=reduce(np.maximum, midi),
            bottom=reduce(np.minimum, midi),
            staff_step=reduce(np.maximum, _staff_steps(notes, rows, midi)),
            bar=np.searchsorted(bar_start, onset[order][first], side="right") - 1,
            tremolo=reduce(np.logical_or, strokes & ~paired),
            alternates=reduce(np.logical_or, paired),
            degree=degree[order][first],
        ),
        attack_of_note,
    )


def _staff_steps(notes: pa.Table, rows: Ints, midi: Ints) -> Ints:
    letter = pc.index_in(notes["step"].cast(pa.string()), pa.array(list(_LETTERS))).fill_null(-1)
    place = letter.to_numpy().astype(np.int64)[rows]
    octave = notes["octave"].cast(pa.int64()).fill_null(0).to_numpy()[rows]
    return np.where(place >= 0, octave * len(_LETTERS) + place, midi)


def _strokes_of_stems(notes: pa.Table) -> Flags:
    """Whether strokes cross the stem of each note: a file writes them on one note of a chord."""
    strokes = notes["tremolo_strokes"].fill_null(0).to_numpy() > 0
    if not strokes.any():
        return np.asarray(strokes, np.bool_)
    voice = pc.index_in(notes["voice"].cast(pa.string()), notes["voice"].cast(pa.string()).unique())
    stem = groups(
        [
            notes["part_index"].to_numpy(),
            notes["staff"].to_numpy(),
            voice.fill_null(-1).to_numpy(),
            notes["onset_ticks"].to_numpy(),
        ]
    )
    crossed = np.zeros(int(stem.max()) + 1, np.bool_)
    crossed[stem[strokes]] = True
    return np.asarray(crossed[stem], np.bool_)
