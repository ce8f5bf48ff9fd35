"""Which notes of a source file its ties make one, by pitch and time."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction
from functools import cached_property
from itertools import islice

from source_notes import NoteId, SourceNote, SourceScore

from collaparte.readers.musicxml.ties import FEWEST_TIES, MET_SHARE


class Ties:
    """Which note each tie of a score leads to, by pitch and time."""

    def __init__(self, score: SourceScore) -> None:
        self.score = score
        self.start: dict[NoteId, Fraction] = {}
        self.stems: dict[NoteId, list[SourceNote]] = defaultdict(list)
        self.at: dict[tuple[str, Fraction | None, Fraction], list[SourceNote]] = defaultdict(list)
        self.staves: dict[tuple[str, str], list[SourceNote]] = defaultdict(list)
        for bars in score.parts.values():
            for bar in bars:
                for note in bar.notes:
                    self.start[note.id] = start = bar.start + note.onset
                    if not note.has("grace"):
                        self.staves[note.part_id, note.staff].append(note)
                    if not note.is_rest:
                        self.stems[note.part_id, note.chord_of].append(note)
                        self.at[note.part_id, note.written, start].append(note)
        for notes in self.staves.values():
            notes.sort(key=lambda note: self.start[note.id])

    def end(self, note: SourceNote) -> Fraction:
        """Where the note ends, in quarters from the beginning."""
        return self.start[note.id] + note.duration

    def stem(self, note: SourceNote) -> list[SourceNote]:
        """The notes on the note's stem, itself included."""
        return self.stems[note.part_id, note.chord_of]

    @cached_property
    def next(self) -> dict[NoteId, SourceNote]:
        """The note that a tie leads to, by the note that it comes from."""
        starts = [n for n in self.score.notes() if "start" in n.ties and not n.has("grace")]
        found = self._paired(starts, needs_stop=True)
        # Some programs write only where a tie begins: then the beginning is all there is.
        if len(starts) >= FEWEST_TIES and len(found) <= len(starts) * MET_SHARE:
            return self._paired(starts, needs_stop=False)
        return found

    def _paired(self, starts: list[SourceNote], needs_stop: bool) -> dict[NoteId, SourceNote]:
        found: dict[NoteId, SourceNote] = {}
        taken: set[NoteId] = set()
        for same_voice in (True, False):
            for note in starts:
                for other in self.at[note.part_id, note.written, self.end(note)]:
                    if (
                        note.id not in found
                        and other.id not in taken
                        and ("stop" in other.ties or not needs_stop)
                        and (_rank(other) == _rank(note) or not same_voice)
                    ):
                        found[note.id] = other
                        taken.add(other.id)
        return found

    @cached_property
    def last(self) -> dict[NoteId, SourceNote]:
        """The note that a tie comes from, by the note that it leads to."""
        notes = {note.id: note for note in self.score.notes()}
        return {following.id: notes[note_id] for note_id, following in self.next.items()}

    def chain(self, note: SourceNote) -> list[SourceNote]:
        """All the notes that ties make one with `note`, itself included, in order."""
        while note.id in self.last:
            note = self.last[note.id]
        links = [note]
        while links[-1].id in self.next:
            links.append(self.next[links[-1].id])
        return links

    def begins_next(self, note: SourceNote) -> list[SourceNote]:
        """The notes that the staff begins first, from the end of `note` on."""
        staff = self.staves[note.part_id, note.staff]
        first = bisect_left(staff, self.end(note), key=lambda other: self.start[other.id])
        return [
            other
            for other in staff[first:]
            if self.start[other.id] == self.start[staff[first].id] and not other.is_rest
        ]

    def between(self, note: SourceNote, following: SourceNote) -> Iterator[SourceNote]:
        """What other stems of the staff begin, from the one note on to the other."""
        staff = self.staves[note.part_id, note.staff]
        first = bisect_left(staff, self.start[note.id], key=lambda other: self.start[other.id])
        for other in islice(staff, first, None):
            if self.start[other.id] > self.start[following.id]:
                return
            if other.chord_of not in (note.chord_of, following.chord_of):
                yield other


def _rank(note: SourceNote) -> tuple[str, str | None]:
    return note.staff, note.voice
