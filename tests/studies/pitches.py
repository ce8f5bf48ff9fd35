"""Pitches with their spelling: places on the line of fifths, and transposition."""

from __future__ import annotations

from dataclasses import dataclass

_LETTERS = "FCGDAEB"
_WHITE = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_ORDER = "CDEFGAB"


@dataclass(frozen=True, order=True)
class Pitch:
    """A pitch: MIDI number, and place on the line of fifths (C 0, G 1, F -1, B flat -2 ...)."""

    midi: int
    fifth: int

    @property
    def step(self) -> str:
        """Letter."""
        return _LETTERS[(self.fifth + 1) % 7]

    @property
    def alter(self) -> int:
        """Semitones above the white key of the letter."""
        return (self.fifth + 1) // 7

    @property
    def octave(self) -> int:
        """Octave, 4 from the middle C on; B sharp and C flat stay with their letter."""
        return (self.midi - self.alter - _WHITE[self.step]) // 12 - 1

    @property
    def degree(self) -> int:
        """Diatonic steps above C0."""
        return self.octave * 7 + _ORDER.index(self.step)

    def moved(self, interval: Interval) -> Pitch:
        """The pitch one interval away."""
        return Pitch(self.midi + interval.semitones, self.fifth + interval.fifths)

    def octaves(self, count: int) -> Pitch:
        """The same pitch class so many octaves higher."""
        return Pitch(self.midi + 12 * count, self.fifth)


@dataclass(frozen=True)
class Interval:
    """An interval upwards, negative downwards: semitones and diatonic steps."""

    semitones: int
    steps: int

    @property
    def fifths(self) -> int:
        """Places on the line of fifths."""
        return 7 * self.semitones - 12 * self.steps

    @property
    def back(self) -> Interval:
        """The same distance the other way."""
        return Interval(-self.semitones, -self.steps)


def class_of(fifth: int) -> int:
    """Pitch class, 0 to 11, of a place on the line of fifths."""
    return fifth * 7 % 12


def between(fifths: frozenset[int] | set[int], low: int, high: int) -> list[Pitch]:
    """All pitches of some places on the line of fifths from `low` to `high`, from the bottom."""
    return sorted(
        Pitch(midi, fifth)
        for fifth in fifths
        for midi in range(low, high + 1)
        if midi % 12 == class_of(fifth)
    )


def second_name(key: int) -> int:
    """How far a key beyond six sharps or flats is moved to its other name, in fifths."""
    return -12 if key > 6 else 12 if key < -6 else 0
