"""Named classes of difference between music21 and this project.

A class is a predicate on the source file alone: it says of which notes or bars a difference is
to be expected, which of the two sides is right there, and why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from source_notes import BarId, NoteId, SourceNote, SourceScore
from tie_pairs import Ties


def _ids(notes: Iterable[SourceNote]) -> set[NoteId]:
    return {note.id for note in notes}


def chord_tied_in_part(ties: Ties) -> set[NoteId]:
    """Chords at either end of a tie that does not lead from all their notes to all notes."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        if note.id not in ties.next:
            continue
        here, there = ties.stem(note), ties.stem(ties.next[note.id])
        if len(here) == len(there) == 1:
            continue
        led = {ties.next[other.id].id for other in here if other.id in ties.next}
        if led != _ids(there) or len(led) != len(here):
            for other in (*here, *there):
                found |= _ids(ties.chain(other))
    return found


def unequal_chord_note(ties: Ties) -> set[NoteId]:
    """Notes of a chord that last another time than the note with the stem, and ties to them."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        if note.duration != ties.stem(note)[0].duration:
            found |= _ids(ties.chain(note))
    return found


def tie_across_other_voice(ties: Ties) -> set[NoteId]:
    """Both ends of a tie between which something else of the staff begins.

    Besides, what begins there and is tied itself or has the same pitch.
    """
    found: set[NoteId] = set()
    for note in ties.score.notes():
        following = ties.next.get(note.id)
        others = [] if following is None else list(ties.between(note, following))
        if following is None or not others:
            continue
        found |= {note.id, following.id}
        for other in others:
            if other.ties or other.written == note.written:
                found |= _ids(ties.chain(other))
    return found


def one_ended_tie(ties: Ties) -> set[NoteId]:
    """Notes at the only end of a tie, and what the staff begins next after a beginning."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        if "stop" in note.ties and note.id not in ties.last:
            found.add(note.id)
        if "start" in note.ties and note.id not in ties.next:
            found |= _ids(ties.chain(note))
            for other in ties.begins_next(note):
                found |= _ids(ties.chain(other))
    return found


def printed_natural(ties: Ties) -> set[NoteId]:
    """Tied notes, a natural sign before one and not before the next, where no stop ends them."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        following = ties.next.get(note.id)
        if following is None or (following.id not in ties.next and "stop" in following.ties):
            continue
        if _prints_natural(note) != _prints_natural(following):
            found |= _ids(ties.chain(note))
    return found


def _prints_natural(note: SourceNote) -> bool:
    return note.element.findtext("accidental") == "natural"


def accidental_against_alter(ties: Ties) -> set[NoteId]:
    """Notes whose printed accidental says another pitch than their `alter`."""
    signs = {"sharp": 1, "flat": -1, "natural": 0}
    return {
        note.id
        for note in ties.score.notes()
        if (sign := note.element.findtext("accidental")) in signs
        and Fraction(note.element.findtext("pitch/alter", "0").strip()) != signs[sign]
    }


def two_note_tremolo(ties: Ties) -> set[NoteId]:
    """The notes of a tremolo between two notes or chords."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        marks = note.element.iterfind("notations/ornaments/tremolo")
        if any(mark.get("type") in ("start", "stop") for mark in marks):
            found |= _ids(ties.stem(note))
    return found


def harmonic(ties: Ties) -> set[NoteId]:
    """Notes with the mark of a harmonic, chords with a diamond notehead, and ties to them."""
    found: set[NoteId] = set()
    for note in ties.score.notes():
        marked = note.has("notations/technical/harmonic")
        if marked or note.element.findtext("notehead") == "diamond":
            for other in ties.stem(note):
                found |= _ids(ties.chain(other))
    return found


def transposed_elsewhere(ties: Ties) -> set[NoteId]:
    """Notes of a bar in which a transposition holds for less than the whole bar and part.

    That is: it changes within the bar, is stated for one staff, or doubles the notes; and notes
    before the first `transpose` of a part.
    """
    found: set[NoteId] = set()
    for bars in ties.score.parts.values():
        stated = any(bar.transpositions for bar in bars)
        force = "nothing yet"
        for bar in bars:
            within = any(change.onset for change in bar.transpositions)
            for change in bar.transpositions:
                force = "part of the notes" if change.staff or change.doubles else "all notes"
            if within or force == "part of the notes" or (force == "nothing yet" and stated):
                found |= _ids(note for note in bar.notes if not note.is_rest)
    return found


