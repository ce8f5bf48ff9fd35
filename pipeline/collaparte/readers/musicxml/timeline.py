"""Where everything stands in time: rows, parts, bars, the cursor, exact positions.

Positions are whole multiples of `1 / unit` quarter, the least unit in which every duration of
the file is exact; they become ticks once, from the start of their bar.

Sources: MusicXML 4.0, elements `divisions`, `duration`, `backup`, `forward`, `chord`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from collaparte.errors import ScoreError
from collaparte.readers.musicxml.document import check_extent
from collaparte.readers.musicxml.tokens import ROW_DEPTH, ElementTable, Indexes
from collaparte.remarks import Remark
from collaparte.schema import TICKS

Positions = npt.NDArray[np.int64]
Flags = npt.NDArray[np.bool_]

_LARGEST_UNIT = 1 << 27  # keeps unit · ticks within 64 bits
_LONGEST_QUARTERS = 10_000  # of one duration; keeps the sum of a million within 64 bits


@dataclass(frozen=True)
class Rows:
    """The children of all measures, in document order.

    `element` is the row's element, `part` and `bar` count parts and bars from 0; `bars` is the
    number of bars of the longest part, `parts` the number of `part` elements.
    """

    table: ElementTable
    element: Indexes
    part: Indexes
    bar: Indexes
    parts: int
    bars: int
    measure: Indexes
    measure_of: Indexes
    measure_part: Indexes
    measure_bar: Indexes

    def of(self, name: str) -> Indexes:
        """Rows with this tag name."""
        elements = self.table.of(name, ROW_DEPTH)
        return self.table.row[elements]

    def flag(self, name: str, depth: int = ROW_DEPTH + 1) -> Flags:
        """True for the rows that hold an element of this name."""
        flags = np.zeros(len(self.element), bool)
        flags[self.table.row[self.table.of(name, depth)]] = True
        return flags

    def element_in(self, name: str, depth: int = ROW_DEPTH + 1) -> Indexes:
        """The row's first element of this name, -1 where it has none."""
        found = np.full(len(self.element), -1, np.int32)
        elements = self.table.of(name, depth)[::-1]
        found[self.table.row[elements]] = elements
        return found

    def text_in(self, name: str, depth: int = ROW_DEPTH + 1) -> tuple[Indexes, list[str]]:
        """Text of the row's first element of this name: codes (-1: none) and texts."""
        element = self.element_in(name, depth)
        has = element >= 0
        codes = np.full(len(element), -1, np.int32)
        codes[has], texts = self.table.texts_of(element[has])
        return codes, texts

    def last_before(self, wanted: Flags, rows: npt.NDArray[np.integer[Any]]) -> Indexes:
        """The last wanted row of the same measure before each row; -1 where there is none."""
        places = np.flatnonzero(wanted)
        at = np.searchsorted(places, rows) - 1
        found = places[np.maximum(at, 0)] if len(places) else np.zeros(len(rows), np.int64)
        same = (at >= 0) & (self.measure_of[found] == self.measure_of[rows])
        return np.where(same, found, -1).astype(np.int32)

    def place(self, row: int) -> str:
        """Where a row stands, in words: line of the file where it can be told, part, bar."""
        measure = self.measure[self.measure_of[row]]
        codes, numbers = self.table.attribute(np.array([measure], np.int32), "number")
        where = f"part {int(self.part[row]) + 1}, bar {numbers[codes[0]]}"
        line = self.table.line(int(self.element[row]))
        return where[0].upper() + where[1:] if line is None else f"Line {line} ({where})"


def rows_of(table: ElementTable) -> Rows:
    """The rows of a document."""
    parts = table.of("part", 1)
    measures = table.of("measure", 2)
    if not len(measures):
        raise ScoreError("no_bars", "The score has no bar, so there is nothing to read.")
    part_of_measure = (np.searchsorted(parts, measures) - 1).astype(np.int32)
    first = np.searchsorted(measures, parts)
    bar_of_measure = (np.arange(len(measures)) - first[part_of_measure]).astype(np.int32)
    bars = int(bar_of_measure.max()) + 1
    check_extent(len(parts), bars)
    element = table.below(ROW_DEPTH)
    measure = (np.searchsorted(measures, element) - 1).astype(np.int32)
    return Rows(
        table=table,
        element=element,
        part=part_of_measure[measure],
        bar=bar_of_measure[measure],
        parts=len(parts),
        bars=bars,
        measure=measures,
        measure_of=measure,
        measure_part=part_of_measure,
        measure_bar=bar_of_measure,
    )


