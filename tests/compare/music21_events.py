"""What music21 makes of a score: one event for every note, part by part, and the bars.

music21 joins tied notes and moves every note to its sounding pitch; nothing is corrected here.
"""

from __future__ import annotations

import tempfile
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Event:
    """One note: where it begins, what it is and how long it lasts, in quarters.

    `onset` is counted from the bar line; `step`, `alter` and `octave` spell the sounding
    pitch and are None for a note without pitch.
    """

    bar_index: int
    onset: Fraction
    duration: Fraction
    step: str | None
    alter: Fraction | None
    octave: int | None

    @property
    def spelling(self) -> tuple[str | None, Fraction | None, int | None]:
        """The sounding pitch as it is spelled."""
        return self.step, self.alter, self.octave


@dataclass(frozen=True)
class PartEvents:
    """The notes of one part, all staves together, and where its bars begin, in quarters."""

    events: tuple[Event, ...]
    bar_starts: tuple[Fraction, ...]


def read(path: Path) -> dict[str, PartEvents]:
    """Parts by their MusicXML id, as music21 reads the file at `path`.

    Whatever music21 raises for a file that it cannot read goes up to the caller.
    """
    from music21 import converter, environment, stream

    with tempfile.TemporaryDirectory() as scratch, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        environment.Environment()["directoryScratch"] = scratch
        score = converter.parse(path, format="musicxml", forceSource=True)
        score.toSoundingPitch(inPlace=True)
        score.stripTies(inPlace=True)
    staves: dict[str, list[Any]] = {}
    for part in score.getElementsByClass(stream.Part):
        staves.setdefault(_part_id(part), []).append(part)
    return {part_id: _part_events(of_part) for part_id, of_part in staves.items()}


def _part_id(part: Any) -> str:
    # music21 turns the id of a part into its name, but marks every part with the group of
    # that id; the staves of one part are parts of their own with ids of the form P1-Staff2.
    label = str(part.groups[-1])
    return label.rpartition("-Staff")[0] if "PartStaff" in part.classes else label


def _part_events(staves: list[Any]) -> PartEvents:
    events: list[Event] = []
    bar_starts: list[Fraction] = []
    for staff in staves:
        measures = list(staff.getElementsByClass("Measure"))
        bar_starts = [Fraction(measure.offset) for measure in measures]
        for bar_index, measure in enumerate(measures):
            events.extend(_bar_events(bar_index, measure))
    return PartEvents(tuple(events), tuple(bar_starts))


def _bar_events(bar_index: int, measure: Any) -> Iterator[Event]:
    for container in (measure, *measure.voices):
        start = Fraction(0) if container is measure else Fraction(container.offset)
        for element in container.notes:
            if "Harmony" in element.classes:  # a chord symbol is no note
                continue
            onset = start + Fraction(element.offset)
            for note in element.notes if hasattr(element, "notes") else (element,):
                yield _event(bar_index, onset, Fraction(element.duration.quarterLength), note)


def _event(bar_index: int, onset: Fraction, duration: Fraction, note: Any) -> Event:
    if not hasattr(note, "pitch"):
        return Event(bar_index, onset, duration, None, None, None)
    pitch = note.pitch
    alter = Fraction(pitch.accidental.alter) if pitch.accidental is not None else Fraction(0)
    return Event(bar_index, onset, duration, pitch.step, alter, pitch.octave)
