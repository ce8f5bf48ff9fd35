"""Marks on notes: articulations, ornaments, tremolo strokes, techniques, syllables, slides.

Everything is gathered as pairs (note, label) or one value a note; names are those of the
standard, and SMuFL glyph names that stand for an ornament are read as that ornament.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from collaparte.readers.musicxml.notes import Notes, diamonds
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.timeline import Flags, Rows
from collaparte.readers.musicxml.tokens import Indexes

ORNAMENTS = {
    "trill-mark": "trill",
    "ornamentTrill": "trill",
    "ornamentShortTrill": "inverted-mordent",
    "ornamentMordent": "mordent",
    "ornamentTurn": "turn",
    "ornamentTurnInverted": "inverted-turn",
    "ornamentTurnSlash": "inverted-turn",
}
"""Names of the standard and of SMuFL that are read as another ornament's name."""

UNMEASURED = 2
"""Code of the type of tremolo that the file itself calls unmeasured."""

_NOT_ORNAMENTS = ("tremolo", "accidental-mark", "wavy-line")
_NOT_TECHNIQUES = ("fingering", "fret", "string", "arrow", "hole", "other-technical")
_ONE_A_NOTE = ("fermata", "arpeggiate", "non-arpeggiate")


@dataclass(frozen=True)
class Pairs:
    """Labels of notes: `note[i]` carries `labels[label[i]]`."""

    note: Indexes
    label: Indexes
    labels: tuple[str, ...]


@dataclass(frozen=True)
class OneEach:
    """One value a note: code into `values`, -1: none."""

    code: Indexes
    values: tuple[str, ...]


@dataclass(frozen=True)
class Marks:
    """All marks of the notes of a document.

    `beams` is how many times the written value halves a quarter: 0 for a quarter and longer, 1
    for an eighth …; -1 where the file writes no value.
    """

    articulations: Pairs
    hidden_articulations: Pairs
    techniques: Pairs
    ornament: OneEach
    tremolo_strokes: Indexes
    tremolo_type: OneEach
    beams: Indexes
    lyric: OneEach
    syllabic: OneEach
    slides: tuple[tuple[int, int], ...]


def marks_of(rows: Rows, notes: Notes) -> Marks:
    """The marks of all notes."""
    at = np.full(len(rows.element), -1, np.int32)
    at[notes.row] = np.arange(len(notes), dtype=np.int32)
    children, group, hidden = _notation_children(rows, at)
    articulations = _pairs(rows, at, children[group == 0], {})
    ornaments = children[group == 2]
    strokes, kinds = _tremolos(rows, at, len(notes))
    lyric, syllabic = _lyrics(rows, at, len(notes))
    spelled, as_articulation = _split_ornaments(articulations)
    ornament_pairs = _pairs(rows, at, ornaments, ORNAMENTS)
    named = np.array([name not in _NOT_ORNAMENTS for name in ornament_pairs.labels], bool)
    written = _selected(ornament_pairs, named)
    once = np.concatenate([rows.table.of(name, 5) for name in _ONE_A_NOTE])
    once = once[at[rows.table.row[once]] >= 0]
    return Marks(
        articulations=_together(as_articulation, _pairs(rows, at, np.sort(once), {})),
        hidden_articulations=_pairs(rows, at, children[hidden & (group == 0)], {}),
        techniques=_techniques(rows, at, children[group == 1], notes),
        ornament=_first(_together(written, spelled), len(notes)),
        tremolo_strokes=strokes,
        tremolo_type=kinds,
        beams=_beams(rows, notes),
        lyric=lyric,
        syllabic=syllabic,
        slides=_slides(rows, at),
    )


