"""What a MusicXML file itself says of each note, read plainly, one element after the other.

The classes of difference are judged on this alone. Times are exact fractions of a quarter.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import accumulate, zip_longest

from lxml import etree

NoteId = tuple[str, int]
"""Part and index of a `note` element in it."""

BarId = tuple[str, int]
"""Part and index of a bar in it."""

ZERO = Fraction(0)


@dataclass(frozen=True)
class SourceNote:
    """One `note` element; a rest where `is_rest`.

    `index` counts the `note` elements of the part, rests included; `onset` begins at the bar
    line; `chord_of` is the index of the note that carries the stem.
    """

    part_id: str
    index: int
    bar_index: int
    onset: Fraction
    duration: Fraction
    written: Fraction | None
    staff: str
    voice: str | None
    chord_of: int
    is_rest: bool
    ties: frozenset[str]
    element: etree._Element

    @property
    def id(self) -> NoteId:
        """Part and index, unlike those of any other note."""
        return self.part_id, self.index

    def has(self, path: str) -> bool:
        """True when the note has an element at this path."""
        return self.element.find(path) is not None


@dataclass(frozen=True)
class SourceTransposition:
    """A `transpose` element: where in its bar, for which staff (None: all), with `double`."""

    onset: Fraction
    staff: str | None
    doubles: bool


@dataclass(frozen=True)
class SourceBar:
    """One `measure` of one part.

    `filled` is how far its notes, rests and forwards reach, `sung` how far its notes do,
    `directions` where the last of its directions points, `written` how long a bar is by the
    time signature (None without one); `length` is what the whole score agrees on and `start`
    where the bar begins in it.
    """

    part_id: str
    bar_index: int
    filled: Fraction
    sung: Fraction
    directions: Fraction
    written: Fraction | None
    notes: tuple[SourceNote, ...]
    transpositions: tuple[SourceTransposition, ...]
    steps_by_nothing: int
    start: Fraction = ZERO
    length: Fraction = ZERO


@dataclass(frozen=True)
class SourceScore:
    """The bars of every part in order."""

    parts: dict[str, tuple[SourceBar, ...]]

    def notes(self) -> Iterator[SourceNote]:
        """Every note that is no rest, part after part, in document order."""
        for bars in self.parts.values():
            for bar in bars:
                yield from (note for note in bar.notes if not note.is_rest)


def read(data: bytes) -> SourceScore:
    """The notes of a partwise score without namespaces, the only kind that music21 reads."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, remove_comments=True)
    root = etree.fromstring(data, parser)
    parts = {part.get("id", ""): _bars(part) for part in root.iterfind("part")}
    lengths = [
        max(_reach(bar) for bar in alike if bar is not None)
        for alike in zip_longest(*parts.values())
    ]
    starts = [ZERO, *accumulate(lengths)]
    return SourceScore(
        {
            part_id: tuple(
                replace(bar, start=starts[bar.bar_index], length=lengths[bar.bar_index])
                for bar in bars
            )
            for part_id, bars in parts.items()
        }
    )


def _reach(bar: SourceBar) -> Fraction:
    # Silence that overruns the time signature (two whole rests in a bar of 4/4) makes no bar
    # longer: the other parts do not wait for it.
    return max(bar.sung, bar.filled if bar.written is None else min(bar.filled, bar.written))


def _bars(part: etree._Element) -> list[SourceBar]:
    part_id = part.get("id", "")
    divisions = Fraction(1)
    written: Fraction | None = None
    index = -1
    bars = []
    for bar_index, measure in enumerate(part.iterfind("measure")):
        notes: list[SourceNote] = []
        transpositions: list[SourceTransposition] = []
        steps_by_nothing = 0
        cursor = filled = sung = directions = onset = ZERO
        stem = 0
        for element in measure:
            if element.tag == "attributes":
                divisions = Fraction(element.findtext("divisions", str(divisions)).strip())
                if element.find("time") is not None:
                    written = _bar_length(element.find("time"))
                transpositions += [
                    SourceTransposition(
                        cursor, change.get("number"), change.find("double") is not None
                    )
                    for change in element.iterfind("transpose")
                ]
            if element.tag in ("direction", "harmony"):
                offset = Fraction(element.findtext("offset", "0").strip())
                directions = max(directions, cursor + offset / divisions)
            if element.tag not in ("note", "backup", "forward"):
                continue
            duration = Fraction(element.findtext("duration", "0").strip()) / divisions
            if element.tag == "backup":
                cursor = max(cursor - duration, ZERO)
                continue
            steps_by_nothing += element.tag == "forward" and duration == 0
            chord = element.find("chord") is not None
            if element.tag == "note":
                index += 1
                if not chord:
                    onset, stem = cursor, index
                note = _note(part_id, index, bar_index, onset, duration, stem, element)
                notes.append(note)
            if not chord:
                cursor += duration
                filled = max(filled, cursor)
                if element.tag == "note" and not note.is_rest:
                    sung = max(sung, cursor)
        bars.append(
            SourceBar(
                part_id=part_id,
                bar_index=bar_index,
                filled=filled,
                sung=sung,
                directions=directions,
                written=written,
                notes=tuple(notes),
                transpositions=tuple(transpositions),
                steps_by_nothing=steps_by_nothing,
            )
        )
    return bars


def _bar_length(time: etree._Element) -> Fraction | None:
    """Quarters in a bar of this time signature; None for senza misura."""
    pairs = list(zip(time.iterfind("beats"), time.iterfind("beat-type"), strict=True))
    if not pairs:
        return None
    return sum(
        (
            Fraction(4 * sum(int(beat) for beat in beats.text.split("+")), int(unit.text))
            for beats, unit in pairs
        ),
        ZERO,
    )


def _note(
    part_id: str,
    index: int,
    bar_index: int,
    onset: Fraction,
    duration: Fraction,
    stem: int,
    element: etree._Element,
) -> SourceNote:
    pitch = element.find("pitch")
    written = None
    if pitch is not None:
        written = (
            12 * (int(pitch.findtext("octave", "")) + 1)
            + "C D EF G A B".index(pitch.findtext("step", "").strip())
            + Fraction(pitch.findtext("alter", "0").strip())
        )
    return SourceNote(
        part_id,
        index,
        bar_index,
        onset,
        duration,
        written,
        element.findtext("staff", "1").strip(),
        element.findtext("voice"),
        stem,
        element.find("rest") is not None,
        frozenset(tie.get("type", "") for tie in element.iterfind("tie")),
        element,
    )
