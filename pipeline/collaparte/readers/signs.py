"""Directions as signs: what they mean, where they act and from when."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from collaparte.kernels.lookup import last_before
from collaparte.readers.meanings import Meaning

Integers = npt.NDArray[np.int64]

MOST_STAVES = 64
ANY_VOICE = -1
_VOICES = 1000


class Sign(NamedTuple):
    """One direction with one meaning, from `time` on, until `end` (-1: open).

    `staff` is 0 where it acts on the whole part, `voice` `ANY_VOICE` where on all voices;
    `direction` is its number among the directions.
    """

    part: int
    staff: int
    voice: int
    time: int
    end: int
    meaning: Meaning
    from_words: bool
    direction: int

    def tracks(self, staves: Sequence[int]) -> list[int]:
        """The tracks that it acts on: staves of its part, all voices or one of each."""
        if self.staff:
            return [track_of(self.part, self.staff, self.voice)]
        numbers = range(1, staves[self.part] + 1)
        return [track_of(self.part, number, self.voice) for number in numbers]


@dataclass(frozen=True)
class Places:
    """Where every note stands: part, staff, voice code, onset."""

    part: Integers
    staff: Integers
    voice: Integers
    onset: Integers


def track_of(part: int, staff: int, voice: int) -> int:
    """The number of one voice on one staff of one part, or of all its voices."""
    return (part * MOST_STAVES + staff) * _VOICES + voice + 1


def all_voices(track: int) -> int:
    """The track of all voices on the staff of a track."""
    return track - track % _VOICES


def part_of_tracks(track: Integers) -> Integers:
    """The part of each track."""
    return track // (_VOICES * MOST_STAVES)


def in_force(places: Places, track: Integers, time: Integers) -> Integers:
    """The last sign on the staff of each note, for all voices or for its own; -1: none."""
    base = (places.part * MOST_STAVES + places.staff) * _VOICES
    shared = last_before(track, time, base, places.onset)
    if not len(track) or not (track % _VOICES > 0).any():
        return shared
    own = last_before(track, time, base + places.voice + 1, places.onset)
    later = (own >= 0) & ((shared < 0) | (time[np.maximum(own, 0)] >= time[np.maximum(shared, 0)]))
    return np.where(later, own, shared)
