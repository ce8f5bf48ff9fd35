"""A plain, slow reader of MusicXML that visits every element, to hold the fast one against.

It knows the time cursor, chords, grace and cue notes, transposition by time and staff, octaves
that sound with a part, ties, rests that fill a bar and tremolos between two notes. It does not
know harmonics, signs of repetition, slashes, and staves that are not played.

Time is in quarters as exact fractions. It shares no line with the package.
"""

from __future__ import annotations

import zipfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from io import BytesIO

from lxml import etree

NATURAL = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
STEPS = "CDEFGAB"
USUAL_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""Steps of the usual interval of 0 to 11 semitones, for a transposition that names none."""


@dataclass(frozen=True)
class Transposition:
    """Sounding minus written pitch, and the octave that sounds with it (-1, 1 or None)."""

    steps: int = 0
    semitones: Fraction = Fraction(0)
    double: int | None = None


@dataclass(frozen=True)
class Note:
    """One `note` element, or after merging the chain of ties that it opens."""

    part: int
    staff: int
    voice: str | None
    bar_index: int
    onset: Fraction
    duration: Fraction
    step: str | None
    alter: Fraction
    octave: int | None
    shown: tuple[str | None, str | None]
    flags: frozenset[str]
    source: tuple[int, ...]
    ties: frozenset[str] = frozenset()
    tremolo: str | None = None
    transposition: Transposition = Transposition()

    @property
    def pitch(self) -> Fraction | None:
        """MIDI pitch, with fractions of a semitone."""
        if self.step is None or self.octave is None:
            return None
        return NATURAL[self.step] + self.alter + 12 * (self.octave + 1)

    @property
    def end(self) -> Fraction:
        return self.onset + self.duration


@dataclass
class PartBar:
    """What one bar of one part holds, timed from the start of the bar."""

    notes: list[Note] = field(default_factory=list)
    transpositions: list[tuple[Fraction, int | None, Transposition]] = field(default_factory=list)
    length: Fraction = Fraction(0)
    rest_length: Fraction = Fraction(0)
    signature: Fraction | None = None


def read(data: bytes) -> list[Note]:
    """Sounding notes of a score, ties merged."""
    root = etree.fromstring(_document(data), _parser())
    parts = [_read_part(number, bars) for number, bars in enumerate(_bars_of_parts(root))]
    starts = _starts(parts)
    spanned: list[list[Note]] = []
    for bars in parts:
        changes = [
            (start + offset, bar_index, staff, transposition)
            for bar_index, (start, bar) in enumerate(zip(starts, bars, strict=False))
            for offset, staff, transposition in bar.transpositions
        ]
        own = [
            _sounding(replace(note, onset=starts[bar_index] + note.onset), changes)
            for bar_index, bar in enumerate(bars)
            for note in bar.notes
        ]
        spanned.append(_spanned(own))
    unmet = _writes_no_ends(spanned)
    notes: list[Note] = []
    for own in spanned:
        merged = _merged(own, every_note_ends=unmet)
        notes += merged
        notes += [_doubled(note) for note in merged if note.transposition.double is not None]
    return notes


def _writes_no_ends(parts: list[list[Note]]) -> bool:
    """True for a file of 16 ties or more of which at most a tenth is met by an end."""
    begun = met = 0
    for notes in parts:
        sounding = [note for note in notes if not note.flags & {"cue", "grace"}]
        begun += sum("start" in note.ties for note in sounding)
        met += len(_followers(notes, every_note_ends=False))
    return begun >= 16 and 10 * met <= begun


def _parser() -> etree.XMLParser:
    return etree.XMLParser(
        remove_comments=True, remove_pis=True, strip_cdata=True, no_network=True, huge_tree=True
    )


def _document(data: bytes) -> bytes:
    if not data.startswith(b"PK"):
        return data
    with zipfile.ZipFile(BytesIO(data)) as archive:
        container = etree.fromstring(archive.read("META-INF/container.xml"))
        return archive.read(str(container.xpath("string(//*[local-name()='rootfile']/@full-path)")))


def _name(element: etree._Element) -> str:
    return str(etree.QName(element).localname)


def _child(element: etree._Element, *path: str) -> etree._Element | None:
    found: etree._Element | None = element
    for name in path:
        if found is None:
            return None
        found = next((item for item in found if _name(item) == name), None)
    return found


def _text(element: etree._Element, *path: str) -> str | None:
    found = _child(element, *path)
    return None if found is None else (found.text or "").strip()


def _bars_of_parts(root: etree._Element) -> Iterable[list[etree._Element]]:
    """The bars of each part, in the order of the parts; of both kinds of root."""
    bars: dict[str, list[etree._Element]] = {}
    for outer in root:
        if _name(outer) not in ("part", "measure"):
            continue
        for inner in outer:
            part_id = (outer if _name(outer) == "part" else inner).get("id", "")
            bars.setdefault(part_id, []).append(inner)
    return bars.values()


def _read_part(part: int, bars: list[etree._Element]) -> list[PartBar]:
    divisions = Fraction(1)
    signature: Fraction | None = None
    index = 0
    result = []
    for bar_index, bar in enumerate(bars):
        read_bar = PartBar()
        cursor = onset = Fraction(0)
        for item in bar:
            kind = _name(item)
            if kind == "attributes":
                if (text := _text(item, "divisions")) is not None:
                    divisions = Fraction(text)
                if (time := _child(item, "time")) is not None:
                    signature = _signature(time)
                for child in item:
                    if _name(child) == "transpose":
                        staff = child.get("number")
                        read_bar.transpositions.append(
                            (cursor, int(staff) if staff else None, _transposition(child))
                        )
            elif kind in ("backup", "forward"):
                length = Fraction(_text(item, "duration") or 0) / divisions
                cursor = max(cursor - length, Fraction(0)) if kind == "backup" else cursor + length
                read_bar.length = max(read_bar.length, cursor)
            elif kind == "note":
                length = Fraction(_text(item, "duration") or 0) / divisions
                grace = _child(item, "grace") is not None
                chord = _child(item, "chord") is not None
                if grace:
                    place = cursor
                elif chord:
                    place = onset
                else:
                    place = onset = cursor
                    cursor += length
                rest = _child(item, "rest")
                if rest is not None and rest.get("measure") == "yes":
                    read_bar.rest_length = max(read_bar.rest_length, cursor)
                else:
                    read_bar.length = max(read_bar.length, cursor)
                if rest is None:
                    read_bar.notes.append(
                        _note(item, part, bar_index, place, Fraction(0) if grace else length, index)
                    )
                index += 1
        read_bar.signature = signature
        result.append(read_bar)
    return result


def _signature(time: etree._Element) -> Fraction | None:
    beats = [child.text or "" for child in time if _name(child) == "beats"]
    units = [child.text or "" for child in time if _name(child) == "beat-type"]
    if not beats:
        return None
    return (
        sum(
            (Fraction(4 * sum(map(int, count.split("+"))), int(unit)))
            for count, unit in zip(beats, units, strict=True)
        )
        or None
    )


def _transposition(element: etree._Element) -> Transposition:
    semitones = Fraction(_text(element, "chromatic") or 0)
    octaves = int(_text(element, "octave-change") or 0)
    named = _text(element, "diatonic")
    if named is not None:
        steps = int(named)
    else:
        octave, within = divmod(int(abs(semitones)), 12)
        steps = (7 * octave + USUAL_STEPS[within]) * (-1 if semitones < 0 else 1)
    double = _child(element, "double")
    return Transposition(
        steps + 7 * octaves,
        semitones + 12 * octaves,
        None if double is None else 1 if double.get("above") == "yes" else -1,
    )


def _note(
    item: etree._Element, part: int, bar_index: int, onset: Fraction, length: Fraction, index: int
) -> Note:
    flags = {flag for flag in ("grace", "cue") if _child(item, flag) is not None}
    if item.get("print-object") == "no":
        flags.add("hidden")
    unpitched = _child(item, "unpitched")
    if unpitched is not None:
        flags.add("unpitched")
    octave = _text(item, "pitch", "octave")
    notations = [child for child in item if _name(child) == "notations"]
    tremolos = [
        mark.get("type")
        for child in notations
        for ornaments in child
        if _name(ornaments) == "ornaments"
        for mark in ornaments
        if _name(mark) == "tremolo"
    ]
    return Note(
        part=part,
        staff=int(_text(item, "staff") or 1),
        voice=_text(item, "voice"),
        bar_index=bar_index,
        onset=onset,
        duration=length,
        step=_text(item, "pitch", "step"),
        alter=Fraction(_text(item, "pitch", "alter") or 0),
        octave=None if octave is None else int(octave),
        shown=(None, None)
        if unpitched is None
        else (_text(unpitched, "display-step"), _text(unpitched, "display-octave")),
        flags=frozenset(flags),
        source=(index,),
        ties=frozenset(child.get("type", "") for child in item if _name(child) == "tie"),
        tremolo="chord"
        if _child(item, "chord") is not None
        else next((kind for kind in tremolos if kind in ("start", "stop")), None),
    )


def _starts(parts: list[list[PartBar]]) -> list[Fraction]:
    """Starts of the bars: a bar is as long as the longest of its parts.

    A rest that fills the bar does not make it longer; where nothing else is in it, the bar is
    as long as that rest, at most as the signature says.
    """
    starts = [Fraction(0)]
    for index in range(max(map(len, parts), default=0)):
        present = [bars[index] for bars in parts if index < len(bars)]
        length = max(bar.length for bar in present)
        if length == 0:
            length = max(bar.rest_length for bar in present)
            limits = [bar.signature for bar in present if bar.signature is not None]
            if limits:
                length = min(length, max(limits))
        starts.append(starts[-1] + length)
    return starts


def _sounding(note: Note, changes: list[tuple[Fraction, int, int | None, Transposition]]) -> Note:
    """The note at its sounding pitch, by the last change at or before it for its staff.

    A grace note after the last note of a bar is at the time of the next bar, but in its own.
    """
    own = Transposition()
    for time, bar_index, staff, transposition in changes:
        before = (bar_index, time) <= (note.bar_index, note.onset)
        if before and staff in (None, note.staff):
            own = transposition
    if note.step is None or note.octave is None:
        return note
    return replace(_moved(note, own.steps, own.semitones), transposition=own)


def _moved(note: Note, steps: int, semitones: Fraction) -> Note:
    assert note.step is not None
    assert note.octave is not None
    assert note.pitch is not None
    octaves, place = divmod(STEPS.index(note.step) + steps, 7)
    step, octave = STEPS[place], note.octave + octaves
    alter = note.pitch + semitones - NATURAL[step] - 12 * (octave + 1)
    return replace(note, step=step, octave=octave, alter=alter)


def _doubled(note: Note) -> Note:
    octave = note.transposition.double or 0
    moved = _moved(note, 7 * octave, Fraction(12 * octave))
    return replace(moved, flags=moved.flags | {"derived"})


def _spanned(notes: list[Note]) -> list[Note]:
    """Both notes of a tremolo between two notes last as long as the two together."""
    result = list(notes)
    open_: dict[tuple[int, str | None], list[int]] = {}
    role: str | None = None
    group: list[int] = []
    for place, note in enumerate(notes):
        stream = (note.staff, note.voice)
        if note.tremolo != "chord":
            role = note.tremolo
            if role == "start":
                group = open_[stream] = [place]
            elif role == "stop" and stream in open_:
                group = open_.pop(stream)
                end = note.end
                for other in group:
                    result[other] = replace(result[other], duration=end - result[other].onset)
                first = result[group[0]]
                result[place] = replace(note, onset=first.onset, duration=first.duration)
            else:
                role = None
        elif role == "start":
            group.append(place)
        elif role == "stop":
            first = result[group[0]]
            result[place] = replace(note, onset=first.onset, duration=first.duration)
    return result


def _followers(notes: list[Note], *, every_note_ends: bool) -> dict[int, int]:
    """The note that each tie leads to.

    A start and a stop of one pitch, the end of the one at the onset of the other, within a part;
    a partner in the same staff and voice comes first, then any other. `every_note_ends`: any note
    of the same staff and voice may be the stop.
    """
    starts = defaultdict(list)
    stops = defaultdict(list)
    for place, note in enumerate(notes):
        if note.flags & {"cue", "grace"}:
            continue
        pitch = note.shown if note.pitch is None else note.pitch
        if "start" in note.ties:
            starts[pitch, note.end].append(place)
        if "stop" in note.ties or every_note_ends:
            stops[pitch, note.onset].append(place)
    follower: dict[int, int] = {}
    for meeting, ends in stops.items():
        for first, second in _pairs(notes, starts[meeting], ends):
            near = (notes[first].staff, notes[first].voice) == (
                notes[second].staff,
                notes[second].voice,
            )
            if near or not every_note_ends:
                follower[first] = second
    return follower


def _merged(notes: list[Note], *, every_note_ends: bool) -> list[Note]:
    """Ties merged."""
    follower = _followers(notes, every_note_ends=every_note_ends)
    tied = set(follower.values())
    result = []
    for place, note in enumerate(notes):
        if place in tied:
            continue
        chain = list(_chain(place, follower))
        flags = note.flags
        if "stop" in note.ties and not flags & {"cue", "grace"}:
            flags |= {"tie_in"}
        result.append(
            replace(
                note,
                duration=sum((notes[link].duration for link in chain), Fraction(0)),
                source=tuple(index for link in chain for index in notes[link].source),
                flags=flags,
            )
        )
    return result


def _pairs(notes: list[Note], starts: list[int], stops: list[int]) -> Iterator[tuple[int, int]]:
    left, right = list(starts), list(stops)
    for same_stream in (True, False):
        for start in list(left):
            for stop in right:
                first, second = notes[start], notes[stop]
                if start != stop and (
                    not same_stream or (first.staff, first.voice) == (second.staff, second.voice)
                ):
                    yield start, stop
                    left.remove(start)
                    right.remove(stop)
                    break


def _chain(place: int, follower: dict[int, int]) -> Iterator[int]:
    yield place
    while place in follower:
        place = follower[place]
        yield place
