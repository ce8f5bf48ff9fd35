"""A document as columns: everything that the tables are made of, before names are given."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from collaparte.readers.form import BarForm
from collaparte.readers.lines import voice_ranks
from collaparte.readers.musicxml.attributes import (
    StaffState,
    children_of,
    concert_fifths,
    signatures_of,
    staff_state,
    transpositions_of,
)
from collaparte.readers.musicxml.barlines import form_of
from collaparte.readers.musicxml.directions import Directions, directions_of
from collaparte.readers.musicxml.header import Header, header_of
from collaparte.readers.musicxml.marks import Marks, marks_of
from collaparte.readers.musicxml.notes import (
    SILENT_STAVES,
    Events,
    Notes,
    States,
    display_codes,
    events_of,
    notes_of,
    staves_of,
    with_repeated_bars,
)
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.timeline import Rows, Signatures, Timeline, rows_of, timeline_of
from collaparte.readers.musicxml.tokens import Indexes, element_table
from collaparte.remarks import Remark


@dataclass(frozen=True)
class Bars:
    """Bars of the score: numbers as printed, displayed text, whether the number is shown."""

    numbers: tuple[str, ...]
    labels: tuple[str | None, ...]
    implicit: npt.NDArray[np.bool_]
    fifths: npt.NDArray[np.int16]
    form: list[BarForm]


@dataclass(frozen=True)
class Score:
    """One document on columns; `head[note]` is the note that the note's event begins with."""

    rows: Rows
    header: Header
    timeline: Timeline
    signatures: Signatures
    staves: npt.NDArray[np.int16]
    transposition: StaffState
    notes: Notes
    events: Events
    head: npt.NDArray[np.int64]
    voice_rank: npt.NDArray[np.int64]
    display: Indexes
    display_names: tuple[str, ...]
    marks: Marks
    directions: Directions
    bars: Bars
    remarks: list[Remark]

    def transposition_of(self, events: Events) -> npt.NDArray[np.int64]:
        """Semitones from written to sounding pitch in force on every event."""
        values = [value.semitones for value in self.transposition.values]  # type: ignore[attr-defined]
        code = self.transposition.at(events.part, events.staff, events.onset - events.late)
        return np.array(values, np.int64)[code]


def score_of(data: bytes) -> Score:
    """A MusicXML document on columns.

    Raises
    ------
    ScoreError
        The document cannot be read; the sentence says why and where.
    """
    rows = rows_of(element_table(data))
    header = header_of(rows.table)
    signatures = signatures_of(rows)
    timeline = timeline_of(rows, signatures)
    remarks = list(timeline.remarks)
    staves = _staves(rows)
    states = _states(rows, timeline, staves, remarks)
    notes = notes_of(rows, timeline)
    events, head = events_of(rows, timeline, notes, states, remarks)
    events = with_repeated_bars(rows, timeline, events, remarks)
    display, display_names = display_codes(rows, notes)
    if header.unlisted:
        remarks.append(
            Remark(
                "part_not_listed",
                f"Parts are missing from the list of parts: {', '.join(header.unlisted[:5])}.",
                "They were read without a name.",
                "warning",
                count=len(header.unlisted),
            )
        )
    return Score(
        rows=rows,
        header=header,
        timeline=timeline,
        signatures=signatures,
        staves=staves,
        transposition=states.transposition,
        notes=notes,
        events=events,
        head=head,
        voice_rank=_voice_ranks(rows, timeline, notes),
        display=display,
        display_names=display_names,
        marks=marks_of(rows, notes),
        directions=directions_of(rows, timeline),
        bars=_bars(rows, timeline, states.transposition, remarks),
        remarks=remarks,
    )


def _staves(rows: Rows) -> npt.NDArray[np.int16]:
    """Staves of every part: what it states, or the highest staff that anything stands on."""
    staves = np.ones(rows.parts, np.int16)
    np.maximum.at(staves, rows.part, staves_of(rows).astype(np.int16))
    return staves


