"""A whole study as it will be printed: notes by seat, words under voices, directions."""

from __future__ import annotations

from dataclasses import dataclass, field

from studies.instruments import INSTRUMENTS, Instrument
from studies.melody import Note
from studies.plan import Part, Study
from studies.rhythm import cells
from studies.scene import Composed, compose_scene

_SLURRED = ("woodwind", "brass", "string")
_WHOLE = ("voice", "same", "along")


@dataclass(frozen=True)
class Syllable:
    """One syllable under a note; `drawn` where it is sung on over the next notes."""

    text: str
    syllabic: str
    drawn: bool = False


@dataclass(frozen=True)
class Direction:
    """Something printed above or below a staff.

    `kind` is words, dynamics, wedge (crescendo, diminuendo, stop), octave (down, stop).
    """

    part_id: str
    onset: int
    kind: str
    text: str
    above: bool = True
    closes: bool = False
    """It belongs to the end of the note before."""


@dataclass(frozen=True)
class Printed:
    """One note of a seat: `strokes` of a tremolo; `slur` is start, stop or nothing."""

    note: Note
    strokes: int = 0
    staccato: bool = False
    slur: str = ""


@dataclass
class Score:
    """All that a page shows."""

    study: Study
    scenes: list[Composed]
    seats: dict[str, list[Printed]] = field(default_factory=dict)
    lyrics: dict[tuple[str, int], Syllable] = field(default_factory=dict)
    directions: list[Direction] = field(default_factory=list)
    strikes: dict[str, list[tuple[int, int]]] = field(default_factory=dict)
    """Unpitched percussion: onset and length."""

    @property
    def bar(self) -> int:
        """Length of a bar."""
        return self.scenes[0].bar

    @property
    def bars(self) -> int:
        """Bars of the whole."""
        return sum(scene.bars for scene in self.scenes)

    def scene_at(self, time: int) -> int:
        """Number of the scene, from 1, in which a time lies; the last one at the end."""
        return next(
            (number for number, scene in enumerate(self.scenes, 1) if time < scene.end),
            len(self.scenes),
        )

    def bar_of(self, time: int) -> int:
        """Printed number of the bar in which a time lies."""
        return time // self.bar + 1

    def alone(self, seat: str, time: int) -> bool:
        """One player of the section plays, for the others are silent."""
        return any(
            says.seat == seat and says.term == "solo" and start <= time < end
            for scene in self.scenes
            for says in scene.scene.says
            for start, end in [scene.window(says.bars)]
        )

    def part_of(self, seat: str) -> Part:
        """The part that a seat belongs to."""
        return next(part for part in self.study.parts if any(seat in staff for staff in part.seats))


def label_in(part: Part, scene_number: int) -> str:
    """Label of the instrument that a part has in a scene."""
    label = part.label
    for number, new, _ in part.becomes:
        if scene_number >= number:
            label = new
    return label


def instrument_in(part: Part, scene_number: int) -> Instrument:
    """The instrument that a part has in a scene."""
    return INSTRUMENTS[label_in(part, scene_number)]


def key_in(part: Part, scene_number: int) -> str:
    """Key of the instrument that a part has in a scene; another crook is the same instrument."""
    first, now = INSTRUMENTS[part.label], instrument_in(part, scene_number)
    return first.key if now.family == "brass" else now.key


def make_score(study: Study) -> Score:
    """The study composed, scene after scene, and set out for print."""
    scenes: list[Composed] = []
    for number in range(1, len(study.scenes) + 1):
        scenes.append(compose_scene(study, number, scenes[-1].end if scenes else 0))
    score = Score(study, scenes)
    for scene in scenes:
        _place_notes(score, scene)
        _place_words(score, scene)
        _place_dynamics(score, scene)
        _place_techniques(score, scene)
    _place_players(score)
    _place_changes(score)
    for notes in score.seats.values():
        notes.sort(key=lambda item: (item.note.onset, -item.note.pitch.midi))
    score.directions.sort(key=lambda item: item.onset)
    return score