def filled_otherwise(score: SourceScore) -> set[BarId]:
    """Bars that a part fills less, or more, than the score's bar is long."""
    return {
        (bar.part_id, bar.bar_index)
        for bars in score.parts.values()
        for bar in bars
        if bar.filled != bar.length
    }


def direction_past_bar(score: SourceScore) -> set[BarId]:
    """Bars in which the offset of a direction or chord symbol points past their end."""
    return {
        (bar.part_id, bar.bar_index)
        for bars in score.parts.values()
        for bar in bars
        if bar.directions > bar.filled
    }


def empty_forward(score: SourceScore) -> set[BarId]:
    """Bars with a step forward by nothing."""
    return {
        (bar.part_id, bar.bar_index)
        for bars in score.parts.values()
        for bar in bars
        if bar.steps_by_nothing
    }


@dataclass(frozen=True)
class DifferenceClass:
    """A class of difference: what it speaks of, which side is right there, and why."""

    name: str
    right: str
    why: str
    notes: Callable[[Ties], set[NoteId]] | None = None
    bars: Callable[[SourceScore], set[BarId]] | None = None


CLASSES: tuple[DifferenceClass, ...] = (
    DifferenceClass(
        "chord tied in part",
        "collaparte",
        "A tie belongs to one note of a chord; music21 ties whole chords or none of their notes.",
        notes=chord_tied_in_part,
    ),
    DifferenceClass(
        "chord of unequal notes",
        "collaparte",
        "Every note of a chord has a duration of its own; music21 gives all that of the first"
        " (which agrees with the page where a file writes the durations of chord notes wrongly).",
        notes=unequal_chord_note,
    ),
    DifferenceClass(
        "printed natural in a tie",
        "collaparte",
        "A sign is print and changes no pitch; music21 takes the two notes for different pitches.",
        notes=printed_natural,
    ),
    DifferenceClass(
        "sign against alter",
        "collaparte",
        "`alter` says what sounds, a sign what is printed; music21 lets the sign win.",
        notes=accidental_against_alter,
    ),
    DifferenceClass(
        "tie with one end",
        "collaparte",
        "A tie needs a beginning and an end that meet; music21 joins what comes next, or last"
        " (which agrees with the page where rounded durations keep the two from meeting).",
        notes=one_ended_tie,
    ),
    DifferenceClass(
        "tie across another voice",
        "collaparte",
        "Voices only group notes; music21 looks for the end of a tie in the next note it meets.",
        notes=tie_across_other_voice,
    ),
    DifferenceClass(
        "two-note tremolo",
        "collaparte",
        "Both notes sound through the whole tremolo; music21 plays the one after the other.",
        notes=two_note_tremolo,
    ),
    DifferenceClass(
        "harmonic",
        "collaparte",
        "Base and touching note are one sound; music21 plays every notehead.",
        notes=harmonic,
    ),
    DifferenceClass(
        "transposition elsewhere",
        "collaparte",
        "A transposition holds from its place on, for its staff; music21 gives it to whole bars"
        " and parts, knows no doubling, and takes an instrument's own where none is written yet.",
        notes=transposed_elsewhere,
    ),
    DifferenceClass(
        "bar filled otherwise",
        "collaparte",
        "Bars begin together in all parts; music21 lets a part go on where its own bar ends.",
        bars=filled_otherwise,
    ),
    DifferenceClass(
        "direction past the bar",
        "collaparte",
        "An offset moves a sign and no bar line; music21 makes the bar longer.",
        bars=direction_past_bar,
    ),
    DifferenceClass(
        "step by nothing",
        "collaparte",
        "A step forward by nothing takes no time; music21 makes a quarter rest of it.",
        bars=empty_forward,
    ),
)
