"""Lines of a score, and stretches in which two of them go together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from studies.melody import QUARTER, Note
from studies.score import Score, instrument_in, key_in

KINDS = (
    "unison", "octave", "octave_displaced", "reiterated", "main_notes", "chordal",
    "parallel_thirds", "parallel_sixths",
)  # fmt: skip
# Matched notes, changes of pitch, distinct pitches: inclusive, then strict.
NEEDS = {
    "unison": ((4, 3, 1), (10, 7, 4)),
    "octave": ((4, 3, 1), (10, 7, 4)),
    "octave_displaced": ((4, 3, 1), (14, 10, 4)),
    "reiterated": ((4, 3, 1), (6, 4, 1)),
    "main_notes": ((4, 3, 1), (10, 7, 1)),
    "chordal": ((3, 2, 1), (12, 4, 2)),
    "parallel_thirds": ((8, 6, 1), (10, 8, 4)),
    "parallel_sixths": ((8, 6, 1), (10, 8, 4)),
}
_SILENCE = 4 * QUARTER
_SHARE_OF_ONSETS = 20
"""A further line of a staff exists from one onset in so many on."""


@dataclass(frozen=True, order=True)
class LineName:
    """A line: part, staff, its place on the staff from the top, instrument, one player alone."""

    place: int
    part_id: str
    staff: int
    rank: int
    instrument: str
    alone: bool = False


@dataclass
class CountedLine:
    """One line and its notes, one an onset: the top one."""

    name: LineName
    unit: str
    """Subfamily, or `chorus`: what it is in a group with."""
    family: str
    notes: list[Note]


@dataclass(frozen=True)
class Stretch:
    """One stretch in which two lines go together."""

    a: LineName
    b: LineName
    kind: str
    interval: int | None
    start: int
    end: int
    strict: bool
    pairs: tuple[tuple[Note, Note], ...] = ()
    """The matched notes, the bridged ones left out; none for chords."""


def lines_of(score: Score) -> list[CountedLine]:
    """The lines of a score in its order."""
    lines: list[CountedLine] = []
    for place, part in enumerate(score.study.parts):
        found: dict[tuple[int, int, str, bool], dict[int, Note]] = {}
        units: dict[str, tuple[str, str]] = {}
        for staff, seats in enumerate(part.seats, 1):
            ranked: list[tuple[int, Note]] = []
            for first, seat in enumerate(seats):
                at: dict[int, list[Note]] = {}
                for item in score.seats.get(seat, ()):
                    at.setdefault(item.note.onset, []).append(item.note)
                for notes in at.values():
                    notes.sort(key=lambda note: -note.pitch.midi)
                    ranked += [(first + rank, note) for rank, note in enumerate(notes)]
            onsets = {note.onset for _, note in ranked}
            ranks = max((rank for rank, _ in ranked), default=0)
            while ranks and _SHARE_OF_ONSETS * len(
                {note.onset for rank, note in ranked if rank >= ranks}
            ) < len(onsets):
                ranks -= 1
            for rank, note in ranked:
                number = score.scene_at(note.onset)
                instrument, name = instrument_in(part, number), key_in(part, number)
                voice = instrument.family == "voice"
                units[name] = "chorus" if voice else instrument.subfamily, instrument.family
                alone = score.alone(seats[0], note.onset)
                key = staff, min(rank, ranks), name, alone
                line = found.setdefault(key, {})
                other = line.get(note.onset)
                if other is None or note.pitch.midi > other.pitch.midi:
                    line[note.onset] = note
        lines += [
            CountedLine(
                LineName(place, part.part_id, staff, rank, instrument_key, alone),
                units[instrument_key][0],
                units[instrument_key][1],
                [line[onset] for onset in sorted(line)],
            )
            for (staff, rank, instrument_key, alone), line in sorted(found.items())
        ]
    return lines


def covered(stretch: Stretch, others: Iterable[Stretch]) -> int:
    """How much of a stretch others tell."""
    return sum(
        any(other.start <= time < other.end for other in others)
        for time in range(stretch.start, stretch.end)
    )


def breaks_of(a: list[Note], b: list[Note]) -> set[int]:
    """Onsets before which both lines are silent for more than four quarters."""
    found: set[int] = set()
    reached = None
    for note in sorted(a + b, key=lambda note: note.onset):
        if reached is not None and note.onset - reached > _SILENCE:
            found.add(note.onset)
        reached = max(reached or 0, note.end)
    return found