def _notation_children(rows: Rows, at: Indexes) -> tuple[Indexes, Indexes, Flags]:
    """Elements within articulations (0), technical (1) and ornaments (2), and if hidden."""
    table = rows.table
    notations = table.of("notations", 4)
    codes, printed = table.attribute(notations, "print-object")
    hidden_notations = np.array([value == "no" for value in printed], bool)[codes]
    groups = [table.of(name, 5) for name in ("articulations", "technical", "ornaments")]
    opening = np.concatenate(groups)
    kind = np.repeat(np.arange(3, dtype=np.int32), [len(group) for group in groups])
    order = np.argsort(opening, kind="stable")
    opening, kind = opening[order], kind[order]
    if not len(opening):
        none = np.empty(0, np.int32)
        return none, none, np.empty(0, bool)
    children, parent = table.children(opening, 5)
    on_note = at[table.row[children]] >= 0
    children, parent = children[on_note], parent[on_note]
    notation = np.searchsorted(notations, children) - 1
    return children, kind[parent], hidden_notations[notation]


def _pairs(rows: Rows, at: Indexes, elements: Indexes, names: dict[str, str]) -> Pairs:
    """Elements as labels of their notes; glyph names take the place of `other-…`."""
    table = rows.table
    numbers = {number: name for name, number in table.names.items()}
    tags = table.tag[elements].astype(np.int32)
    labels: list[str] = []
    code = np.zeros(len(elements), np.int32)
    for tag in np.unique(tags).tolist():
        here = np.flatnonzero(tags == tag)
        name = numbers[tag]
        if name.startswith("other-"):
            glyphs_at, glyphs = table.attribute(elements[here], "smufl")
            texts_at, texts = table.texts_of(elements[here])
            for index, glyph, text in zip(
                here.tolist(), glyphs_at.tolist(), texts_at.tolist(), strict=True
            ):
                label = glyphs[glyph] or texts[text].strip() or name
                code[index] = _number(labels, names.get(label, label))
        else:
            code[here] = _number(labels, names.get(name, name))
    return Pairs(at[table.row[elements]], code, tuple(labels))


def _techniques(rows: Rows, at: Indexes, technical: Indexes, notes: Notes) -> Pairs:
    """Technical marks, with plucked notes by attribute and harmonics by the head of a chord."""
    pairs = _pairs(rows, at, technical, {})
    named = np.array([name not in _NOT_TECHNIQUES for name in pairs.labels], bool)
    codes, values = rows.table.attribute(rows.element[notes.row], "pizzicato")
    plucked = np.flatnonzero(np.array([value == "yes" for value in values], bool)[codes])
    in_chord = notes.chord.copy()
    in_chord[:-1] |= notes.chord[1:]
    touched = np.flatnonzero(diamonds(rows, notes) & in_chord)
    labels = np.repeat(np.arange(2, dtype=np.int32), (len(plucked), len(touched)))
    others = np.concatenate((plucked, touched)).astype(np.int32)
    return _together(_selected(pairs, named), Pairs(others, labels, ("pizz", "harmonic")))


def _number(labels: list[str], label: str) -> int:
    if label not in labels:
        labels.append(label)
    return labels.index(label)


def _split_ornaments(pairs: Pairs) -> tuple[Pairs, Pairs]:
    """Ornaments that were written as articulations, and the true articulations."""
    spelled = np.array([label in ORNAMENTS for label in pairs.labels], bool)
    ornaments = _selected(pairs, spelled)
    labels = tuple(ORNAMENTS.get(label, label) for label in ornaments.labels)
    return Pairs(ornaments.note, ornaments.label, labels), _selected(pairs, ~spelled)


def _selected(pairs: Pairs, wanted: Flags) -> Pairs:
    if not len(pairs.labels):
        return pairs
    kept = wanted[pairs.label]
    return Pairs(pairs.note[kept], pairs.label[kept], pairs.labels)


def _together(one: Pairs, other: Pairs) -> Pairs:
    return Pairs(
        np.concatenate((one.note, other.note)),
        np.concatenate((one.label, other.label + np.int32(len(one.labels)))),
        one.labels + other.labels,
    )