def _place_notes(score: Score, scene: Composed) -> None:
    voices = {voice.name: voice for voice in scene.scene.voices}
    busy: dict[str, list[tuple[int, int]]] = {}
    for played in scene.played:
        voice = voices[played.voice]
        family = instrument_in(score.part_of(played.seat), 1).family
        slurred = voice.manner in ("melody", "counter") and family in _SLURRED
        slurs = _slurs(played.notes, scene.bar) if slurred and played.kind in _WHOLE else {}
        printed = [
            Printed(
                note,
                strokes=3 if voice.how == "tremolo" else 0,
                staccato=voice.how == "after",
                slur=slurs.get(note.onset, ""),
            )
            for note in played.notes
        ]
        _place_line(score, played.seat, printed, busy)
    for played in scene.chords:
        _place_line(score, played.seat, [Printed(note) for note in played.notes], busy)
    for beats in scene.scene.beats:
        start, end = scene.window(beats.bars)
        score.strikes.setdefault(beats.seat, []).extend(
            cells(beats.rhythm, start, (end - start) // scene.bar, scene.bar)
        )


def _place_line(
    score: Score,
    seat: str,
    printed: list[Printed],
    busy: dict[str, list[tuple[int, int]]],
) -> None:
    if not printed:
        return
    start, end = printed[0].note.onset, max(item.note.end for item in printed)
    for begin, stop in busy.get(seat, ()):
        if start < stop and begin < end:
            raise ValueError(f"{score.study.stem}: {seat} has two things to play at {start}")
    busy.setdefault(seat, []).append((start, end))
    score.seats.setdefault(seat, []).extend(printed)


def _slurs(notes: list[Note], bar: int) -> dict[int, str]:
    """Slurs over the notes of a bar that follow each other without a rest."""
    found: dict[int, str] = {}
    groups: list[list[Note]] = []
    for note in notes:
        last = groups[-1] if groups else []
        if last and last[-1].end == note.onset and last[0].onset // bar == note.onset // bar:
            last.append(note)
        else:
            groups.append([note])
    for group in groups:
        if len(group) > 1 and group[-1].end <= (group[0].onset // bar + 1) * bar:
            found[group[0].onset], found[group[-1].onset] = "start", "stop"
    return found


def _place_words(score: Score, scene: Composed) -> None:
    clauses = _clauses(scene.scene.text)
    for played in scene.played:
        if instrument_in(score.part_of(played.seat), 1).family != "voice" or not clauses:
            continue
        for note, syllable in zip(played.notes, _fitted(clauses, len(played.notes)), strict=True):
            if syllable:
                score.lyrics[played.seat, note.onset] = syllable


def _clauses(text: str) -> list[list[Syllable]]:
    """The syllables of a text, clause by clause."""
    found: list[list[Syllable]] = []
    for clause in text.split(","):
        syllables = []
        for word in clause.split():
            pieces = word.split("-")
            for place, piece in enumerate(pieces):
                first, last = place == 0, place == len(pieces) - 1
                syllabic = (
                    "single" if first and last else "begin" if first else "end" if last
                    else "middle"
                )  # fmt: skip
                syllables.append(Syllable(piece, syllabic))
        if syllables:
            end = syllables[-1]
            syllables[-1] = Syllable(f"{end.text},", end.syllabic)
            found.append(syllables)
    return found


def _fitted(clauses: list[list[Syllable]], notes: int) -> list[Syllable | None]:
    """A syllable for each note, or None where the one before is sung on.

    The text comes as often as it fits, then the last of its clauses that still fit; what is left
    over is sung on the last syllables of clauses.
    """
    size = sum(map(len, clauses))
    sung = clauses * (notes // size)
    left = notes - size * (notes // size)
    if sung:
        more: list[list[Syllable]] = []
        for clause in reversed(clauses):
            if len(clause) <= left:
                more.insert(0, clause)
                left -= len(clause)
        sung = sung + more
    else:
        for clause in clauses:
            if len(clause) <= left:
                sung.append(clause)
                left -= len(clause)
            else:
                break
    found: list[Syllable | None] = []
    for place, clause in enumerate(sung):
        later = len(sung) - 1 - place
        drawn = left // len(sung) + (later < left % len(sung))
        end = clause[-1]
        found += clause[:-1]
        shown = end.text if later else f"{end.text[:-1]}."
        found.append(Syllable(shown, end.syllabic, drawn=drawn > 0))
        found += [None] * drawn
    return found


def _place_dynamics(score: Score, scene: Composed) -> None:
    plan = scene.scene
    roles = {voice.name: voice.role for voice in plan.voices}
    seen = set()
    playing: list[tuple[str, int, bool]] = [
        (played.seat, played.notes[0].onset, roles[played.voice] == "leading_line")
        for played in scene.played
        if played.notes
    ]
    playing += [(played.seat, played.notes[0].onset, False) for played in scene.chords]
    playing += [(beats.seat, scene.window(beats.bars)[0], False) for beats in plan.beats]
    for seat, onset, leads in playing:
        part = score.part_of(seat)
        if part.part_id in seen:
            continue
        seen.add(part.part_id)
        level = plan.leading if leads and plan.leading else plan.dynamic
        score.directions.append(
            Direction(part.part_id, onset, "dynamics", level, above=_sings(part))
        )
        if plan.swell and onset < scene.end - 2 * scene.bar:
            start = scene.end - 2 * scene.bar
            if not _plays(score, part, start, scene.end):
                continue
            score.directions.append(
                Direction(part.part_id, start, "wedge", plan.swell, above=_sings(part))
            )
            score.directions.append(
                Direction(part.part_id, scene.end, "wedge", "stop", above=_sings(part), closes=True)
            )


def _plays(score: Score, part: Part, start: int, end: int) -> bool:
    """The part sounds in every bar of this time."""
    onsets = {
        (item.note.onset - start) // score.bar
        for staff in part.seats
        for seat in staff
        for item in score.seats.get(seat, ())
        if start <= item.note.onset < end
    }
    return len(onsets) == (end - start) // score.bar


def _sings(part: Part) -> bool:
    return INSTRUMENTS[part.label].family == "voice"


def _place_techniques(score: Score, scene: Composed) -> None:
    for says in scene.scene.says:
        start, end = scene.window(says.bars)
        part = score.part_of(says.seat)
        if says.term == "octave_up":
            score.directions.append(Direction(part.part_id, start, "octave", "down"))
            score.directions.append(Direction(part.part_id, end, "octave", "stop", closes=True))
        else:
            score.directions.append(Direction(part.part_id, start, "words", says.text))
        if says.ends and end < score.bars * score.bar:
            score.directions.append(Direction(part.part_id, end, "words", says.ends))
    for worded in scene.scene.worded:
        part = score.part_of(worded.seat)
        score.directions.append(Direction(part.part_id, scene.start, "words", worded.text))


def _place_players(score: Score) -> None:
    """Words for two players on one staff: both, the first alone, or each his own."""
    for part in score.study.parts:
        for staff in part.seats:
            if len(staff) != 2 or INSTRUMENTS[part.label].family not in ("woodwind", "brass"):
                continue
            before = ""
            for bar in range(score.bars):
                one, other = (
                    [
                        item.note
                        for item in score.seats.get(seat, ())
                        if item.note.onset < (bar + 1) * score.bar
                        and item.note.end > bar * score.bar
                    ]
                    for seat in staff
                )
                if not one and not other:
                    continue
                word = "a 2" if one == other else "1.2." if one and other else "1."
                if not one:
                    raise ValueError(
                        f"{score.study.stem}: the second player alone in bar {bar + 1}"
                    )
                if word != before and (before or word != "1.2."):
                    onset = max(bar * score.bar, min(note.onset for note in one + other))
                    score.directions.append(Direction(part.part_id, onset, "words", word))
                before = word


def _place_changes(score: Score) -> None:
    """Words before a change of instrument, where the part falls silent."""
    for part in score.study.parts:
        for number, _, words in part.becomes:
            change = score.scenes[number - 1].start
            last = max(
                (
                    item.note.end
                    for staff in part.seats
                    for seat in staff
                    for item in score.seats.get(seat, ())
                    if item.note.end <= change
                ),
                default=0,
            )
            silence = -(-last // score.bar) * score.bar
            score.directions.append(Direction(part.part_id, min(silence, change), "words", words))
