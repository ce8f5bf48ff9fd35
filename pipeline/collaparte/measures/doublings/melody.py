"""The lines of a movement as sequences of notes: arrays, sorted by line and onset."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyarrow as pa

from collaparte.kernels.arrays import Ints
from collaparte.measures.sounding import sounding

_SEMITONE = 100


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
    note: Ints
    """Row of the (first) note in the table `notes`."""
    first: Ints
    """Position of its first note in the melody that it was joined from, else its own."""
    place: Ints
    """Rank of the onset among all onsets of the movement."""
    lines: int
    places: int

    def __len__(self) -> int:
        return len(self.line)

    @property
    def pair_numbers(self) -> int:
        """One more than the highest number of a pair of lines, `line a × lines + line b`."""
        return self.lines * self.lines


def sounds(notes: pa.Table, lines: pa.Table) -> Melody:
    """Every note of all lines, several at one onset from the top."""
    rows = sounding(notes)
    line = np.searchsorted(lines["line_key"].to_numpy(), notes["line_key"].to_numpy()[rows])
    onset = notes["onset_ticks"].to_numpy()[rows]
    end = onset + notes["duration_ticks"].to_numpy()[rows]
    pitch = notes["midi"].cast(pa.int64()).fill_null(0).to_numpy()[rows] * _SEMITONE
    pitch += notes["cents"].to_numpy()[rows]
    moments, place = np.unique(onset, return_inverse=True)
    order = np.lexsort((-pitch, line * len(moments) + place))
    return Melody(
        line=line[order],
        onset=onset[order],
        end=end[order],
        until=_until(line[order], end[order]),
        pitch=pitch[order],
        note=rows[order],
        first=np.arange(len(order), dtype=np.int64),
        place=place[order],
        lines=len(lines),
        places=len(moments),
    )


def top_notes(source: Melody) -> Melody:
    """One note a line and onset: the top one."""
    top = np.ones(len(source), np.bool_)
    top[1:] = (np.diff(source.line) != 0) | (np.diff(source.place) != 0)
    return Melody(
        line=source.line[top],
        onset=source.onset[top],
        end=source.end[top],
        until=_until(source.line[top], source.end[top]),
        pitch=source.pitch[top],
        note=source.note[top],
        first=np.arange(np.count_nonzero(top), dtype=np.int64),
        place=source.place[top],
        lines=source.lines,
        places=source.places,
    )


def joined(source: Melody, gap: int) -> Melody:
    """The same lines with repeated notes joined: same pitch, at most `gap` ticks between."""
    new = np.ones(len(source), np.bool_)
    new[1:] = (
        (np.diff(source.line) != 0)
        | (np.diff(source.pitch) != 0)
        | (source.onset[1:] - source.end[:-1] > gap)
    )
    first = np.flatnonzero(new)
    end = np.maximum.reduceat(source.end, first) if len(first) else source.end
    return Melody(
        line=source.line[first],
        onset=source.onset[first],
        end=end,
        until=_until(source.line[first], end),
        pitch=source.pitch[first],
        note=source.note[first],
        first=first,
        place=source.place[first],
        lines=source.lines,
        places=source.places,
    )


def _until(line: Ints, end: Ints) -> Ints:
    width = int(end.max()) + 1 if len(end) else 1
    return np.maximum.accumulate(line * width + end) - line * width