@dataclass(frozen=True)
class Signatures:
    """Time signatures in force by part and bar.

    `code[part, bar]` counts into the lists, -1 where none is stated; `quarters` is the length
    of a full bar (None: without measure), `beat` the length of a beat.
    """

    code: npt.NDArray[np.int16]
    texts: tuple[str, ...]
    quarters: tuple[Fraction | None, ...]
    beat: tuple[Fraction, ...]

    def full_bar(self, unit: int) -> Positions:
        """Length of a full bar by part and bar, in units; -1 where it is not known."""
        lengths = [-1 if length is None else int(length * unit) for length in self.quarters]
        return np.array([*lengths, -1], np.int64)[self.code]


@dataclass(frozen=True)
class Timeline:
    """Time of every row and bar, in units of `1 / unit` quarter.

    Per row: `position` from the start of its bar, `length`. Per bar: `start` from the start of
    the movement and `length`. `lengths[part, bar]` is what the part itself fills, -1 where the
    part has no such bar.
    """

    unit: int
    position: Positions
    length: Positions
    bar: Indexes
    bar_start: Positions
    bar_length: Positions
    lengths: npt.NDArray[np.int64]
    division: Indexes
    divisions: tuple[Fraction, ...]
    remarks: tuple[Remark, ...]

    @cached_property
    def onset(self) -> Positions:
        """Position of every row from the start of the movement."""
        return self.bar_start[self.bar] + self.position

    def bar_at(self, positions: Positions) -> Indexes:
        """The bar that holds each position; a bar line belongs to the bar that it opens."""
        found = np.searchsorted(self.bar_start, positions, "right") - 1
        return np.clip(found, 0, len(self.bar_start) - 1).astype(np.int32)

    @cached_property
    def bar_ticks(self) -> Positions:
        """Start of every bar, and the end of the last, in ticks."""
        ends = np.zeros(len(self.bar_length) + 1, np.int64)
        np.cumsum(_ticks(self.bar_length, self.unit), out=ends[1:])
        return ends

    def ticks(self, positions: Positions) -> Positions:
        """Positions in ticks, rounded once from the start of their bar."""
        bar = self.bar_at(positions)
        return self.bar_ticks[bar] + _ticks(positions - self.bar_start[bar], self.unit)