def _first(pairs: Pairs, count: int) -> OneEach:
    """The first label of each note."""
    code = np.full(count, -1, np.int32)
    code[pairs.note[::-1]] = pairs.label[::-1]
    return OneEach(code, pairs.labels)


def _tremolos(rows: Rows, at: Indexes, count: int) -> tuple[Indexes, OneEach]:
    table = rows.table
    elements = table.of("tremolo", 6)
    strokes = np.full(count, -1, np.int32)
    code = np.full(count, -1, np.int32)
    types_at, types = table.attribute(elements, "type")
    texts_at, texts = table.texts_of(elements)
    kinds = ("single", "double", "unmeasured")
    number = {"start": 1, "stop": 1, "unmeasured": UNMEASURED}
    note = at[table.row[elements]]
    on_note = note >= 0
    stated = [whole(text) for text in texts]
    values = [-1 if number is None else number for number in stated]
    strokes[note[on_note]] = np.array(values, np.int32)[texts_at][on_note]
    coded = np.array([number.get(kind or "", 0) for kind in types], np.int32)
    code[note[on_note]] = coded[types_at][on_note]
    return strokes, OneEach(code, kinds)


_VALUES = ("quarter", "eighth", "16th", "32nd", "64th", "128th", "256th")


def _beams(rows: Rows, notes: Notes) -> Indexes:
    codes, texts = rows.text_in("type")
    values = [_VALUES.index(text.strip()) if text.strip() in _VALUES else 0 for text in texts]
    return np.array([*values, -1], np.int32)[codes][notes.row]


def _lyrics(rows: Rows, at: Indexes, count: int) -> tuple[OneEach, OneEach]:
    """The first syllable of each note; elided syllables are joined by an undertie."""
    table = rows.table
    lyrics = table.of("lyric", 4)
    first = np.full(count, -1, np.int32)
    note = at[table.row[lyrics]]
    on_note = note >= 0
    first[note[on_note][::-1]] = lyrics[on_note][::-1]
    texts = table.of("text", 5)
    texts_at, values = table.texts_of(texts)
    owner = lyrics[np.maximum(np.searchsorted(lyrics, texts) - 1, 0)] if len(lyrics) else texts
    text_note = at[table.row[texts]]
    wanted = (text_note >= 0) & (first[np.maximum(text_note, 0)] == owner)
    code = np.full(count, -1, np.int32)
    places, codes = text_note[wanted], texts_at[wanted]
    repeated = np.flatnonzero(places[1:] == places[:-1]) + 1
    code[places[::-1]] = codes[::-1]
    for index in repeated.tolist():
        place = int(places[index])
        values.append(values[code[place]] + "‿" + values[codes[index]])
        code[place] = len(values) - 1
    syllabics = table.of("syllabic", 5)
    kinds_at, kinds = table.texts_of(syllabics)
    syllabic = np.full(count, -1, np.int32)
    of_note = at[table.row[syllabics]]
    good = of_note >= 0
    syllabic[of_note[good][::-1]] = kinds_at[good][::-1]
    return OneEach(code, tuple(values)), OneEach(syllabic, tuple(k.strip() for k in kinds))


def _slides(rows: Rows, at: Indexes) -> tuple[tuple[int, int], ...]:
    """Pairs of notes that a glissando or slide joins, by number within the part."""
    table = rows.table
    found: list[tuple[int, int]] = []
    for name in ("glissando", "slide"):
        elements = table.of(name, 5)
        types_at, types = table.attribute(elements, "type")
        numbers_at, numbers = table.attribute(elements, "number")
        running: dict[tuple[int, str | None], int] = {}
        for element, kind, number in zip(
            elements.tolist(), types_at.tolist(), numbers_at.tolist(), strict=True
        ):
            row = int(table.row[element])
            key = (int(rows.part[row]), numbers[number])
            if types[kind] == "stop" and key in running:
                found.append((running.pop(key), int(at[row])))
            elif types[kind] == "start":
                running[key] = int(at[row])
    return tuple(pair for pair in sorted(found) if min(pair) >= 0)
