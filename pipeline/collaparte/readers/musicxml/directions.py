"""Directions: words, dynamics, hairpins, rehearsal and tempo marks, and what `sound` says.

One entry is one thing that a reader of the page sees: the words of a direction make one text,
the children of one `dynamics` make one mark.

Sources: MusicXML 4.0, elements `direction`, `direction-type`, `offset`, `sound`, `wedge`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from collaparte.readers.dynamics import text_of
from collaparte.readers.musicxml.notes import staves_of
from collaparte.readers.musicxml.timeline import Positions, Rows, Timeline
from collaparte.readers.musicxml.tokens import Indexes

KINDS = ("words", "dynamics", "wedge", "rehearsal", "metronome", "other", "sound")
WORDS, DYNAMICS, WEDGE, REHEARSAL, METRONOME, OTHER, SOUND = range(7)
_PLAIN = ("words", "symbol", "dynamics", "wedge", "rehearsal", "metronome", "dashes", "bracket")
_SYMBOLS = {"accidentalFlat": "♭", "accidentalSharp": "♯", "accidentalNatural": "♮"}
SOUND_STATES = ("pizzicato",)
_BEATS = {
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
}

DynamicParts = tuple[tuple[str, str], ...]
"""Children of one `dynamics`: names and texts."""


@dataclass(frozen=True)
class Directions:
    """Directions in document order.

    `staff` is 0 where none is named; `voice` counts into `voices`, -1: none; `end` is -1 where
    the direction is a point or is never closed; `text` counts into `texts`.
    """

    row: Indexes
    part: Indexes
    staff: Indexes
    voice: Indexes
    onset: Positions
    end: Positions
    kind: Indexes
    text: Indexes
    texts: tuple[str, ...]
    voices: tuple[str, ...]
    dynamics: dict[str, DynamicParts]
    tempos: dict[int, float]

    def __len__(self) -> int:
        """How many directions there are."""
        return len(self.row)


def directions_of(rows: Rows, timeline: Timeline) -> Directions:
    """All directions of a document, and every `sound` that stands alone or states a technique."""
    gathered = _Gathered(rows, timeline)
    gathered.words()
    gathered.dynamics()
    gathered.wedges()
    gathered.rehearsals()
    gathered.metronomes()
    gathered.others()
    gathered.sounds()
    return gathered.done()


class _Gathered:
    """Directions while they are being gathered, kind by kind."""

    def __init__(self, rows: Rows, timeline: Timeline) -> None:
        self.rows = rows
        self.table = rows.table
        self.timeline = timeline
        self.is_direction = np.zeros(len(rows.element), bool)
        self.is_direction[rows.of("direction")] = True
        self.time = _times(rows, timeline)
        self.found: list[tuple[Indexes, int, Indexes, Positions]] = []
        self.texts: dict[str, int] = {}
        self.dynamic_parts: dict[str, DynamicParts] = {}
        self.tempos: dict[int, float] = {}
        self.dashes = self._dashes()

    def of(self, name: str) -> Indexes:
        """Elements of a direction type."""
        elements = self.table.of(name, 5)
        return elements[self.is_direction[self.table.row[elements]]]

    def add(self, row: Indexes, kind: int, texts: list[str], code: Indexes) -> None:
        """Directions at these rows, with text codes into `texts`."""
        known = np.array([self.number(text) for text in texts], np.int32)
        ends = np.full(len(row), -1, np.int64)
        self.found.append((row, kind, known[code] if len(row) else code, ends))

    def number(self, text: str) -> int:
        """Number of a text, white space folded."""
        return self.texts.setdefault(" ".join(text.split()), len(self.texts))

    def words(self) -> None:
        """Words and symbols: one text a direction."""
        elements = np.sort(np.concatenate((self.of("words"), self.of("symbol"))))
        row = self.table.row[elements]
        codes, texts = self.table.texts_of(elements)
        symbols = np.isin(elements, self.of("symbol"))
        first = np.ones(len(row), bool)
        first[1:] = row[1:] != row[:-1]
        starts = np.flatnonzero(first)
        code = codes[starts].copy()
        sizes = np.diff(np.append(starts, len(row)))
        for index in np.flatnonzero((sizes > 1) | symbols[starts]).tolist():
            start = int(starts[index])
            members = range(start, start + int(sizes[index]))
            pieces = [
                _SYMBOLS.get(texts[codes[m]], "") if symbols[m] else texts[codes[m]]
                for m in members
            ]
            texts.append("".join(pieces))
            code[index] = len(texts) - 1
        row = row[starts]
        self.add(row, WORDS, texts, code)
        ends = self.found[-1][3]
        for index in np.flatnonzero(np.isin(row, list(self.dashes))).tolist():
            ends[index] = self.dashes[int(row[index])]

    def dynamics(self) -> None:
        """Dynamics: one mark an element, whatever its children."""
        elements = self.table.of("dynamics", 5)
        children, owner = self.table.children(elements, 5)
        names = {number: name for name, number in self.table.names.items()}
        codes, texts = self.table.texts_of(children)
        first = np.searchsorted(owner, np.arange(len(elements)))
        after = np.searchsorted(owner, np.arange(len(elements)), "right")
        marks: list[str] = []
        kind = np.full(len(elements), -1, np.int64)
        alone = after - first == 1
        kind[alone] = self.table.token[children[first[alone]]]
        kind[~alone] = -1 - np.arange(int((~alone).sum()))  # several children: each by itself
        _, place, kind = np.unique(kind, return_index=True, return_inverse=True)
        for index in place.tolist():
            parts = tuple(
                (names[int(self.table.tag[children[child]])], texts[codes[child]].strip("\n"))
                for child in range(int(first[index]), int(after[index]))
            )
            text = text_of(parts)
            marks.append(text)
            self.dynamic_parts.setdefault(text, parts)
        self.add(self.table.row[elements], DYNAMICS, marks, kind.astype(np.int32))

    def wedges(self) -> None:
        """Hairpins with their ends, paired in time."""
        elements = self.of("wedge")
        types_at, types = self.table.attribute(elements, "type")
        numbers_at, numbers = self.table.attribute(elements, "number")
        niente_at, niente = self.table.attribute(elements, "niente")
        row = self.table.row[elements]
        staves = staves_of(self.rows)
        order = sorted(
            range(len(elements)),
            key=lambda i: (
                int(self.rows.part[row[i]]),
                numbers[numbers_at[i]] or "1",
                int(staves[row[i]]),
                int(self.time[row[i]]),
                types[types_at[i]] != "stop",
            ),
        )
        running: dict[tuple[int, str, int], int] = {}
        ends: dict[int, tuple[int, bool]] = {}
        for index in order:
            key = (
                int(self.rows.part[row[index]]),
                numbers[numbers_at[index]] or "1",
                int(staves[row[index]]),
            )
            kind = types[types_at[index]]
            if kind == "stop":
                if key in running:
                    ends[running.pop(key)] = (
                        int(self.time[row[index]]),
                        niente[niente_at[index]] == "yes",
                    )
            elif kind in ("crescendo", "diminuendo"):
                running[key] = index
        starts = [i for i in range(len(elements)) if types[types_at[i]] in _HAIRPINS]
        texts = []
        for index in starts:
            silent = ends.get(index, (0, False))[1] or niente[niente_at[index]] == "yes"
            texts.append((types[types_at[index]] or "") + (" niente" if silent else ""))
        self.add(row[starts], WEDGE, texts, np.arange(len(starts), dtype=np.int32))
        self.found[-1][3][:] = [ends.get(index, (-1, False))[0] for index in starts]

    def rehearsals(self) -> None:
        """Rehearsal marks."""
        elements = self.of("rehearsal")
        codes, texts = self.table.texts_of(elements)
        self.add(self.table.row[elements], REHEARSAL, texts, codes)

    def metronomes(self) -> None:
        """Metronome marks, as a reader would say them; numeric ones give a tempo."""
        elements = self.of("metronome")
        children, owner = self.table.children(elements, 5)
        names = {number: name for name, number in self.table.names.items()}
        codes, texts = self.table.texts_of(children)
        fields: list[list[tuple[str, str]]] = [[] for _ in elements]
        for child, parent, code in zip(
            children.tolist(), owner.tolist(), codes.tolist(), strict=True
        ):
            fields[parent].append((names[int(self.table.tag[child])], texts[code].strip()))
        marks = [_metronome(parts) for parts in fields]
        row = self.table.row[elements]
        self.add(row, METRONOME, [text for text, _ in marks], np.arange(len(marks), dtype=np.int32))
        for place, (_, tempo) in zip(row.tolist(), marks, strict=True):
            if tempo is not None:
                self.tempos[place] = tempo

    def others(self) -> None:
        """Every other direction type, by its name, its type and its text."""
        types = self.table.of("direction-type", 4)
        children, _ = self.table.children(types, 4)
        plain = [self.table.names[name] for name in _PLAIN if name in self.table.names]
        children = children[~np.isin(self.table.tag[children], plain)]
        names = {number: name for name, number in self.table.names.items()}
        types_at, kinds = self.table.attribute(children, "type")
        texts_at, texts = self.table.texts_of(children)
        labels = [
            " ".join(
                filter(None, (names[int(self.table.tag[child])], kinds[kind], texts[text].strip()))
            )
            for child, kind, text in zip(
                children.tolist(), types_at.tolist(), texts_at.tolist(), strict=True
            )
        ]
        self.add(self.table.row[children], OTHER, labels, np.arange(len(labels), dtype=np.int32))

    def sounds(self) -> None:
        """States of technique and changes of instrument and tempo that `sound` alone tells."""
        for depth in (3, 4):
            elements = self.table.of("sound", depth)
            for name in SOUND_STATES:
                codes, values = self.table.attribute(elements, name)
                stated = np.array([value is not None for value in values], bool)[codes]
                self.add(
                    self.table.row[elements[stated]],
                    SOUND,
                    [f"{name}={value}" for value in values],
                    codes[stated],
                )
            codes, values = self.table.attribute(elements, "tempo")
            for element, code in zip(elements.tolist(), codes.tolist(), strict=True):
                tempo = _positive(values[code])
                if tempo is not None:
                    self.tempos[int(self.table.row[element])] = tempo
            self._sound_children(elements, depth)

    def _sound_children(self, elements: Indexes, depth: int) -> None:
        """Mutes of `play`, and changes of instrument with the sound that they name."""
        children, owner = self.table.children(elements, depth)
        names = {number: name for name, number in self.table.names.items()}
        row: list[int] = []
        texts: list[str] = []
        for child, parent in zip(children.tolist(), owner.tolist(), strict=True):
            name = names[int(self.table.tag[child])]
            if name not in ("play", "instrument-change"):
                continue
            inner, _ = self.table.children(np.array([child], np.int32), depth + 1)
            codes, values = self.table.texts_of(inner)
            for element, code in zip(inner.tolist(), codes.tolist(), strict=True):
                label = names[int(self.table.tag[element])]
                if label in ("mute", "instrument-sound"):
                    row.append(int(self.table.row[elements[parent]]))
                    texts.append(f"{label}={values[code].strip()}")
        self.add(np.array(row, np.int32), SOUND, texts, np.arange(len(texts), dtype=np.int32))

    def _dashes(self) -> dict[int, int]:
        """Where a dashed line that begins in a direction ends, by the row that begins it."""
        elements = np.sort(np.concatenate((self.of("dashes"), self.of("bracket"))))
        types_at, types = self.table.attribute(elements, "type")
        numbers_at, numbers = self.table.attribute(elements, "number")
        running: dict[tuple[int, str | None], int] = {}
        ends: dict[int, int] = {}
        for element, kind, number in zip(
            elements.tolist(), types_at.tolist(), numbers_at.tolist(), strict=True
        ):
            row = int(self.table.row[element])
            key = (int(self.rows.part[row]), numbers[number])
            if types[kind] == "start":
                running[key] = row
            elif types[kind] == "stop" and key in running:
                ends[running.pop(key)] = int(self.time[row])
        return ends

    def done(self) -> Directions:
        """The directions in document order."""
        row = np.concatenate([item[0] for item in self.found]).astype(np.int32)
        kind = np.concatenate([np.full(len(item[0]), item[1], np.int32) for item in self.found])
        text = np.concatenate([item[2] for item in self.found]).astype(np.int32)
        end = np.concatenate([item[3] for item in self.found])
        order = np.lexsort((kind, row))
        row, kind, text, end = row[order], kind[order], text[order], end[order]
        voice, voices = self.rows.text_in("voice")
        staff = np.where(self.rows.flag("staff")[row], staves_of(self.rows)[row], 0)
        voice = np.where(self.is_direction, voice, -1)
        return Directions(
            row=row,
            part=self.rows.part[row],
            staff=staff.astype(np.int32),
            voice=voice[row],
            onset=self.time[row],
            end=end,
            kind=kind,
            text=text,
            texts=tuple(self.texts),
            voices=tuple(text.strip() for text in voices),
            dynamics=self.dynamic_parts,
            tempos=self.tempos,
        )


_HAIRPINS = ("crescendo", "diminuendo")


def _times(rows: Rows, timeline: Timeline) -> Positions:
    """Place in time of every row, offsets that move the sound included, kept in its bar."""
    time = timeline.onset.copy()
    table = rows.table
    offsets = table.of("offset", 4)
    sound_at, sounds = table.attribute(offsets, "sound")
    texts_at, texts = table.texts_of(offsets)
    has_sound = rows.flag("sound")
    for element, sound, text in zip(
        offsets.tolist(), sound_at.tolist(), texts_at.tolist(), strict=True
    ):
        row = int(table.row[element])
        if sounds[sound] != "yes" and has_sound[row]:
            continue
        amount = _fraction(texts[text])
        bar = int(rows.bar[row])
        moved = int(time[row]) + round(
            amount / timeline.divisions[timeline.division[row]] * timeline.unit
        )
        start = int(timeline.bar_start[bar])
        time[row] = min(max(moved, start), start + int(timeline.bar_length[bar]))
    return time


def _fraction(text: str) -> Fraction:
    try:
        return Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        return Fraction(0)


def _positive(text: str | None) -> float | None:
    try:
        value = float(text or "")
    except ValueError:
        return None
    return value if 0 < value < 10_000 else None


def _metronome(parts: list[tuple[str, str]]) -> tuple[str, float | None]:
    """Text of a metronome mark, and quarters a minute where it is a plain number."""
    beat = Fraction(0)
    words: list[str] = []
    for name, text in _joined_dots(parts):
        if name == "beat-unit":
            words.append(text)
            kind, *dots = text.split(" ")
            beat = beat or _BEATS.get(kind, Fraction(0)) * (2 - Fraction(1, 2 ** len(dots)))
        elif name == "per-minute":
            words.append(text)
            number = _positive(text)
            return " = ".join(words), float(beat) * number if number and beat else None
    return " = ".join(words), None


def _joined_dots(parts: list[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """The parts of a metronome mark, each dot joined to the note value before it."""
    held: tuple[str, str] | None = None
    for name, text in parts:
        if name == "beat-unit-dot" and held:
            held = (held[0], held[1] + " dotted")
            continue
        if held:
            yield held
        held = (name, text)
    if held:
        yield held