def _states(
    rows: Rows, timeline: Timeline, staves: npt.NDArray[np.int16], remarks: list[Remark]
) -> States:
    clefs = children_of(rows, "clef", ("sign",))
    details = children_of(rows, "staff-details", ("staff-type",))
    return States(
        transposition=transpositions_of(rows, timeline, staves, remarks),
        clef_sign=staff_state(
            rows, timeline, staves, clefs, lambda c: c.text("sign") == "percussion", False
        ),
        staff_type=staff_state(
            rows,
            timeline,
            staves,
            details,
            lambda c: None if (kind := c.text("staff-type")) is None else kind in SILENT_STAVES,
            False,
        ),
        slash=_slashes(rows, timeline, staves),
    )


def _slashes(rows: Rows, timeline: Timeline, staves: npt.NDArray[np.int16]) -> StaffState:
    """Where the staff is written with slashes, which are no pitches."""
    table = rows.table
    signs = table.of("slash", 5)
    types_at, types = table.attribute(signs, "type")
    started = {
        int(table.row[element]): types[kind] == "start"
        for element, kind in zip(signs.tolist(), types_at.tolist(), strict=True)
    }
    children = children_of(rows, "measure-style", ("slash",))
    return staff_state(
        rows,
        timeline,
        staves,
        [child for child in children if child.row in started],
        lambda child: started[child.row],
        False,
    )


def _voice_ranks(rows: Rows, timeline: Timeline, notes: Notes) -> npt.NDArray[np.int64]:
    """For every note, how many lines the voices above it take in its bar."""
    everything = rows.of("note")
    everything = everything[~rows.flag("grace")[everything]]
    voice, voices = rows.text_in("voice")
    numbers = np.array([*(whole(text) or 0 for text in voices), 0], np.int64)
    part = rows.part[everything].astype(np.int64)
    staff = staves_of(rows)[everything].astype(np.int64)
    number = numbers[voice[everything]]
    code = (part * 64 + staff) * 1000 + np.minimum(number, 999)
    present = np.unique(code)
    order = np.searchsorted(present, code) - np.searchsorted(present, (part * 64 + staff) * 1000)
    ranks = voice_ranks(
        part, staff, rows.bar[everything].astype(np.int64), order, timeline.onset[everything]
    )
    by_row = np.zeros(len(rows.element), np.int64)
    by_row[everything] = ranks
    return by_row[notes.row]


def _bars(rows: Rows, timeline: Timeline, transposition: StaffState, remarks: list[Remark]) -> Bars:
    """Bars as the first part numbers them that has each."""
    table = rows.table
    codes, numbers = table.attribute(rows.measure, "number")
    texts_at, texts = table.attribute(rows.measure, "text")
    implicit_at, implicit = table.attribute(rows.measure, "implicit")
    first = np.full(rows.bars, -1, np.int64)
    first[rows.measure_bar[::-1]] = np.arange(len(rows.measure))[::-1]
    number = [(numbers[code] or "").strip() for code in codes[first].tolist()]
    unnumbered = [place for place, text in enumerate(number) if not text]
    if unnumbered:
        remarks.append(
            Remark(
                "bar_without_number",
                "Bars have no number.",
                "Each was given its place in the file, from 1.",
                bar_index=unnumbered[0],
                count=len(unnumbered),
            )
        )
        for place in unnumbered:
            number[place] = str(place + 1)
    values = np.array([value or "" for value in numbers])[codes]
    differing = values != values[first[rows.measure_bar]]
    if differing.any():
        place = int(np.flatnonzero(differing)[0])
        remarks.append(
            Remark(
                "bar_numbers_differ",
                "Parts number the same bar differently.",
                "The number in the first part that has the bar was taken.",
                bar_index=int(rows.measure_bar[place]),
                part_index=int(rows.measure_part[place]),
                count=int(differing.sum()),
            )
        )
    free_at, free = table.attribute(rows.measure, "non-controlling")
    if "yes" in free:
        place = int(np.flatnonzero(np.array([value == "yes" for value in free])[free_at])[0])
        remarks.append(
            Remark(
                "bar_not_controlling",
                "A part has bars of its own that do not control the others (two metres at once).",
                "All parts were given one length of bar, so they may not meet as printed.",
                "warning",
                bar_index=int(rows.measure_bar[place]),
                part_index=int(rows.measure_part[place]),
            )
        )
    return Bars(
        numbers=tuple(number),
        labels=tuple(texts[code] for code in texts_at[first].tolist()),
        implicit=np.array([value == "yes" for value in implicit], bool)[implicit_at[first]],
        fifths=concert_fifths(rows, timeline, transposition),
        form=form_of(rows),
    )
