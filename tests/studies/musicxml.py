"""A score as MusicXML 4.0, as an engraver's file would be, in a compressed file of fixed bytes."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from studies.harmony import Key
from studies.instruments import INSTRUMENTS, Instrument
from studies.melody import QUARTER
from studies.pitches import Interval, Pitch, second_name
from studies.plan import Part
from studies.score import Direction, Printed, Score, Syllable, instrument_in, label_in

SOCIETY = "invented: the Music Committee of the Lantern Quay Singing Society"
LIBRARY = "invented: Library of the Lantern Quay Singing Society, shelf mark LQ {number}"
RIGHTS = (
    "Invented demonstration music: no real person, work or passage is its model. "
    "CC0 1.0 Universal, https://creativecommons.org/publicdomain/zero/1.0/"
)
_TYPES = {
    48: ("whole", 0), 36: ("half", 1), 24: ("half", 0), 18: ("quarter", 1), 12: ("quarter", 0),
    9: ("eighth", 1), 6: ("eighth", 0), 3: ("16th", 0),
}  # fmt: skip
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


def document(score: Score) -> bytes:
    """The score as an uncompressed document."""
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
        '"http://www.musicxml.org/dtds/partwise.dtd">',
        '<score-partwise version="4.0">',
        *_head(score),
        *_part_list(score),
    ]
    for part in score.study.parts:
        lines += [f' <part id="{part.part_id}">', *_PartWriter(score, part).bars(), " </part>"]
    lines.append("</score-partwise>")
    return ("\n".join(lines) + "\n").encode()


def compressed(name: str, data: bytes) -> bytes:
    """A compressed file with one document, the same bytes every time."""
    container = (
        '<?xml version="1.0" encoding="UTF-8"?>\n<container><rootfiles>'
        f'<rootfile full-path="{name}" media-type="application/vnd.recordare.musicxml+xml"/>'
        "</rootfiles></container>\n"
    )
    files = (
        ("mimetype", b"application/vnd.recordare.musicxml", zipfile.ZIP_STORED),
        ("META-INF/container.xml", container.encode(), zipfile.ZIP_DEFLATED),
        (name, data, zipfile.ZIP_DEFLATED),
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for path, content, method in files:
            entry = zipfile.ZipInfo(path, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = method
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, content, compresslevel=9)
    return buffer.getvalue()


def _head(score: Score) -> list[str]:
    study = score.study
    title = f"{study.title} (invented demonstration score)"
    source = LIBRARY.format(number=study.number)
    printed = (
        (
            "title",
            f"{study.title} (invented)",
            'default-x="600" default-y="1640" justify="center" font-size="18"',
        ),
        (
            "composer",
            "Lantern Quay Music Committee (invented)",
            'default-x="1130" default-y="1590" justify="right" font-size="9"',
        ),
        ("rights", RIGHTS, 'default-x="600" default-y="50" justify="center" font-size="7"'),
    )
    return [
        f" <work><work-number>{study.number}</work-number><work-title>{title}</work-title></work>",
        " <identification>",
        f'  <creator type="composer">{SOCIETY}</creator>',
        '  <creator type="lyricist">invented: the same</creator>',
        f"  <rights>{RIGHTS}</rights>",
        "  <encoding><encoding-date>2026-11-25</encoding-date><encoder>collaparte</encoder>"
        "<encoding-description>composed by a program for the tests of collaparte"
        '</encoding-description><supports element="accidental" type="yes"/>'
        '<supports element="beam" type="yes"/></encoding>',
        f"  <source>{source}</source>",
        " </identification>",
        " <defaults><scaling><millimeters>4</millimeters><tenths>40</tenths></scaling>"
        "<page-layout><page-height>1700</page-height><page-width>1200</page-width>"
        '<page-margins type="both"><left-margin>70</left-margin><right-margin>70</right-margin>'
        "<top-margin>60</top-margin><bottom-margin>60</bottom-margin></page-margins>"
        "</page-layout></defaults>",
        *(
            f' <credit page="1"><credit-type>{kind}</credit-type>'
            f"<credit-words {where}>{escape(text)}</credit-words></credit>"
            for kind, text, where in printed
        ),
    ]


def _part_list(score: Score) -> list[str]:
    lines = [" <part-list>"]
    for part in score.study.parts:
        for number, (name, first, _) in enumerate(score.study.groups, 1):
            if first == part.part_id:
                shown = f"<group-name>{name}</group-name>" if name == "Chorus" else ""
                lines.append(
                    f'  <part-group type="start" number="{number}">{shown}'
                    "<group-symbol>bracket</group-symbol><group-barline>yes</group-barline>"
                    "</part-group>"
                )
        lines += _score_part(part)
        lines += [
            f'  <part-group type="stop" number="{number}"/>'
            for number, (_, _, last) in enumerate(score.study.groups, 1)
            if last == part.part_id
        ]
    lines.append(" </part-list>")
    return lines


def _labels(part: Part) -> list[str]:
    """Labels of the instruments that the list of parts declares."""
    if part.shown_by != "ids":
        return [part.label]
    return list(dict.fromkeys([part.label, *(label for _, label, _ in part.becomes)]))


def _score_part(part: Part) -> list[str]:
    first = INSTRUMENTS[part.label]
    last = part.name.split()[-1]
    numbered = f"{first.abbreviation} {last}" if last[0].isdigit() else first.abbreviation
    lines = [
        f'  <score-part id="{part.part_id}">',
        f"   <part-name>{escape(part.name)}</part-name>",
        f"   <part-abbreviation>{escape(numbered)}</part-abbreviation>",
    ]
    for number, label in enumerate(_labels(part), 1):
        instrument = INSTRUMENTS[label]
        name = part.name if number == 1 else instrument.name
        lines.append(
            f'   <score-instrument id="{part.part_id}-I{number}">'
            f"<instrument-name>{escape(name)}</instrument-name>"
            f"<instrument-sound>{instrument.sound_id}</instrument-sound>"
            f"{'<ensemble/>' if instrument.family in ('voice', 'string') else ''}"
            "</score-instrument>"
        )
    for number, label in enumerate(_labels(part), 1):
        channel = 10 if not INSTRUMENTS[label].pitched else 1
        unpitched = "<midi-unpitched>77</midi-unpitched>" if channel == 10 else ""
        lines.append(
            f'   <midi-instrument id="{part.part_id}-I{number}">'
            f"<midi-channel>{channel}</midi-channel>"
            f"<midi-program>{INSTRUMENTS[label].program}</midi-program>{unpitched}"
            "</midi-instrument>"
        )
    return [*lines, "  </score-part>"]


class _PartWriter:
    """Writes the bars of one part."""

    def __init__(self, score: Score, part: Part) -> None:
        self.score, self.part = score, part
        self.directions = [item for item in score.directions if item.part_id == part.part_id]
        self.two_staves = len(part.seats) > 1
        self.labels = _labels(part)

    def bars(self) -> list[str]:
        lines: list[str] = []
        for number in range(1, self.score.bars + 1):
            lines.append(f'  <measure number="{number}">')
            lines += self._bar(number)
            lines.append("  </measure>")
        return lines

    def _bar(self, number: int) -> list[str]:
        start = (number - 1) * self.score.bar
        scene_number = self.score.scene_at(start)
        scene = self.score.scenes[scene_number - 1]
        instrument = instrument_in(self.part, scene_number)
        lines = self._attributes(number, start, scene_number, instrument)
        opens = scene.start == start
        if opens and self.part is self.score.study.parts[0]:
            letter = chr(ord("A") + scene_number - 1)
            if number == 1:
                lines.append(self._tempo())
            else:
                lines.append(
                    '   <direction placement="above"><direction-type>'
                    f"<rehearsal>{letter}</rehearsal></direction-type></direction>"
                )
        voice = 0
        for staff, seats in enumerate(self.part.seats, 1):
            shared = len(seats) == 2 and self._notes(seats[0], start) == self._notes(
                seats[1], start
            )
            written = [
                seat for place, seat in enumerate(seats) if place == 0 or self._notes(seat, start)
            ]
            if shared:
                written = [seats[0]]
            accidentals: dict[tuple[str, int], int] = {}
            for place, seat in enumerate(written):
                if voice or place:
                    lines.append(f"   <backup><duration>{self.score.bar}</duration></backup>")
                voice += 1
                number_of_voice = (staff - 1) * 4 + place + 1
                stem = ("up", "down")[place] if len(written) > 1 else ""
                lines += self._voice(
                    seat, start, number_of_voice, staff, stem, scene_number, accidentals,
                    with_directions=voice == 1,
                )  # fmt: skip
        last = number == self.score.bars
        next_scene = self.score.scene_at(start + self.score.bar) != scene_number
        if last or next_scene:
            style = "light-heavy" if last else "light-light"
            lines.append(f'   <barline location="right"><bar-style>{style}</bar-style></barline>')
        return lines

    def _tempo(self) -> str:
        study = self.score.study
        return (
            '   <direction placement="above"><direction-type>'
            f'<words font-weight="bold">{study.opening}</words></direction-type>'
            "<direction-type><metronome><beat-unit>quarter</beat-unit>"
            f"<per-minute>{study.beats_per_minute}</per-minute></metronome></direction-type>"
            f'<sound tempo="{study.beats_per_minute}"/></direction>'
        )

    def _attributes(
        self, number: int, start: int, scene_number: int, instrument: Instrument
    ) -> list[str]:
        scenes = self.score.scenes
        scene = scenes[scene_number - 1]
        first = number == 1
        previous = scenes[scene_number - 2] if scene_number > 1 else scene
        changed = (
            not first
            and scene.start == start
            and label_in(self.part, scene_number) != label_in(self.part, scene_number - 1)
        )
        new_key = first or changed
        if scene.start == start and previous.scene.key.fifths != scene.scene.key.fifths:
            new_key = True
        if not new_key:
            return []
        lines = ["   <attributes>"]
        if first:
            lines.append(f"    <divisions>{QUARTER}</divisions>")
        if instrument.pitched:
            fifths = written_key(scene.scene.key, instrument)
            lines.append(f"    <key><fifths>{fifths}</fifths></key>")
        else:
            lines.append("    <key><fifths>0</fifths></key>")
        if first:
            beats, unit = self.score.study.time
            lines.append(f"    <time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>")
            if self.two_staves:
                lines.append(f"    <staves>{len(self.part.seats)}</staves>")
            staves = range(1, len(self.part.seats) + 1)
            lines += [f"    {self._clef(instrument, staff)}" for staff in staves]
            if not instrument.pitched:
                lines.append("    <staff-details><staff-lines>1</staff-lines></staff-details>")
        if (first or changed) and (instrument.sounds.semitones or changed):
            lines.append(f"    {_transpose(instrument.sounds)}")
        lines.append("   </attributes>")
        if len(lines) == 2:
            return []
        if changed and self.part.shown_by == "sound":
            lines.append(
                f'   <sound><instrument-change id="{self.part.part_id}-I1">'
                f"<instrument-sound>{instrument.sound_id}</instrument-sound>"
                "</instrument-change></sound>"
            )
        return lines

    def _clef(self, instrument: Instrument, staff: int) -> str:
        clef = "F4" if staff == 2 else instrument.clef
        number = f' number="{staff}"' if self.two_staves else ""
        if clef == "percussion":
            return f"<clef{number}><sign>percussion</sign></clef>"
        change = "<clef-octave-change>-1</clef-octave-change>" if clef.endswith("-8") else ""
        return f"<clef{number}><sign>{clef[0]}</sign><line>{clef[1]}</line>{change}</clef>"

    def _notes(self, seat: str, start: int) -> list[Printed]:
        """The notes that sound in the bar."""
        end = start + self.score.bar
        return [
            item
            for item in self.score.seats.get(seat, ())
            if item.note.onset < end and item.note.end > start
        ]

    def _voice(
        self, seat: str, start: int, voice: int, staff: int, stem: str, scene_number: int,
        accidentals: dict[tuple[str, int], int], *, with_directions: bool,
    ) -> list[str]:  # fmt: skip
        end = start + self.score.bar
        pending = [
            item for item in self.directions if start <= item.onset < end and not item.closes
        ]
        closing = [item for item in self.directions if start < item.onset <= end and item.closes]
        if not with_directions:
            pending, closing = [], []
        instrument = instrument_in(self.part, scene_number)
        strikes = [
            (onset, length)
            for onset, length in self.score.strikes.get(seat, ())
            if start <= onset < end
        ]
        pieces = _pieces(self._notes(seat, start), strikes, start, end)
        beams = _beams(pieces, self.score.study.time)
        lines: list[str] = []
        empty = not any(piece.notes or piece.struck for piece in pieces)
        for piece, beam in zip(pieces, beams, strict=True):
            while pending and pending[0].onset <= piece.onset:
                lines.append(_direction(pending.pop(0), staff if self.two_staves else 0))
            if empty:
                lines.append(
                    '   <note><rest measure="yes"/>'
                    f"<duration>{end - start}</duration><voice>{voice}</voice>"
                    f"{self._staff(staff)}</note>"
                )
                break
            lines += self._piece(
                seat, piece, beam, voice, staff, stem, instrument, scene_number, accidentals
            )
        lines += [_direction(item, staff if self.two_staves else 0) for item in pending + closing]
        return lines

    def _piece(
        self, seat: str, piece: _Piece, beam: str, voice: int, staff: int, stem: str,
        instrument: Instrument, scene_number: int, accidentals: dict[tuple[str, int], int],
    ) -> list[str]:  # fmt: skip
        kind, dots = _TYPES[piece.length]
        tail = f"<type>{kind}</type>{'<dot/>' * dots}"
        rest = f"<duration>{piece.length}</duration><voice>{voice}</voice>"
        if not piece.notes and not piece.struck:
            return [f"   <note><rest/>{rest}{tail}{self._staff(staff)}</note>"]
        if piece.struck:
            return [
                "   <note><unpitched><display-step>E</display-step>"
                f"<display-octave>4</display-octave></unpitched>{rest}{tail}<stem>up</stem>"
                f"{self._staff(staff)}{beam}</note>"
            ]
        lines = []
        scene = self.score.scenes[scene_number - 1].scene
        key = written_key(scene.key, instrument)
        named = ""
        if len(self.labels) > 1:
            which = self.labels.index(label_in(self.part, scene_number)) + 1
            named = f'<instrument id="{self.part.part_id}-I{which}"/>'
        for place, item in enumerate(piece.notes):
            pitch = written(item.note.pitch, instrument, scene.key)
            tie_in, tie_out = piece.onset > item.note.onset, piece.end < item.note.end
            ties = ('<tie type="stop"/>' if tie_in else "") + (
                '<tie type="start"/>' if tie_out else ""
            )
            shown = _accidental(pitch, key, accidentals) if not tie_in else ""
            notations = ('<tied type="stop"/>' if tie_in else "") + (
                '<tied type="start"/>' if tie_out else ""
            )
            if item.strokes:
                notations += (
                    f'<ornaments><tremolo type="single">{item.strokes}</tremolo></ornaments>'
                )
            if notations:
                notations = f"<notations>{notations}</notations>"
            lyric = ""
            if place == 0 and not tie_in:
                lyric = _lyric(self.score.lyrics.get((seat, item.note.onset)))
            alter = f"<alter>{pitch.alter}</alter>" if pitch.alter else ""
            lines.append(
                f"   <note>{'<chord/>' if place else ''}<pitch><step>{pitch.step}</step>{alter}"
                f"<octave>{pitch.octave}</octave></pitch><duration>{piece.length}</duration>"
                f"{ties}{named}<voice>{voice}</voice>{tail}"
                f"{shown}{f'<stem>{stem}</stem>' if stem else ''}{self._staff(staff)}"
                f"{beam if place == 0 else ''}{notations}{lyric}</note>"
            )
        return lines

    def _staff(self, staff: int) -> str:
        return f"<staff>{staff}</staff>" if self.two_staves else ""


class _Piece:
    """A stretch of one voice in one bar that one note sign (or chord, or rest) can show."""

    def __init__(
        self, onset: int, length: int, notes: Sequence[Printed] = (), struck: bool = False
    ) -> None:
        self.onset, self.length, self.notes, self.struck = onset, length, list(notes), struck

    @property
    def end(self) -> int:
        return self.onset + self.length


def _pieces(
    notes: Iterable[Printed], strikes: Sequence[tuple[int, int]], start: int, end: int
) -> list[_Piece]:
    by_onset: dict[int, list[Printed]] = {}
    for item in notes:
        by_onset.setdefault(max(item.note.onset, start), []).append(item)
    events = [
        (onset, min(found[0].note.end, end), found, False)
        for onset, found in sorted(by_onset.items())
    ]
    events += [(onset, onset + length, [], True) for onset, length in strikes]
    pieces: list[_Piece] = []
    time = start
    for onset, stop, found, struck in sorted(events, key=lambda event: event[0]):
        pieces += [_Piece(*rest) for rest in _rests(time, onset, start)]
        pieces += [_Piece(*cut, found, struck) for cut in _cut(onset, stop, start)]
        time = stop
    return pieces + [_Piece(*rest) for rest in _rests(time, end, start)]


def _rests(onset: int, end: int, start: int) -> list[tuple[int, int]]:
    """Rests that stand on the beats."""
    found = []
    while onset < end:
        length = next(
            length
            for length in (48, 24, 12, 6, 3)
            if length <= end - onset and (onset - start) % length == 0
        )
        found.append((onset, length))
        onset += length
    return found


def _cut(onset: int, end: int, start: int) -> list[tuple[int, int]]:
    """Lengths that a note sign has; a short one does not hide the beat."""
    found = []
    while onset < end:
        place = onset - start
        length = next(
            length
            for length in _TYPES
            if length <= end - onset
            and (length in (3, 6, 9) or place % QUARTER == 0 or end - onset in _TYPES)
        )
        if end - onset in _TYPES:
            length = end - onset
        found.append((onset, length))
        onset += length
    return found


def _beams(pieces: Sequence[_Piece], time: tuple[int, int]) -> list[str]:
    beat = 18 if time[1] == 8 else QUARTER
    found = [""] * len(pieces)
    groups: list[list[int]] = []
    for place, piece in enumerate(pieces):
        short = piece.length < QUARTER and (piece.notes or piece.struck)
        last = groups[-1] if groups else []
        if not short:
            groups.append([])
        elif last and pieces[last[0]].onset // beat == piece.onset // beat:
            last.append(place)
        else:
            groups.append([place])
    for group in groups:
        if len(group) < 2:
            continue
        for number, place in enumerate(group):
            word = "begin" if number == 0 else "end" if number == len(group) - 1 else "continue"
            found[place] = f'<beam number="1">{word}</beam>'
            if pieces[place].length != 3:
                continue
            before = number > 0 and pieces[group[number - 1]].length == 3
            after = number < len(group) - 1 and pieces[group[number + 1]].length == 3
            inner = (
                "continue" if before and after else "end" if before else "begin" if after
                else "backward hook" if number else "forward hook"
            )  # fmt: skip
            found[place] += f'<beam number="2">{inner}</beam>'
    return found


def _accidental(pitch: Pitch, key: int, seen: dict[tuple[str, int], int]) -> str:
    in_key = Pitch(0, next(f for f in range(key - 1, key + 6) if (f - pitch.fifth) % 7 == 0)).alter
    place = pitch.step, pitch.octave
    if seen.get(place, in_key) == pitch.alter:
        return ""
    seen[place] = pitch.alter
    return f"<accidental>{_ACCIDENTALS[pitch.alter]}</accidental>"


def _direction(item: Direction, staff: int) -> str:
    placement = "above" if item.above else "below"
    if item.kind == "dynamics":
        content = f"<dynamics><{item.text}/></dynamics>"
    elif item.kind == "wedge":
        content = f'<wedge type="{item.text}"/>'
    elif item.kind == "octave":
        content = f'<octave-shift type="{item.text}" size="8"/>'
    else:
        content = f'<words font-style="italic">{escape(item.text)}</words>'
    where = f"<staff>{staff}</staff>" if staff else ""
    return (
        f'   <direction placement="{placement}"><direction-type>{content}</direction-type>'
        f"{where}</direction>"
    )


def _lyric(syllable: Syllable | None) -> str:
    if syllable is None:
        return ""
    drawn = '<extend type="start"/>' if syllable.drawn else ""
    return (
        f'<lyric number="1"><syllabic>{syllable.syllabic}</syllabic>'
        f"<text>{escape(syllable.text)}</text>{drawn}</lyric>"
    )


def written_key(key: Key, instrument: Instrument) -> int:
    """Signature of the part, under its other name where it would be beyond six signs."""
    moved = key.fifths - instrument.sounds.fifths
    return moved + second_name(moved)


def written(pitch: Pitch, instrument: Instrument, key: Key) -> Pitch:
    """The pitch as the part is written."""
    moved = pitch.moved(instrument.sounds.back)
    return Pitch(moved.midi, moved.fifth + second_name(key.fifths - instrument.sounds.fifths))


def _transpose(sounds: Interval) -> str:
    """The element, with whole octaves told apart; the letters as the key is written."""
    octaves = int(sounds.semitones / 12)
    rest = f"<octave-change>{octaves}</octave-change>" if octaves else ""
    return (
        f"<transpose><diatonic>{sounds.steps - 7 * octaves}</diatonic>"
        f"<chromatic>{sounds.semitones - 12 * octaves}</chromatic>{rest}</transpose>"
    )
