"""A scene composed: its independent voices, then everything that is planted on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from studies.harmony import Chord, Span, spans
from studies.instruments import INSTRUMENTS, Instrument
from studies.melody import QUARTER, Line, Manner, Note, NoWayError, Surroundings, along, compose
from studies.pitches import between
from studies.plan import Copy, Scene, Study, Voice
from studies.rhythm import by_chord, cells, slots

_MANNERS = {
    "melody": Manner(ornaments=True, repeat=14, leap=2, pull=2, ends_on_root=True),
    "counter": Manner(ornaments=True, repeat=14, leap=2, pull=2),
    "inner": Manner(completes=True, repeat=0, leap=2, pull=1),
    "hymn": Manner(repeat=8, leap=2, pull=3, ends_on_root=True),
    "ground": Manner(bass=True, repeat=6, leap=1, ends_on_root=True),
    "bass": Manner(bass=True, ornaments=True, repeat=12, leap=1, pull=1, ends_on_root=True),
    "figure": Manner(pull=1),
    "chord": Manner(completes=True, repeat=0, leap=3, pull=1),
    "pedal": Manner(pedal=True, repeat=0, leap=30),
}
_TURNS = {"wave": (0, 1, 1, -1), "up": (0, 1, 1, 1), "rock": (0, 1, -1, 1), "fall": (0, -1, -1, 1)}
_DISPLACED = (3, 2, 3, 2)
_ATTEMPTS = 40


@dataclass
class Played:
    """What one seat plays in a scene, and for whose sake: the voice, and how it copies it."""

    seat: str
    voice: str
    kind: str
    notes: Line
    copy: Copy | None = None


@dataclass
class Composed:
    """A scene with its notes: `chords` are seats with several notes at one onset."""

    scene: Scene
    start: int
    bar: int
    bars: int
    spans: list[Span]
    played: list[Played] = field(default_factory=list)
    chords: list[Played] = field(default_factory=list)

    @property
    def end(self) -> int:
        """Where it ends."""
        return self.start + self.bars * self.bar

    def window(self, bars: tuple[int, int] | None) -> tuple[int, int]:
        """The time of some of its bars, counted from 1."""
        first, last = bars or (1, self.bars)
        return self.start + (first - 1) * self.bar, self.start + last * self.bar


def instrument_of(study: Study, seat: str, scene_number: int) -> Instrument:
    """The instrument in the hands of a seat in a scene, counted from 1."""
    for part in study.parts:
        if any(seat in staff for staff in part.seats):
            label = part.label
            for number, new, _ in part.becomes:
                if scene_number >= number:
                    label = new
            return INSTRUMENTS[label]
    raise ValueError(f"no seat {seat}")


def compose_scene(study: Study, number: int, start: int) -> Composed:
    """Scene `number`, counted from 1, from a time on.

    Where a voice finds no way among those before it, all begin again with other small choices.
    """
    for attempt in range(_ATTEMPTS):
        try:
            return _attempt(study, number, start, attempt)
        except NoWayError as error:
            problem = error
    raise problem


def _attempt(study: Study, number: int, start: int, attempt: int) -> Composed:
    scene = study.scenes[number - 1]
    bar = 4 * QUARTER * study.time[0] // study.time[1]
    harmony = spans(scene.progression, scene.key, start, bar)
    result = Composed(scene, start, bar, scene.progression.count("|") + 1, harmony)
    lines: dict[str, Line] = {}
    for voice in scene.voices:
        try:
            lines[voice.name] = _voice(study, number, result, voice, lines, attempt)
            _plant(study, number, result, voice, _becomes(lines[voice.name], voice.how))
        except ValueError as error:
            where = f"{study.stem}, scene {number}, voice {voice.name}"
            raise type(error)(f"{where}: {error}") from error
    for chords in scene.chords:
        notes = _close_position([lines[name] for name in chords.of], chords.low, chords.high)
        result.chords.append(Played(chords.seat, "+".join(chords.of), "chords", notes))
    return result


def _voice(
    study: Study,
    number: int,
    scene: Composed,
    voice: Voice,
    lines: dict[str, Line],
    attempt: int,
) -> Line:
    low, high = _range(study, number, voice)
    begin, end = scene.window(voice.bars)
    if voice.rhythm == "chords":
        times = by_chord(scene.spans, begin, end)
    else:
        times = cells(voice.rhythm, begin, (end - begin) // scene.bar, scene.bar)
    companion = next((copy.steps for copy in voice.copies if copy.kind == "along"), 0)
    manner = replace(_MANNERS[voice.manner], companion=companion)
    if voice.follows:
        manner = replace(manner, pull=4)
    seed = f"{study.stem} {number} {voice.name}"
    places = slots(
        times,
        scene.spans,
        _Target(voice, scene, low, high, lines, seed),
        scene.bar,
        _TURNS[voice.shape] if voice.manner == "figure" else (),
    )
    around = Surroundings(
        list(lines.values()),
        [lines[name] for name in voice.below],
        [lines[name] for name in voice.above],
    )
    return compose(places, low, high, manner, around, seed, attempt)


def _range(study: Study, number: int, voice: Voice) -> tuple[int, int]:
    """Where the seat of the voice and all that copy it can play."""
    own = instrument_of(study, voice.seat, number)
    low, high = max(own.low, voice.low), min(own.high, voice.high)
    for copy in voice.copies:
        other = instrument_of(study, copy.seat, number)
        spare = 9 if copy.kind == "along" else 0
        shift = 12 * copy.octaves
        below, above = other.low - shift, other.high - shift
        if copy.steps < 0:
            below += spare
        elif copy.steps > 0:
            above -= spare
        if copy.kind == "displaced":
            below, above = max(below, other.low), min(above, other.high)
        low, high = max(low, below), min(high, above)
    if high - low < 9:
        raise ValueError(f"only {low} to {high} is left")
    return low, high


class _Target:
    """The height that a line should have: an arch over the phrase, a figure within two bars."""

    def __init__(
        self, voice: Voice, scene: Composed, low: int, high: int, lines: dict[str, Line], seed: str
    ) -> None:
        self.centre = voice.centre if voice.centre is not None else (low + high) // 2
        self.voice, self.scene = voice, scene
        self.model = lines.get(voice.follows, [])
        self.shift = 0
        if self.model:
            self.shift = self.centre - sum(note.pitch.midi for note in self.model) // len(
                self.model
            )
        self.wiggle = [(ord(char) % 5) - 2 for char in seed[-1] + seed[:3]]

    def __call__(self, time: int) -> int:
        scene = self.scene
        if self.model:
            then = time - self.voice.follows_after * scene.bar
            for note in self.model:
                if note.onset <= then < note.end:
                    return note.pitch.midi + self.shift
        if self.voice.shape not in ("arch", "valley", "rise", "fall"):
            return self.centre
        phrase = 4 * scene.bar
        place = (time - scene.start) % phrase
        peak = phrase * 5 // 8
        height = place * 7 // peak if place < peak else (phrase - place) * 7 // (phrase - peak)
        if self.voice.shape == "valley":
            height = -height
        elif self.voice.shape in ("rise", "fall"):
            height = 8 * (time - scene.start) // (scene.end - scene.start) - 4
            height = -height if self.voice.shape == "fall" else height
        half = (time - scene.start) * 2 // scene.bar
        return self.centre - 3 + height + self.wiggle[half % 4]


def _becomes(line: Line, how: str) -> Line:
    if how == "held":
        found: Line = []
        for note in line:
            last = found[-1] if found else None
            if last and last.pitch == note.pitch and last.end == note.onset and last.length <= 48:
                found[-1] = replace(last, length=last.length + note.length)
            else:
                found.append(note)
        return found
    if how == "repeated":
        return [part for note in line for part in _split(note, QUARTER // 2)]
    if how == "after":
        return [
            Note(time, QUARTER // 2, note.pitch)
            for note in line
            for time in range(note.onset + QUARTER, note.end, 2 * QUARTER)
        ]
    return line


def _split(note: Note, unit: int) -> Line:
    if note.length <= unit or note.length % unit:
        return [note]
    return [Note(time, unit, note.pitch) for time in range(note.onset, note.end, unit)]


def _plant(study: Study, number: int, scene: Composed, voice: Voice, line: Line) -> None:
    scene.played.append(Played(voice.seat, voice.name, "voice", line))
    for copy in voice.copies:
        begin, end = scene.window(copy.bars)
        source = [note for note in line if begin <= note.onset < end]
        notes = _copied(scene, copy, source)
        instrument = instrument_of(study, copy.seat, number)
        for note in notes:
            if not instrument.low <= note.pitch.midi <= instrument.high:
                raise ValueError(f"{note.pitch.midi} is out of the range of {instrument.name}")
        scene.played.append(Played(copy.seat, voice.name, copy.kind, notes, copy))


def _copied(scene: Composed, copy: Copy, source: Line) -> Line:
    moved = [replace(note, pitch=note.pitch.octaves(copy.octaves)) for note in source]
    if copy.kind == "same":
        return moved
    if copy.kind == "reiterated":
        return [part for note in moved for part in _split(note, QUARTER // 2)]
    if copy.kind == "main_notes":
        main = [note for note in moved if (note.onset - scene.start) % scene.bar % QUARTER == 0]
        ends = [note.onset for note in main[1:]] + [moved[-1].end]
        return [
            replace(note, length=end - note.onset) for note, end in zip(main, ends, strict=True)
        ]
    if copy.kind == "displaced":
        found: Line = []
        place = 0
        while len(found) < len(source):
            size = _DISPLACED[place % len(_DISPLACED)]
            group = (moved if place % 2 else source)[len(found) : len(found) + size]
            found += group
            place += 1
        return found
    if copy.kind == "along":
        return [
            replace(note, pitch=along(note.pitch, copy.steps, _chord_at(scene.spans, note.onset)))
            for note in moved
        ]
    raise ValueError(copy.kind)


def _chord_at(harmony: Sequence[Span], time: int) -> Chord:
    return next(span.chord for span in harmony if span.start <= time < span.end)


def _close_position(lines: Sequence[Line], low: int, high: int) -> Line:
    """At each onset of all the lines, their notes once each, close together."""
    common = set.intersection(*({note.onset for note in line} for line in lines))
    found = []
    for onset in sorted(common):
        notes = [note for line in lines for note in line if note.onset == onset]
        length = min(note.length for note in notes)
        fifths = {note.pitch.fifth for note in notes}
        for fifth in sorted(fifths):
            middle = (low + high) // 2
            nearest = min(between({fifth}, low, high), key=lambda pitch: abs(pitch.midi - middle))
            found.append(Note(onset, length, nearest))
    return sorted(found, key=lambda note: (note.onset, -note.pitch.midi))
