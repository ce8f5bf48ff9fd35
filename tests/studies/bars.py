"""The bars of one part as elements of MusicXML."""

from __future__ import annotations

from studies.instruments import Instrument
from studies.melody import QUARTER
from studies.plan import Part
from studies.score import Printed, Score, instrument_in, label_in
from studies.signs import (
    TYPES,
    Piece,
    accidental,
    beams_of,
    direction,
    lyric_element,
    pieces_of,
    transpose,
    written,
    written_key,
)


def labels_of(part: Part) -> list[str]:
    """Labels of the instruments that the list of parts declares."""
    if part.shown_by != "ids":
        return [part.label]
    return list(dict.fromkeys([part.label, *(label for _, label, _ in part.becomes)]))


class PartWriter:
    """Writes the bars of one part."""

    def __init__(self, score: Score, part: Part) -> None:
        self.score, self.part = score, part
        self.directions = [item for item in score.directions if item.part_id == part.part_id]
        self.two_staves = len(part.seats) > 1
        self.labels = labels_of(part)

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
            lines.append(f"    {transpose(instrument.sounds)}")
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
        pieces = pieces_of(self._notes(seat, start), strikes, start, end)
        beams = beams_of(pieces, self.score.study.time)
        lines: list[str] = []
        empty = not any(piece.notes or piece.struck for piece in pieces)
        for piece, beam in zip(pieces, beams, strict=True):
            while pending and pending[0].onset <= piece.onset:
                lines.append(direction(pending.pop(0), staff if self.two_staves else 0))
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
        lines += [direction(item, staff if self.two_staves else 0) for item in pending + closing]
        return lines

    def _piece(
        self, seat: str, piece: Piece, beam: str, voice: int, staff: int, stem: str,
        instrument: Instrument, scene_number: int, accidentals: dict[tuple[str, int], int],
    ) -> list[str]:  # fmt: skip
        kind, dots = TYPES[piece.length]
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
            shown = accidental(pitch, key, accidentals) if not tie_in else ""
            notations = ('<tied type="stop"/>' if tie_in else "") + (
                '<tied type="start"/>' if tie_out else ""
            )
            if item.slur and place == 0 and not (tie_in if item.slur == "start" else tie_out):
                notations += f'<slur type="{item.slur}" number="1"/>'
            if item.staccato:
                notations += "<articulations><staccato/></articulations>"
            if item.strokes:
                notations += (
                    f'<ornaments><tremolo type="single">{item.strokes}</tremolo></ornaments>'
                )
            if notations:
                notations = f"<notations>{notations}</notations>"
            lyric = ""
            if place == 0 and not tie_in:
                lyric = lyric_element(self.score.lyrics.get((seat, item.note.onset)))
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
