"""Note elements → sounding note events, ties merged.

Steps, each on whole columns: time, pitch, tremolos between two notes, harmonics, ties; then
the events that the file implies without writing them out (octave signs over a part, signs that
repeat bars).
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.readers.musicxml.attributes import MOST_STAVES, StaffState
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.pitches import (
    HARMONIC_ABOVE,
    Pitches,
    sounding,
    written_pitches,
)
from collaparte.readers.musicxml.ties import chains, stops_are_missing
from collaparte.readers.musicxml.timeline import Flags, Positions, Rows, Timeline
from collaparte.readers.musicxml.tokens import Indexes
from collaparte.remarks import Remark

SILENT_STAVES = ("alternate", "ossia", "cue")
"""Kinds of staff that do not sound: another reading, or notes for guidance."""


@dataclass(frozen=True)
class States:
    """What is in force on the staves of the score."""

    transposition: StaffState
    clef_sign: StaffState
    staff_type: StaffState
    slash: StaffState


@dataclass(frozen=True)
class Notes:
    """The notes that are not rests, one entry a `note` element, in document order.

    `row` is the element's row, `number` its index among the part's `note` elements; time is in
    units of the timeline; `voice` and `instrument` are codes into the two tuples, -1: none.
    """

    row: Indexes
    number: Indexes
    part: Indexes
    staff: Indexes
    voice: Indexes
    instrument: Indexes
    onset: Positions
    end: Positions
    grace: Flags
    cue: Flags
    chord: Flags
    printed: Flags
    voices: tuple[str, ...]
    instruments: tuple[str, ...]

    def __len__(self) -> int:
        """How many notes there are."""
        return len(self.row)


def notes_of(rows: Rows, timeline: Timeline) -> Notes:
    """The notes of all parts, rests left out."""
    table = rows.table
    is_note = rows.of("note")
    first = np.searchsorted(rows.part[is_note], np.arange(rows.parts))
    number = np.arange(len(is_note), dtype=np.int32) - first[rows.part[is_note]]
    sounds = (rows.flag("pitch") | rows.flag("unpitched"))[is_note]
    row, number = is_note[sounds], number[sounds].astype(np.int32)
    voice, voices = rows.text_in("voice")
    element = rows.element_in("instrument")[row]
    instrument = np.full(len(row), -1, np.int32)
    codes, ids = table.attribute(element[element >= 0], "id")
    instrument[element >= 0] = codes
    printed_codes, printed = table.attribute(rows.element[row], "print-object")
    onset = timeline.onset[row]
    grace = rows.flag("grace")[row]
    return Notes(
        row=row,
        number=number,
        part=rows.part[row],
        staff=staves_of(rows)[row],
        voice=voice[row],
        instrument=instrument,
        onset=onset,
        end=onset + np.where(grace, 0, timeline.length[row]),
        grace=grace,
        cue=rows.flag("cue")[row],
        chord=rows.flag("chord")[row],
        printed=np.array([value != "no" for value in printed], bool)[printed_codes],
        voices=tuple(text.strip() for text in voices),
        instruments=tuple(value or "" for value in ids),
    )


def staves_of(rows: Rows) -> Indexes:
    """Staff of every row, 1 where none is named."""
    codes, texts = rows.text_in("staff")
    numbers = [min(whole(text) or 1, MOST_STAVES - 1) for text in texts]
    return np.array([*numbers, 1], np.int32)[codes]


@dataclass(frozen=True)
class Events:
    """Sounding events, one entry an event.

    `late` marks grace notes that stand at the end of their bar and belong to it; `origin` is
    the note (entry of `Notes`) that it begins with, `head` the event's own first
    note for every note, so that marks of notes find their event.
    """

    origin: Indexes
    part: Indexes
    staff: Indexes
    voice: Indexes
    onset: Positions
    end: Positions
    late: Flags
    pitches: Pitches
    cue: Flags
    unpitched: Flags
    tie_in: Flags
    derived: Flags
    inferred: Flags
    uncertain: Flags
    tremolo_pair: Indexes

    def __len__(self) -> int:
        """How many events there are."""
        return len(self.origin)

    def take(self, index: npt.NDArray[np.integer[Any]]) -> Events:
        """Some of the events, or all in another order."""
        columns: dict[str, Any] = {}
        for item in fields(self):
            value = getattr(self, item.name)
            columns[item.name] = value.take(index) if isinstance(value, Pitches) else value[index]
        return Events(**columns)


def joined(first: Events, second: Events) -> Events:
    """Two sets of events as one."""
    columns: dict[str, Any] = {}
    for item in fields(Events):
        one, other = getattr(first, item.name), getattr(second, item.name)
        columns[item.name] = (
            Pitches(
                *(
                    np.concatenate((getattr(one, part.name), getattr(other, part.name)))
                    for part in fields(Pitches)
                )
            )
            if isinstance(one, Pitches)
            else np.concatenate((one, other))
        )
    return Events(**columns)


def events_of(
    rows: Rows, timeline: Timeline, notes: Notes, states: States, remarks: list[Remark]
) -> tuple[Events, npt.NDArray[np.int64]]:
    """Sounding events, and for every note the note that its event begins with (-1: none)."""
    bar_end = (timeline.bar_start + timeline.bar_length)[rows.bar[notes.row]]
    late = notes.grace & (notes.onset == bar_end) & (rows.bar[notes.row] < rows.bars)
    time = notes.onset - late
    code = states.transposition.at(notes.part, notes.staff, time)
    pitches, second = sounding(written_pitches(rows, notes.row), states.transposition, code)
    unpitched = ~pitches.pitched
    uncertain = _on_percussion_clef(rows, notes, states, unpitched, remarks)
    slashed = states.slash.at(notes.part, notes.staff, time) > 0
    if slashed.any():
        _unpitch(pitches, slashed)
        unpitched |= slashed
    cue = notes.cue | (states.staff_type.at(notes.part, notes.staff, time) > 0)
    if (cue & ~notes.cue).any():
        remarks.append(
            _remark_at(
                rows,
                notes,
                cue & ~notes.cue,
                "alternate_staff",
                "Notes stand on an ossia, alternate or cue staff.",
                "They are kept as silent notes (is_cue).",
            )
        )
    onset, end, pair = _tremolos(rows, notes)
    kept, uncertain = _harmonics(rows, notes, pitches, uncertain)
    start, stop = _tie_marks(rows, notes)
    timed = ~notes.grace & (end > onset) & kept
    pitch = np.where(unpitched, -2 - display_codes(rows, notes)[0], pitches.hundredths).astype(
        np.int64
    )
    part, voice, staff = (
        column.astype(np.int64) for column in (notes.part, notes.voice, notes.staff)
    )
    starts, stops = start & timed, stop & timed
    head, open_stop = chains(starts, stops, onset, end, (part, pitch, voice, staff))
    if stops_are_missing(starts, head):
        following = timed & ~open_stop
        head, _ = chains(starts, following, onset, end, (part, pitch, voice, staff), levels=1)
        open_stop = stops & (head == np.arange(len(notes)))
        remarks.append(
            _remark_at(
                rows,
                notes,
                starts,
                "ties_without_ends",
                "The file writes where ties begin and not where they end.",
                "A tie was led to the note of the same pitch that follows in its voice.",
            )
        )
    _remark_on_ties(rows, notes, start & timed, open_stop, head, remarks)
    head = head[_companions(notes, kept)]
    last = end.copy()
    np.maximum.at(last, head, end)
    origin = np.flatnonzero(head == np.arange(len(notes))).astype(np.int32)
    events = Events(
        origin=origin,
        part=notes.part[origin],
        staff=notes.staff[origin],
        voice=notes.voice[origin],
        onset=onset[origin],
        end=last[origin],
        late=late[origin],
        pitches=pitches.take(origin),
        cue=cue[origin],
        unpitched=unpitched[origin],
        tie_in=open_stop[origin],
        derived=np.zeros(len(origin), bool),
        inferred=np.zeros(len(origin), bool),
        uncertain=uncertain[origin],
        tremolo_pair=pair[origin],
    )
    events = _with_second_lines(events, second[origin])
    return events, head


def _with_second_lines(events: Events, octaves: npt.NDArray[np.int16]) -> Events:
    """Add the line an octave away that a `double` asks for."""
    doubled = np.flatnonzero((octaves != 0) & ~events.unpitched)
    if not len(doubled):
        return events
    copies = events.take(doubled)
    distance = octaves[doubled]
    moved = copies.pitches.moved(7 * distance, 12 * distance)
    return joined(events, replace(copies, pitches=moved, derived=np.ones(len(doubled), bool)))


def with_repeated_bars(
    rows: Rows, timeline: Timeline, events: Events, remarks: list[Remark]
) -> Events:
    """Fill empty bars under a sign that repeats the bars before, marked as inferred."""
    table = rows.table
    signs = table.of("measure-repeat", 5)
    if not len(signs):
        return events
    kinds, types = table.attribute(signs, "type")
    texts_at, texts = table.texts_of(signs)
    running: dict[int, tuple[int, int]] = {}
    spans: list[tuple[int, int, int, int]] = []
    for element, kind, text in zip(signs.tolist(), kinds.tolist(), texts_at.tolist(), strict=True):
        row = int(table.row[element])
        part, bar = int(rows.part[row]), int(rows.bar[row])
        if part in running:
            first, size = running.pop(part)
            spans.append((part, first, bar, size))
        if types[kind] == "start":
            running[part] = (bar, whole(texts[text]) or 1)
    spans += [(part, first, rows.bars, size) for part, (first, size) in running.items()]
    copied = 0
    for part, first, stop, size in sorted(spans):
        for bar in range(first, stop):
            here = (events.part == part) & (timeline.bar_at(events.onset) == bar)
            if here.any() or bar < size:
                continue
            source = (events.part == part) & (timeline.bar_at(events.onset) == bar - size)
            copies = events.take(np.flatnonzero(source))
            shift = timeline.bar_start[bar] - timeline.bar_start[bar - size]
            events = joined(
                events,
                replace(
                    copies,
                    onset=copies.onset + shift,
                    end=copies.end + shift,
                    inferred=np.ones(len(copies), bool),
                ),
            )
            copied += 1
    if copied:
        remarks.append(
            Remark(
                "repeated_bars",
                "Bars hold only a sign that repeats the bars before.",
                "The notes of those bars were copied and marked as inferred.",
                count=copied,
            )
        )
    return events


def _on_percussion_clef(
    rows: Rows, notes: Notes, states: States, unpitched: Flags, remarks: list[Remark]
) -> Flags:
    found = (states.clef_sign.at(notes.part, notes.staff, notes.onset) > 0) & ~unpitched
    if found.any():
        remarks.append(
            _remark_at(
                rows,
                notes,
                found,
                "pitch_on_percussion_clef",
                "Notes on a percussion clef have a pitch.",
                "The pitch was kept and marked as uncertain.",
                "warning",
            )
        )
    return found


def _unpitch(pitches: Pitches, which: Flags) -> None:
    pitches.step[which] = -1
    pitches.alter[which] = 0
    pitches.octave[which] = 0
    pitches.hundredths[which] = 0


def display_codes(rows: Rows, notes: Notes) -> tuple[Indexes, tuple[str, ...]]:
    """Where unpitched notes stand on the staff: code and names (treble clef), code 0: none."""
    step, steps = rows.text_in("display-step", 5)
    octave, octaves = rows.text_in("display-octave", 5)
    width = len(octaves) + 1
    code = (step[notes.row].astype(np.int64) + 1) * width + octave[notes.row] + 1
    names = [""] * ((len(steps) + 1) * width)
    for first, text in enumerate(steps):
        for second, number in enumerate(octaves):
            names[(first + 1) * width + second + 1] = text.strip() + number.strip()
    return code.astype(np.int32), tuple(names)


def _tie_marks(rows: Rows, notes: Notes) -> tuple[Flags, Flags]:
    """Notes that start and that stop a tie."""
    table = rows.table
    ties = table.of("tie", 4)
    codes, types = table.attribute(ties, "type")
    flags = []
    for kind in ("start", "stop"):
        found = np.zeros(len(rows.element), bool)
        found[table.row[ties[np.array([value == kind for value in types], bool)[codes]]]] = True
        flags.append(found[notes.row])
    return flags[0], flags[1]


def _remark_on_ties(
    rows: Rows,
    notes: Notes,
    start: Flags,
    open_stop: Flags,
    head: npt.NDArray[np.int64],
    remarks: list[Remark],
) -> None:
    order = np.argsort(head, kind="stable")
    final = np.ones(len(head), bool)
    final[:-1] = head[order][1:] != head[order][:-1]
    last = np.zeros(len(head), bool)
    last[order[final]] = True
    open_start = start & last
    for which, what in ((open_start, "begins"), (open_stop, "ends")):
        if which.any():
            remarks.append(
                _remark_at(
                    rows,
                    notes,
                    which,
                    f"tie_{what}_alone",
                    f"A tie {what} on a note and has no partner of the same pitch at its time.",
                    "The note was kept as an attack of its own.",
                )
            )


def _remark_at(
    rows: Rows,
    notes: Notes,
    which: Flags,
    code: str,
    message: str,
    done: str,
    severity: str = "note",
) -> Remark:
    row = int(notes.row[np.flatnonzero(which)[0]])
    return Remark(
        code,
        message,
        done,
        severity,
        bar_index=int(rows.bar[row]),
        part_index=int(rows.part[row]),
        count=int(which.sum()),
    )


def _tremolos(rows: Rows, notes: Notes) -> tuple[Positions, Positions, Indexes]:
    """Onset and end of every note, and the pair that it makes a tremolo with (-1: none).

    The two notes (or chords) of a tremolo both sound through its whole span.
    """
    onset, end = notes.onset.copy(), notes.end.copy()
    pair = np.full(len(notes), -1, np.int32)
    table = rows.table
    elements = table.of("tremolo", 6)
    codes, types = table.attribute(elements, "type")
    started: dict[tuple[int, int, int], int] = {}
    number = 0
    double = np.array([value in ("start", "stop") for value in types], bool)
    if not double.any():
        return onset, end, pair
    at = np.full(len(rows.element), -1, np.int32)
    at[notes.row] = np.arange(len(notes))
    for element, code in zip(
        elements[double[codes]].tolist(), codes[double[codes]].tolist(), strict=True
    ):
        note = int(at[table.row[element]])
        if note < 0:
            continue
        key = (int(notes.part[note]), int(notes.staff[note]), int(notes.voice[note]))
        if types[code] == "start":
            started[key] = note
        elif key in started:
            first = started.pop(key)
            members = [*_chord_of(notes, first), *_chord_of(notes, note)]
            onset[members] = notes.onset[first]
            end[members] = notes.end[note]
            pair[members] = number
            number += 1
    return onset, end, pair


def _chord_of(notes: Notes, note: int) -> list[int]:
    """The notes of the chord that a note belongs to."""
    first = note
    while notes.chord[first] and first > 0:
        first -= 1
    last = note + 1
    while last < len(notes) and notes.chord[last]:
        last += 1
    return list(range(first, last))


def _companions(notes: Notes, kept: Flags) -> npt.NDArray[np.int64]:
    """The kept note of the chord that each note left out belongs to; itself where kept."""
    own = np.arange(len(notes))
    for note in np.flatnonzero(~kept).tolist():
        own[note] = next((other for other in _chord_of(notes, note) if kept[other]), note)
    return own


def _harmonics(rows: Rows, notes: Notes, pitches: Pitches, uncertain: Flags) -> tuple[Flags, Flags]:
    """Put what sounds in the place of the noteheads that say how to play a harmonic.

    Returns the notes that are kept (one a harmonic), and those of uncertain pitch.
    """
    kept = np.ones(len(notes), bool)
    roles = {
        role: rows.flag(role, 7)[notes.row]
        for role in ("base-pitch", "touching-pitch", "sounding-pitch")
    }
    marked = rows.flag("harmonic", 6)[notes.row]
    diamond = diamonds(rows, notes)
    uncertain = uncertain.copy()
    seen: set[int] = set()
    for note in np.flatnonzero(marked | diamond).tolist():
        chord = [member for member in _chord_of(notes, note) if member not in seen]
        seen.update(chord)
        if not chord:
            continue
        base = [m for m in chord if roles["base-pitch"][m]]
        touching = [m for m in chord if roles["touching-pitch"][m]]
        sounds = [m for m in chord if roles["sounding-pitch"][m]]
        if not (base or touching or sounds) and len(chord) == 2 and diamond[chord].sum() == 1:
            base = [m for m in chord if not diamond[m]]
            touching = [m for m in chord if diamond[m]]
        involved = [m for m in chord if m in base or m in touching or m in sounds]
        if sounds:
            target, pitch = sounds[0], pitches.take(np.array(sounds[:1], np.int32))
        elif base and touching:
            target = base[0]
            pitch, found = _partial(pitches, base[0], touching[0])
            uncertain[target] |= not found
        else:
            uncertain[touching] = True
            continue
        pitches.put(np.array([target], np.int32), pitch)
        kept[[m for m in involved if m != target]] = False
    return kept, uncertain


def _partial(pitches: Pitches, base: int, touching: int) -> tuple[Pitches, bool]:
    stopped = pitches.take(np.array([base], np.int32))
    distance = int(pitches.midi[touching]) - int(pitches.midi[base])
    if distance not in HARMONIC_ABOVE:
        return stopped, False
    steps, semitones = HARMONIC_ABOVE[distance]
    return stopped.moved(np.array([steps], np.int16), np.array([semitones], np.int16)), True


def diamonds(rows: Rows, notes: Notes) -> Flags:
    """True for notes with a diamond as their head."""
    codes, texts = rows.text_in("notehead")
    is_diamond = np.array([*(text.strip() == "diamond" for text in texts), False], bool)
    return is_diamond[codes][notes.row]
