"""Attributes in force: time and key signatures, transposition, clefs, kinds of staff.

Sources: MusicXML 4.0, elements `time`, `key`, `transpose`, `clef`, `staff-details`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from collaparte.errors import ScoreError
from collaparte.readers.musicxml.numbers import interval, whole
from collaparte.readers.musicxml.timeline import Positions, Rows, Signatures, Timeline
from collaparte.readers.musicxml.tokens import Indexes
from collaparte.remarks import Remark

_DIATONIC = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)  # steps of the usual interval by semitones
ALL_STAVES = 0


@dataclass(frozen=True)
class Child:
    """One element of an `attributes` row: where it stands, its number, its children's texts."""

    row: int
    number: int
    fields: tuple[tuple[str, str], ...]

    def text(self, name: str) -> str | None:
        """Text of the first child of this name."""
        return next((text for tag, text in self.fields if tag == name), None)


def children_of(rows: Rows, name: str, fields: tuple[str, ...]) -> list[Child]:
    """All elements of one name in `attributes`, with the texts of the named children.

    `number` is the staff that the element is for, `ALL_STAVES` where it names none. The names
    of the children occur in no other child of `attributes`.
    """
    table = rows.table
    elements = table.of(name, 4)
    codes, numbers = table.attribute(elements, "number")
    found: list[list[tuple[int, str, str]]] = [[] for _ in elements]
    for field in fields:
        inside = table.of(field, 5)
        parents = np.searchsorted(elements, inside) - 1
        text_codes, texts = table.texts_of(inside)
        for child, parent, code in zip(
            inside.tolist(), parents.tolist(), text_codes.tolist(), strict=True
        ):
            if parent >= 0 and table.row[elements[parent]] == table.row[child]:
                found[parent].append((child, field, texts[code].strip()))
    return [
        Child(
            row=int(table.row[element]),
            number=whole(number) or ALL_STAVES,
            fields=tuple((field, text) for _, field, text in sorted(inside)),
        )
        for element, number, inside in zip(
            elements.tolist(), (numbers[code] for code in codes.tolist()), found, strict=True
        )
    ]


def signatures_of(rows: Rows) -> Signatures:
    """Time signatures in force by part and bar; one stated within a bar holds from the next."""
    texts: list[str] = []
    quarters: list[Fraction | None] = []
    beats: list[Fraction] = []
    code = np.full((rows.parts, rows.bars), -1, np.int16)
    known: dict[tuple[tuple[str, str], ...], int] = {}
    for child in children_of(rows, "time", ("beats", "beat-type", "senza-misura")):
        pairs = child.fields
        if pairs not in known:
            text, length, beat = _signature(pairs)
            known[pairs] = len(texts)
            texts.append(text)
            quarters.append(length)
            beats.append(beat)
        part, bar = rows.part[child.row], rows.bar[child.row]
        if child.number in (ALL_STAVES, 1):
            code[part, bar:] = known[pairs]
    return Signatures(code, tuple(texts), tuple(quarters), tuple(beats))


def _signature(pairs: tuple[tuple[str, str], ...]) -> tuple[str, Fraction | None, Fraction]:
    """Text, length of a full bar and length of a beat, all in quarters."""
    beats = [text for tag, text in pairs if tag == "beats"]
    types = [text for tag, text in pairs if tag == "beat-type"]
    if not beats or len(beats) != len(types):
        return "senza misura", None, Fraction(1)
    text = "+".join(f"{count}/{kind}" for count, kind in zip(beats, types, strict=True))
    length = Fraction(0)
    units = []
    for count, kind in zip(beats, types, strict=True):
        unit, numbers = whole(kind), [whole(part) for part in count.split("+")]
        if not unit or None in numbers:
            return (
                "+".join(f"{b}/{t}" for b, t in zip(beats, types, strict=True)),
                None,
                Fraction(1),
            )
        units.append(Fraction(4, unit))
        length += sum(number or 0 for number in numbers) * units[-1]
    return text, length, min(units)


@dataclass(frozen=True)
class Transposition:
    """From written to sounding pitch: `steps` of the scale and `semitones`, octaves included."""

    steps: int = 0
    semitones: int = 0
    octaves_to_second: int = 0
    """To the second sounding line that `double` adds; 0: there is none."""


@dataclass(frozen=True)
class StaffState:
    """Values in force by part and staff, as they change in time.

    `values[0]` is in force where nothing is stated.
    """

    values: tuple[object, ...]
    key: Positions
    time: Positions
    code: Indexes

    def at(self, part: Indexes, staff: Indexes, time: Positions) -> Indexes:
        """Code of the value in force for each part, staff and time."""
        if not len(self.key):
            return np.zeros(len(part), np.int32)
        span = int(max(self.time.max(), time.max(initial=0))) + 2
        known = self.key * span + self.time
        wanted = (part.astype(np.int64) * MOST_STAVES + staff) * span + time
        at = np.searchsorted(known, wanted, "right") - 1
        found = np.maximum(at, 0)
        same = (at >= 0) & (self.key[found] == part.astype(np.int64) * MOST_STAVES + staff)
        return np.where(same, self.code[found], 0).astype(np.int32)


