"""The signs that a bar is written in: notes cut to lengths, rests, beams, accidentals, words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape

from studies.harmony import Key
from studies.instruments import Instrument
from studies.melody import QUARTER
from studies.pitches import Interval, Pitch, second_name
from studies.score import Direction, Printed, Syllable

TYPES = {
    48: ("whole", 0), 36: ("half", 1), 24: ("half", 0), 18: ("quarter", 1), 12: ("quarter", 0),
    9: ("eighth", 1), 6: ("eighth", 0), 3: ("16th", 0),
}  # fmt: skip
_ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


class Piece:
    """A stretch of one voice in one bar that one note sign (or chord, or rest) can show."""

    def __init__(
        self, onset: int, length: int, notes: Sequence[Printed] = (), struck: bool = False
    ) -> None:
        self.onset, self.length, self.notes, self.struck = onset, length, list(notes), struck

    @property
    def end(self) -> int:
        return self.onset + self.length


def pieces_of(
    notes: Iterable[Printed], strikes: Sequence[tuple[int, int]], start: int, end: int
) -> list[Piece]:
    """The notes, rests and strokes of one voice in one bar, each as one sign."""
    by_onset: dict[int, list[Printed]] = {}
    for item in notes:
        by_onset.setdefault(max(item.note.onset, start), []).append(item)
    events = [
        (onset, min(found[0].note.end, end), found, False)
        for onset, found in sorted(by_onset.items())
    ]
    events += [(onset, onset + length, [], True) for onset, length in strikes]
    pieces: list[Piece] = []
    time = start
    for onset, stop, found, struck in sorted(events, key=lambda event: event[0]):
        pieces += [Piece(*rest) for rest in _rests(time, onset, start)]
        pieces += [Piece(*cut, found, struck) for cut in _cut(onset, stop, start)]
        time = stop
    return pieces + [Piece(*rest) for rest in _rests(time, end, start)]


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
            for length in TYPES
            if length <= end - onset
            and (length in (3, 6, 9) or place % QUARTER == 0 or end - onset in TYPES)
        )
        if end - onset in TYPES:
            length = end - onset
        found.append((onset, length))
        onset += length
    return found


def beams_of(pieces: Sequence[Piece], time: tuple[int, int]) -> list[str]:
    """The beams of each piece: short notes of a beat are joined."""
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


def accidental(pitch: Pitch, key: int, seen: dict[tuple[str, int], int]) -> str:
    """The accidental that a note needs after its key and what stood in the bar."""
    in_key = Pitch(0, next(f for f in range(key - 1, key + 6) if (f - pitch.fifth) % 7 == 0)).alter
    place = pitch.step, pitch.octave
    if seen.get(place, in_key) == pitch.alter:
        return ""
    seen[place] = pitch.alter
    return f"<accidental>{_ACCIDENTALS[pitch.alter]}</accidental>"


def direction(item: Direction, staff: int) -> str:
    """A direction as an element."""
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


def lyric_element(syllable: Syllable | None) -> str:
    """A syllable as an element."""
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


def transpose(sounds: Interval) -> str:
    """The element, with whole octaves told apart; the letters as the key is written."""
    octaves = int(sounds.semitones / 12)
    rest = f"<octave-change>{octaves}</octave-change>" if octaves else ""
    return (
        f"<transpose><diatonic>{sounds.steps - 7 * octaves}</diatonic>"
        f"<chromatic>{sounds.semitones - 12 * octaves}</chromatic>{rest}</transpose>"
    )
