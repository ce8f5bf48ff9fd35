"""What stands before the first note: titles, rights, the list of parts.

Sources: MusicXML 4.0, elements `identification`, `part-list`, `score-part`, `part-group`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.tokens import ElementTable
from collaparte.readers.works import WorkNames


@dataclass(frozen=True)
class PartHeader:
    """What the list of parts says about one part; `instruments` by id in order."""

    part_id: str
    name: str | None = None
    abbreviation: str | None = None
    bracket: str | None = None
    instruments: tuple[InstrumentHeader, ...] = ()


@dataclass(frozen=True)
class InstrumentHeader:
    """One `score-instrument` of a part with its MIDI settings."""

    instrument_id: str
    name: str | None
    sound_id: str | None
    ensemble: str | None
    program: int | None
    channel: int | None
    unpitched: int | None


@dataclass(frozen=True)
class Header:
    """Everything before the first part."""

    title: str | None
    rights: str | None
    encoder: str | None
    software: str | None
    edition: str | None
    composer: str | None
    work: WorkNames
    concert_score: bool
    parts: tuple[PartHeader, ...]
    unlisted: tuple[str, ...]


def header_of(table: ElementTable) -> Header:
    """The header, and one `PartHeader` for each `part` element in the order of the file."""
    start = table.header.index(b"<score-partwise")  # past what only expat reads as a declaration
    header = _CREDITS.sub(b"", table.header[start:])
    root = etree.fromstring(header + b"</score-partwise>", _PARSER)
    listed = {part.part_id: part for part in _parts(root)}
    elements = table.of("part", 1)
    codes, ids = table.attribute(elements, "id")
    in_file = [ids[code] or "" for code in codes.tolist()]
    work = WorkNames(
        number=_text(root, "work/work-number"),
        title=_text(root, "work/work-title"),
        movement_number=_text(root, "movement-number"),
        movement_title=_text(root, "movement-title"),
    )
    return Header(
        title=work.movement_title or work.title,
        rights="; ".join(_texts(root, "identification/rights")) or None,
        encoder="; ".join(_texts(root, "identification/encoding/encoder")) or None,
        software="; ".join(_texts(root, "identification/encoding/software")) or None,
        edition=_text(root, "identification/source"),
        composer="; ".join(_texts(root, "identification/creator[@type='composer']")) or None,
        work=work,
        concert_score=root.find("defaults/concert-score") is not None,
        parts=tuple(listed.get(part_id, PartHeader(part_id)) for part_id in in_file),
        unlisted=tuple(part_id for part_id in in_file if part_id not in listed),
    )


_CREDITS = re.compile(rb"<credit[\s>].*?</credit>", re.DOTALL)
"""Texts of the title page, one for each page in some files: most of a header, and not read."""

_PARSER = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False, huge_tree=False)


def _parts(root: etree._Element) -> list[PartHeader]:
    parts = []
    groups: dict[str, str] = {}
    for child in root.iterfind("part-list/*"):
        if child.tag == "part-group":
            number = child.get("number", "1")
            if child.get("type") == "stop":
                groups.pop(number, None)
            else:
                name = _display(child, "group-name-display") or _text(child, "group-name")
                groups[number] = name or ""
        elif child.tag == "score-part":
            names = [name for name in groups.values() if name]
            parts.append(
                PartHeader(
                    part_id=child.get("id", ""),
                    name=_display(child, "part-name-display") or _text(child, "part-name"),
                    abbreviation=_display(child, "part-abbreviation-display")
                    or _text(child, "part-abbreviation"),
                    bracket=" > ".join(names) or None,
                    instruments=tuple(_instruments(child)),
                )
            )
    return parts


def _instruments(part: etree._Element) -> list[InstrumentHeader]:
    settings = {item.get("id"): item for item in part.iterfind("midi-instrument")}
    found = []
    for item in part.iterfind("score-instrument"):
        midi = settings.get(item.get("id"))
        ensemble = next((tag for tag in ("ensemble", "solo") if item.find(tag) is not None), None)
        found.append(
            InstrumentHeader(
                instrument_id=item.get("id", ""),
                name=_text(item, "instrument-name"),
                sound_id=_text(item, "instrument-sound"),
                ensemble=ensemble,
                program=_number(midi, "midi-program"),
                channel=_number(midi, "midi-channel"),
                unpitched=_number(midi, "midi-unpitched"),
            )
        )
    return found


_ACCIDENTALS = {"flat": "♭", "sharp": "♯", "natural": "♮", "flat-flat": "♭♭", "double-sharp": "𝄪"}


def _display(element: etree._Element, name: str) -> str | None:
    """A name in the form that is printed, accidentals as signs."""
    found = element.find(name)
    if found is None:
        return None
    pieces = [
        _ACCIDENTALS.get((child.text or "").strip(), "")
        if child.tag == "accidental-text"
        else child.text or ""
        for child in found
    ]
    return "".join(pieces).strip() or None


def _text(element: etree._Element, path: str) -> str | None:
    found = element.find(path)
    return None if found is None or not found.text else found.text.strip() or None


def _texts(root: etree._Element, path: str) -> list[str]:
    return [child.text.strip() for child in root.iterfind(path) if child.text]


def _number(element: etree._Element | None, name: str) -> int | None:
    return None if element is None else whole(_text(element, name))
