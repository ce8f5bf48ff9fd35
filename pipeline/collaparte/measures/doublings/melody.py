"""The lines of a movement as sequences of notes: arrays, sorted by line and onset."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pyarrow as pa

from collaparte.kernels.arrays import Ints
from collaparte.measures.sounding import sounding

_SEMITONE = 100
_LETTERS = "CDEFGAB"

UNSPELLED = np.iinfo(np.int64).min
"""Stands for the degree of a note without a letter."""


@dataclass(frozen=True)
class Melody:
    """The notes of all lines, sorted by line, then onset.

    Of `top_notes` on there is one a line and onset, so that neighbours in the arrays are
    neighbours in the line. All arrays have one row a note.
    """

    line: Ints
    """Position of the line in the table `lines`: score order."""
    onset: Ints
    end: Ints
    """Ticks."""
    until: Ints
    """Latest end of this note and all earlier ones of the line: from there the line is silent."""
    pitch: Ints
    """Sounding pitch in cents."""
    degree: Ints
    """Steps of the staff above C0, `UNSPELLED` where the note has no letter."""
    note: Ints
    """Row of the (first) note in the table `notes`."""
    first: Ints
    """Position of its first note in the melody that it was joined from, else its own."""
    place: Ints
    """Rank of the onset among all onsets of the movement."""
    lines: int
    places: int
    faced: bool = False
    """The upper half of the lines are altered copies of the lower half, in the same order; a
    line then meets nothing but the copies of lines below it in the score."""

    def __len__(self) -> int:
        return len(self.line)

    @property
    def own_lines(self) -> int:
        """Lines that are no copies."""
        return self.lines // 2 if self.faced else self.lines


@dataclass(frozen=True)
class Sounds:
    """Notes in any order: line, onset, end, pitch, degree and note as in `Melody`."""

    line: Ints
    onset: Ints
    end: Ints
    pitch: Ints
    degree: Ints
    note: Ints


def sounds(notes: pa.Table, lines: pa.Table) -> Sounds:
    """Every note that counts."""
    rows = sounding(notes)
    onset = notes["onset_ticks"].to_numpy()[rows]
    pitch = notes["midi"].cast(pa.int64()).fill_null(0).to_numpy()[rows] * _SEMITONE
    return Sounds(
        line=np.searchsorted(lines["line_key"].to_numpy(), notes["line_key"].to_numpy()[rows]),
        onset=onset,
        end=onset + notes["duration_ticks"].to_numpy()[rows],
        pitch=pitch + notes["cents"].to_numpy()[rows],
        degree=_degrees(notes)[rows],
        note=rows,
    )


def _degrees(notes: pa.Table) -> Ints:
    step = notes["step"].combine_chunks()
    letters = np.array([_LETTERS.find(text or "-") for text in step.dictionary.to_pylist()] + [-1])
    letter = letters[step.indices.fill_null(len(letters) - 1).to_numpy(zero_copy_only=False)]
    octave = notes["octave"].cast(pa.int64()).fill_null(0).to_numpy()
    return np.where(letter >= 0, octave * len(_LETTERS) + letter, UNSPELLED)


def in_lines(found: Sounds, lines: int) -> Melody:
    """Every note of all lines, several at one onset from the top."""
    moments, place = np.unique(found.onset, return_inverse=True)
    order = np.lexsort((-found.pitch, found.line * len(moments) + place))
    line, end = found.line[order], found.end[order]
    return Melody(
        line=line,
        onset=found.onset[order],
        end=end,
        until=_until(line, end),
        pitch=found.pitch[order],
        degree=found.degree[order],
        note=found.note[order],
        first=np.arange(len(order), dtype=np.int64),
        place=place[order],
        lines=lines,
        places=len(moments),
    )


def faced(found: Sounds, altered: Sounds, lines: int) -> Melody:
    """Every note of all lines and of their altered copies, which have the lines from `lines` on."""
    pairs = {
        item.name: np.concatenate([getattr(found, item.name), getattr(altered, item.name)])
        for item in fields(Sounds)
    }
    pairs["line"][len(found.line) :] += lines
    return replace(in_lines(Sounds(**pairs), 2 * lines), faced=True)


def top_notes(source: Melody) -> Melody:
    """One note a line and onset: the top one."""
    top = np.ones(len(source), np.bool_)
    top[1:] = (np.diff(source.line) != 0) | (np.diff(source.place) != 0)
    first = np.flatnonzero(top)
    kept = _only(source, first, source.end[first])
    return replace(kept, first=np.arange(len(first), dtype=np.int64))


def joined(source: Melody, gap: int) -> Melody:
    """The same lines with repeated notes joined: same pitch, at most `gap` ticks between."""
    new = np.ones(len(source), np.bool_)
    new[1:] = (
        (np.diff(source.line) != 0)
        | (np.diff(source.pitch) != 0)
        | (source.onset[1:] - source.end[:-1] > gap)
    )
    first = np.flatnonzero(new)
    return _only(source, first, np.maximum.reduceat(source.end, first) if len(first) else first)


def _only(source: Melody, first: Ints, end: Ints) -> Melody:
    """These notes of the melody alone, with these ends."""
    line = source.line[first]
    return replace(
        source,
        line=line,
        onset=source.onset[first],
        end=end,
        until=_until(line, end),
        pitch=source.pitch[first],
        degree=source.degree[first],
        note=source.note[first],
        first=first,
        place=source.place[first],
    )


def _until(line: Ints, end: Ints) -> Ints:
    width = int(end.max()) + 1 if len(end) else 1
    return np.maximum.accumulate(line * width + end) - line * width
