"""Pitch of every note row: written, sounding, spelled; unpitched notes; harmonics.

Sources: MusicXML 4.0, elements `pitch`, `unpitched`, `transpose`, `harmonic`; sounding pitch is
written pitch plus the transposition in force, exactly as the file says. Octave lines and octave
clefs add nothing, accidentals are print.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.errors import ScoreError
from collaparte.readers.musicxml.attributes import StaffState, Transposition
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.timeline import Flags, Rows
from collaparte.readers.musicxml.tokens import Indexes

STEPS = "CDEFGAB"
NATURAL = np.array([0, 2, 4, 5, 7, 9, 11], np.int16)
NO_STEP = -1


@dataclass(frozen=True)
class Pitches:
    """Pitches of some notes.

    `step` (place in C D E F G A B, -1 where unpitched), `alter` (semitones, fractions allowed)
    and `octave` spell the sounding pitch, `hundredths` is that pitch in cents above MIDI 0,
    `written` the written pitch in MIDI numbers.
    """

    step: npt.NDArray[np.int16]
    alter: npt.NDArray[np.float32]
    octave: npt.NDArray[np.int16]
    hundredths: npt.NDArray[np.int32]
    written: npt.NDArray[np.int16]

    @property
    def pitched(self) -> Flags:
        """True for the notes with a pitch."""
        return self.step >= 0

    @property
    def midi(self) -> npt.NDArray[np.int16]:
        """Nearest semitone, a quarter tone up."""
        return ((self.hundredths + 50) // 100).astype(np.int16)

    @property
    def cents(self) -> npt.NDArray[np.int16]:
        """Distance from `midi`."""
        return (self.hundredths - 100 * self.midi.astype(np.int32)).astype(np.int16)

    def moved(self, steps: npt.NDArray[np.int16], semitones: npt.NDArray[np.int16]) -> Pitches:
        """The pitches an interval away; written pitches stay."""
        degree = self.step.astype(np.int32) + 7 * self.octave.astype(np.int32) + steps
        hundredths = np.where(self.pitched, self.hundredths + 100 * semitones.astype(np.int32), 0)
        step = np.where(self.pitched, degree % 7, NO_STEP).astype(np.int16)
        octave = np.where(self.pitched, degree // 7, 0).astype(np.int16)
        natural = 1200 * (octave.astype(np.int32) + 1) + 100 * NATURAL[step].astype(np.int32)
        alter = np.where(self.pitched, (hundredths - natural) / 100, 0).astype(np.float32)
        return replace(self, step=step, alter=alter, octave=octave, hundredths=hundredths)

    def take(self, rows: npt.NDArray[np.integer[Any]]) -> Pitches:
        """The pitches of some of the notes."""
        return Pitches(
            self.step[rows],
            self.alter[rows],
            self.octave[rows],
            self.hundredths[rows],
            self.written[rows],
        )

    def put(self, rows: Indexes, other: Pitches) -> None:
        """Replace the sounding pitches of some notes."""
        self.step[rows] = other.step
        self.alter[rows] = other.alter
        self.octave[rows] = other.octave
        self.hundredths[rows] = other.hundredths


def written_pitches(rows: Rows, notes: Indexes) -> Pitches:
    """Pitches of the note rows as written.

    Raises
    ------
    ScoreError
        A step, alteration or octave is none; the place is named.
    """
    step_codes, step_texts = rows.text_in("step", 5)
    octave_codes, octave_texts = rows.text_in("octave", 5)
    alter_codes, alter_texts = rows.text_in("alter", 5)
    steps = np.array([*(STEPS.find(text.strip()) for text in step_texts), NO_STEP], np.int16)
    for code, text in enumerate(step_texts):
        if steps[code] < 0 or len(text.strip()) != 1:
            raise _refused(rows, step_codes, code, f"“{text[:20]}” is not a step from A to G")
    octaves = np.zeros(len(octave_texts) + 1, np.int16)
    for code, text in enumerate(octave_texts):
        number = whole(text)
        if number is None or number > 10:
            raise _refused(rows, octave_codes, code, f"“{text[:20]}” is not an octave from 0 to 9")
        octaves[code] = number
    alters = np.zeros(len(alter_texts) + 1, np.int32)
    for code, text in enumerate(alter_texts):
        try:
            alters[code] = round(100 * float(text))
        except (ValueError, OverflowError):
            alters[code] = 10**6
        if abs(alters[code]) > 400:
            raise _refused(
                rows, alter_codes, code, f"“{text[:20]}” is not an alteration in semitones"
            )
    step, octave, alter = (
        steps[step_codes[notes]],
        octaves[octave_codes[notes]],
        alters[alter_codes[notes]],
    )
    pitched = rows.flag("pitch")[notes]
    partial = pitched & ((step < 0) | (octave_codes[notes] < 0))
    if partial.any():
        row = int(notes[np.flatnonzero(partial)[0]])
        raise ScoreError("bad_pitch", f"{rows.place(row)}: a pitch lacks its step or its octave.")
    step = np.where(pitched, step, NO_STEP).astype(np.int16)
    natural = 1200 * (octave.astype(np.int32) + 1) + 100 * NATURAL[step].astype(np.int32)
    hundredths = np.where(pitched, natural + alter, 0).astype(np.int32)
    return Pitches(
        step,
        (alter / 100).astype(np.float32),
        octave,
        hundredths,
        ((hundredths + 50) // 100).astype(np.int16),
    )


def _refused(rows: Rows, codes: Indexes, code: int, what: str) -> ScoreError:
    row = int(np.flatnonzero(codes == code)[0])
    return ScoreError("bad_pitch", f"{rows.place(row)}: {what}.")


def sounding(
    written: Pitches, transposition: StaffState, code: Indexes
) -> tuple[Pitches, npt.NDArray[np.int16]]:
    """Sounding pitches, and the octaves to a second sounding line (0: none) of every note."""
    values = [value for value in transposition.values if isinstance(value, Transposition)]
    steps = np.array([value.steps for value in values], np.int16)
    semitones = np.array([value.semitones for value in values], np.int16)
    second = np.array([value.octaves_to_second for value in values], np.int16)
    return written.moved(steps[code], semitones[code]), second[code]


HARMONIC_ABOVE = {3: (18, 31), 4: (16, 28), 5: (14, 24), 7: (11, 19), 12: (7, 12)}
"""Touching point above the stopped note, in semitones → steps and semitones from the stopped
note to what sounds: partials 6, 5, 4, 3 and 2 of a string (the arithmetic of its divisions)."""