MOST_STAVES = 64


def staff_state(
    rows: Rows,
    timeline: Timeline,
    staves: npt.NDArray[np.int16],
    children: list[Child],
    parse: Callable[[Child], object | None],
    default: object,
) -> StaffState:
    """The states that one element of `attributes` sets, from its place in time onward.

    Parameters
    ----------
    staves
        Staves of each part; an element without a number sets them all.
    parse
        Gives the value that an element sets, None where it sets nothing.
    """
    values: list[object] = [default]
    changes: list[tuple[int, int, int, int]] = []
    onset = timeline.onset
    for order, child in enumerate(children):
        value = parse(child)
        if value is None:
            continue
        if value not in values:
            values.append(value)
        part = int(rows.part[child.row])
        numbers = range(1, int(staves[part]) + 1) if child.number == ALL_STAVES else (child.number,)
        changes.extend(
            (part * MOST_STAVES + number, int(onset[child.row]), order, values.index(value))
            for number in numbers
        )
    changes.sort()
    columns = np.array(changes, np.int64).reshape(-1, 4)
    return StaffState(tuple(values), columns[:, 0], columns[:, 1], columns[:, 3].astype(np.int32))


TRANSPOSE_FIELDS = ("diatonic", "chromatic", "octave-change")


def transpositions_of(
    rows: Rows, timeline: Timeline, staves: npt.NDArray[np.int16], remarks: list[Remark]
) -> StaffState:
    """Transposition in force by part, staff and time."""
    doubles = _doubles(rows)

    def stated(child: Child) -> Transposition | None:
        single = _transposition(child)
        if single is None:
            raise ScoreError(
                "bad_transposition", f"{rows.place(child.row)}: the transposition is not a number."
            )
        if abs(interval(child.text("chromatic")) or 0) >= 12 and child.text("octave-change"):
            remarks.append(
                Remark(
                    "octave_in_chromatic",
                    "A transposition of an octave or more stands beside a change of octave.",
                    "Both were applied, as the file says; it may mean only one of them.",
                    "warning",
                    bar_index=int(rows.bar[child.row]),
                    part_index=int(rows.part[child.row]),
                )
            )
        return replace(single, octaves_to_second=doubles.get(child.row, 0))

    children = children_of(rows, "transpose", TRANSPOSE_FIELDS)
    return staff_state(rows, timeline, staves, children, stated, Transposition())


def _transposition(child: Child) -> Transposition | None:
    """The transposition that a `transpose` element states.

    Where `diatonic` is missing the usual interval of that many semitones is taken.
    """
    chromatic = interval(child.text("chromatic"))
    octaves = interval(child.text("octave-change") or "0")
    if chromatic is None or octaves is None:
        return None
    steps = interval(child.text("diatonic"))
    if steps is None:
        size = abs(chromatic)
        steps = (1 if chromatic >= 0 else -1) * (_DIATONIC[size % 12] + 7 * (size // 12))
    return Transposition(steps + 7 * octaves, chromatic + 12 * octaves)


def _doubles(rows: Rows) -> dict[int, int]:
    """Octaves from the written line to the second one that a `double` adds, by its row."""
    doubles = rows.table.of("double", 5)
    codes, above = rows.table.attribute(doubles, "above")
    return {
        int(rows.table.row[element]): 1 if above[code] == "yes" else -1
        for element, code in zip(doubles.tolist(), codes.tolist(), strict=True)
    }


def concert_fifths(
    rows: Rows, timeline: Timeline, transpositions: StaffState
) -> npt.NDArray[np.int16]:
    """Concert key by bar: what most parts say, transposition taken out; a missing key is -128.

    Parts without a key signature of their own (natural brass, drums) are outvoted by the rest.
    """
    changes: list[tuple[int, int, int]] = []
    for child in children_of(rows, "key", ("fifths",)):
        fifths = interval(child.text("fifths"))
        if fifths is None or child.number not in (ALL_STAVES, 1):
            continue
        part = int(rows.part[child.row])
        code = transpositions.at(
            np.array([part], np.int32),
            np.array([1], np.int32),
            timeline.onset[child.row : child.row + 1],
        )[0]
        moved = transpositions.values[code]
        assert isinstance(moved, Transposition)
        fifths += 7 * moved.semitones - 12 * moved.steps
        changes.append((int(rows.bar[child.row]), part, fifths))
    concert = np.full(rows.bars, -128, np.int16)
    current: dict[int, int] = {}
    changes.sort()
    for index, (bar, part, fifths) in enumerate(changes):
        current[part] = fifths
        if index + 1 == len(changes) or changes[index + 1][0] != bar:
            counts: dict[int, int] = defaultdict(int)
            for value in current.values():
                counts[value] += 1
            concert[bar:] = max(sorted(counts), key=lambda value: (counts[value], abs(value)))
    return concert