def _ticks(positions: Positions, unit: int) -> Positions:
    if TICKS % unit == 0:
        return positions * (TICKS // unit)
    quarters, rest = np.divmod(positions, unit)
    ticks: Positions = quarters * TICKS + (2 * rest * TICKS + unit) // (2 * unit)
    return ticks


def timeline_of(rows: Rows, signatures: Signatures) -> Timeline:
    """Time of every row."""
    remarks: list[Remark] = []
    division, divisions = _divisions(rows, remarks)
    unit, length = _lengths(rows, division, divisions, remarks)
    is_note = np.zeros(len(rows.element), bool)
    is_note[rows.of("note")] = True
    chord = rows.flag("chord") & is_note
    grace = rows.flag("grace") & is_note
    length[grace] = 0
    move = np.where(chord, 0, length)
    still = ~is_note
    still[rows.of("forward")] = False
    still[rows.of("backup")] = False
    move[still] = 0
    move[rows.of("backup")] *= -1
    after = _cursor(move, rows, remarks)
    position = np.where(move < 0, after, after - move)
    _place_chords(position, is_note & ~chord, chord, rows, remarks)
    sounds = is_note & ~chord & ~rows.flag("rest")
    lengths = _lengths_of_bars(rows, position + np.maximum(move, 0), sounds, unit, signatures)
    bar_length = lengths.max(axis=0)
    for bar in np.flatnonzero(bar_length <= 0).tolist():
        bar_length[bar] = max(signatures.full_bar(unit)[:, bar].max(), 0)
    _remark_on_bars(lengths, bar_length, remarks)
    bar_start = np.zeros(rows.bars, np.int64)
    np.cumsum(bar_length[:-1], out=bar_start[1:])
    return Timeline(
        unit=unit,
        position=position,
        length=length,
        bar=rows.bar,
        bar_start=bar_start,
        bar_length=bar_length,
        lengths=lengths,
        division=division,
        divisions=tuple(divisions),
        remarks=tuple(remarks),
    )


def _lengths(
    rows: Rows, division: Indexes, divisions: list[Fraction], remarks: list[Remark]
) -> tuple[int, Positions]:
    """The unit of the file, and the length of every row in it."""
    codes, texts = rows.text_in("duration")
    durations = [_number(text) for text in texts]
    for code, duration in enumerate(durations):
        if duration is None or duration < 0:
            row = int(np.flatnonzero(codes == code)[0])
            raise ScoreError(
                "bad_duration",
                f"{rows.place(row)}: the duration “{texts[code][:40]}” is not a length of time.",
            )
    used = np.zeros((len(durations) + 1, len(divisions)), bool)
    used[codes, division] = True
    quarters = {
        (code, number): (durations[code] or Fraction(0)) / divisions[number]
        for code, number in zip(*np.nonzero(used[:-1]), strict=True)
    }
    for (code, _), value in quarters.items():
        if value > _LONGEST_QUARTERS:
            row = int(np.flatnonzero(codes == code)[0])
            raise ScoreError(
                "bad_duration",
                f"{rows.place(row)}: the duration “{texts[code][:40]}” is longer than any score.",
            )
    unit = math.lcm(*(value.denominator for value in quarters.values()), 1)
    if unit > _LARGEST_UNIT:
        unit = TICKS
        remarks.append(
            Remark(
                "fine_divisions",
                "The durations have no common unit that fits.",
                "Each was rounded to the nearest tick.",
                "warning",
            )
        )
    elif TICKS % unit:
        remarks.append(
            Remark(
                "off_tick",
                "Some durations are not whole ticks (rounded tuplets, as a rule).",
                "Onsets were rounded to the nearest tick, from the start of their bar.",
            )
        )
    table = np.zeros(used.shape, np.int64)
    for (code, number), value in quarters.items():
        table[code, number] = round(value * unit)
    length = table[codes, division]
    _remark_on_missing(rows, length, remarks)
    return unit, length


def _number(text: str) -> Fraction | None:
    """A decimal of the standard (no exponent); None where the text is none."""
    text = text.strip()
    if not text or text.strip("+-.0123456789"):
        return None
    try:
        return Fraction(text)
    except (ValueError, ZeroDivisionError):
        return None


def _divisions(rows: Rows, remarks: list[Remark]) -> tuple[Indexes, list[Fraction]]:
    """Divisions in force at every row, as codes into the values."""
    codes, texts = rows.text_in("divisions")
    values = [_number(text) for text in texts]
    for code, value in enumerate(values):
        if value is None or value <= 0:
            row = int(np.flatnonzero(codes == code)[0])
            raise ScoreError(
                "bad_divisions",
                f"{rows.place(row)}: “{texts[code][:40]}” divisions a quarter note make no time.",
            )
    stated = np.flatnonzero(codes >= 0)
    at = np.searchsorted(stated, np.arange(len(codes)), "right") - 1
    source = stated[np.maximum(at, 0)] if len(stated) else np.zeros(len(codes), np.int64)
    known = (at >= 0) & (rows.part[source] == rows.part)
    counted = [value or Fraction(1) for value in values] + [Fraction(1)]
    if not known[rows.of("note")].all():
        remarks.append(
            Remark(
                "no_divisions",
                "A part does not say how many divisions a quarter note has.",
                "One division was taken for a quarter note.",
                "warning",
                part_index=int(rows.part[np.flatnonzero(~known)[0]]),
            )
        )
    return np.where(known, codes[source], len(values)).astype(np.int32), counted


def _remark_on_missing(rows: Rows, length: Positions, remarks: list[Remark]) -> None:
    bare = np.zeros(len(length), bool)
    bare[rows.of("note")] = True
    bare &= (length == 0) & ~rows.flag("grace")
    if bare.any():
        row = int(np.flatnonzero(bare)[0])
        remarks.append(
            Remark(
                "no_duration",
                f"{rows.place(row)}: a note has no duration, or none above 0.",
                "It was given no length.",
                "warning",
                bar_index=int(rows.bar[row]),
                part_index=int(rows.part[row]),
                count=int(bare.sum()),
            )
        )


def _cursor(move: Positions, rows: Rows, remarks: list[Remark]) -> Positions:
    """Cursor after every row, from the start of its bar; never before the bar."""
    total = np.cumsum(move)
    before = np.zeros(len(rows.measure), np.int64)
    first = np.searchsorted(rows.measure_of, np.arange(len(rows.measure)))
    before[first > 0] = total[first[first > 0] - 1]
    after = total - before[rows.measure_of]
    if after.size and after.min() < 0:
        crossed = np.unique(rows.measure_of[after < 0])
        for measure in crossed.tolist():
            here = slice(*np.searchsorted(rows.measure_of, [measure, measure + 1]))
            after[here] -= np.minimum(np.minimum.accumulate(after[here]), 0)
        remarks.append(
            Remark(
                "before_the_bar",
                "A step back leads to before the bar.",
                "The start of the bar was taken.",
                "warning",
                bar_index=int(rows.measure_bar[crossed[0]]),
                part_index=int(rows.measure_part[crossed[0]]),
                count=len(crossed),
            )
        )
    return after


def _place_chords(
    position: Positions, main: Flags, chord: Flags, rows: Rows, remarks: list[Remark]
) -> None:
    """Put every further note of a chord at the onset of the note before it."""
    members = np.flatnonzero(chord)
    base = rows.last_before(main, members)
    alone = base < 0
    members_with, base = members[~alone], base[~alone]
    position[members_with] = position[base]
    if alone.any():
        row = int(members[alone][0])
        remarks.append(
            Remark(
                "chord_alone",
                "A note is marked as part of a chord, and no note comes before it in its bar.",
                "It was read as a note of its own, at the place reached.",
                "warning",
                bar_index=int(rows.bar[row]),
                part_index=int(rows.part[row]),
                count=int(alone.sum()),
            )
        )


def _lengths_of_bars(
    rows: Rows, end: Positions, sounds: Flags, unit: int, signatures: Signatures
) -> npt.NDArray[np.int64]:
    """What each part fills of each bar, by part and bar; -1 where the part has no such bar.

    Notes fill what they fill; rests and steps forward count for no more than the time
    signature, because files write rests that overrun the bar.
    """
    notes = np.full((rows.parts, rows.bars), -1, np.int64)
    notes[rows.measure_part, rows.measure_bar] = 0
    everything = notes.copy()
    np.maximum.at(notes, (rows.part[sounds], rows.bar[sounds]), end[sounds])
    np.maximum.at(everything, (rows.part, rows.bar), end)
    full = signatures.full_bar(unit)
    return np.maximum(notes, np.where(full >= 0, np.minimum(everything, full), everything))


def _remark_on_bars(
    lengths: npt.NDArray[np.int64], bar_length: Positions, remarks: list[Remark]
) -> None:
    missing = lengths < 0
    if missing.any():
        part, bar = (int(value) for value in np.argwhere(missing)[0])
        remarks.append(
            Remark(
                "bars_missing",
                "A part has fewer bars than the longest.",
                "Its missing bars are empty, at the end.",
                "warning",
                bar_index=bar,
                part_index=part,
                count=int(missing.sum()),
            )
        )
    short = (lengths > 0) & (lengths < bar_length)
    if short.any():
        part, bar = (int(value) for value in np.argwhere(short)[0])
        remarks.append(
            Remark(
                "short_bar",
                "A part fills less of a bar than the others.",
                "The bar is as long as its longest part.",
                bar_index=bar,
                part_index=part,
                count=int(short.sum()),
            )
        )
