"""The truth beside a score: what was planted, where, and what came of itself."""

from __future__ import annotations

import itertools
from typing import Any

from studies.counting import LineName, Stretch, stretches
from studies.melody import Note
from studies.registers import LOW_TOP
from studies.scene import Composed, Played
from studies.score import Score, instrument_in, key_in

Row = dict[str, Any]
_PLAIN = ("voice", "same")


def truth_of(score: Score) -> Row:
    """Everything that a reader and the measures should find in the score."""
    names = _Names(score)
    counted = stretches(score)
    planted = [row for scene in score.scenes for row in _planted(scene, names)]
    for row in planted:
        _expect(score, row, counted)
    return {
        "title": score.study.title,
        "invented": "Invented demonstration music, CC0 1.0; beside the score of the same name.",
        "bars": score.bars,
        "quarters_per_bar": score.bar / 12,
        "scenes": [_scene(score, scene, names) for scene in score.scenes],
        "doublings": [_shown(score, row) for row in planted],
        "worded_doublings": [row for scene in score.scenes for row in _worded(score, scene, names)],
        "groups": [row for scene in score.scenes for row in _groups(score, scene, names)],
        "registers": [row for scene in score.scenes for row in _registers(score, scene, names)],
        "spreads": [row for scene in score.scenes for row in _spreads(score, scene)],
        "instrument_changes": _changes(score),
        "techniques": [row for scene in score.scenes for row in _techniques(score, scene)],
        "players": _players(score),
        "dynamics": [
            {"part": item.part_id, "bar": score.bar_of(item.onset),
             "quarter": item.onset / 12, "mark": item.text}
            for item in score.directions
            if item.kind == "dynamics"
        ],
        "hairpins": _hairpins(score),
        "by_products": _by_products(score, planted, counted, names),
    }  # fmt: skip


class _Names:
    """The line that a seat is, in a scene."""

    def __init__(self, score: Score) -> None:
        self.score = score
        self.places = {part.part_id: place for place, part in enumerate(score.study.parts)}

    def line(self, seat: str, scene: Composed) -> LineName:
        part = self.score.part_of(seat)
        staff, rank = next(
            (staff, seats.index(seat)) for staff, seats in enumerate(part.seats, 1) if seat in seats
        )
        number = self.score.scenes.index(scene) + 1
        return LineName(
            self.places[part.part_id],
            part.part_id,
            staff,
            rank,
            key_in(part, number),
            self.score.alone(seat, scene.start),
        )


def _line(name: LineName) -> Row:
    return {
        "part": name.part_id,
        "staff": name.staff,
        "line": name.rank + 1,
        "instrument": name.instrument,
        "alone": name.alone,
    }


def _planted(scene: Composed, names: _Names) -> list[Row]:
    rows = []
    for voice in scene.scene.voices:
        if voice.role == "pedal_point":
            continue  # a pitch that stays is no doubled line
        members = [played for played in scene.played if played.voice == voice.name]
        for place, one in enumerate(members):
            for other in members[place + 1 :]:
                row = _pair(scene, names, one, other)
                if row:
                    rows.append(row | {"voice": voice.name, "scene": scene})
    for chords in scene.chords:
        seats = chords.voice.split("+")
        of = [
            names.line(played.seat, scene)
            for played in scene.played
            if played.voice in seats and played.kind == "voice"
        ]
        rows.append(
            {
                "kind": "chordal", "a": min([*of, names.line(chords.seat, scene)]),
                "b": max(min(of), names.line(chords.seat, scene)), "interval": None,
                "start": chords.notes[0].onset, "end": chords.notes[-1].end,
                "voice": chords.voice, "scene": scene, "of": of,
            }
        )  # fmt: skip
    return rows


def _pair(scene: Composed, names: _Names, one: Played, other: Played) -> Row | None:
    start = max(one.notes[0].onset, other.notes[0].onset)
    end = min(one.notes[-1].end, other.notes[-1].end)
    kinds = [played.kind for played in (one, other) if played.kind not in _PLAIN]
    if len(kinds) > 1 or start >= end:
        return None
    a, b = sorted((names.line(one.seat, scene), names.line(other.seat, scene)))
    if names.line(one.seat, scene) != a:
        one, other = other, one
    octaves = [played.copy.octaves if played.copy else 0 for played in (one, other)]
    interval: int | None = 12 * (octaves[1] - octaves[0])
    kind = kinds[0] if kinds else "octave" if interval else "unison"
    if kind == "along":
        first = {note.onset: note for note in one.notes}
        steps = {
            abs(note.pitch.degree - first[note.onset].pitch.degree) % 7
            for note in other.notes
            if note.onset in first
        }
        kind, interval = ("parallel_thirds" if steps == {2} else "parallel_sixths"), None
    if kind == "displaced":
        kind, interval = "octave_displaced", None
    return {"kind": kind, "a": a, "b": b, "interval": interval, "start": start, "end": end}


def _expect(score: Score, row: Row, counted: list[Stretch]) -> None:
    """Strict or inclusive, as the plain count has it; a planted doubling must be countable."""
    found = [item for item in counted if _tells(item, row)]
    if not found:
        raise ValueError(
            f"{score.study.stem}: planted {row['kind']} of {row['a'].part_id} and "
            f"{row['b'].part_id} in bar {score.bar_of(row['start'])} cannot be counted"
        )
    row["strict"] = any(item.strict for item in found)


def _tells(item: Stretch, row: Row) -> bool:
    """The stretch is the planted doubling: it tells at least half of it."""
    overlap = min(item.end, row["end"]) - max(item.start, row["start"])
    return (
        (item.a, item.b, item.kind) == (row["a"], row["b"], row["kind"])
        and (row["interval"] is None or item.interval == row["interval"])
        and 2 * overlap >= row["end"] - row["start"]
    )


def _shown(score: Score, row: Row) -> Row:
    shown: Row = {
        "kind": row["kind"],
        "voice": row["voice"],
        "line_a": _line(row["a"]),
        "line_b": _line(row["b"]),
        "interval_semitones": row["interval"],
    }
    if "of" in row:
        shown["chords_of"] = [_line(name) for name in row["of"]]
    return shown | _when(score, row["start"], row["end"]) | {"strict": row["strict"]}


def _when(score: Score, start: int, end: int) -> Row:
    return {
        "first_bar": score.bar_of(start),
        "last_bar": score.bar_of(end - 1),
        "start_quarter": start / 12,
        "end_quarter": end / 12,
    }


def _scene(score: Score, scene: Composed, names: _Names) -> Row:
    layers = []
    for voice in scene.scene.voices:
        members = [
            names.line(played.seat, scene)
            for played in scene.played
            if played.voice == voice.name and played.notes
        ]
        notes = next(played.notes for played in scene.played if played.voice == voice.name)
        layers.append(
            {"voice": voice.name, "role": voice.role, "how": voice.how}
            | _when(score, notes[0].onset, notes[-1].end)
            | {"lines": [_line(name) for name in members]}
        )
    return {
        "texture": scene.scene.texture,
        "key_fifths": scene.scene.key.fifths,
        "mode": scene.scene.key.mode,
        "progression": scene.scene.progression,
        **_when(score, scene.start, scene.end),
        "layers": layers,
    }


def _worded(score: Score, scene: Composed, names: _Names) -> list[Row]:
    return [
        {
            "text": worded.text,
            "line": _line(names.line(worded.seat, scene)),
            "with": _line(names.line(worded.with_seat, scene)),
            "interval_semitones": 12 * worded.octaves,
            **_when(score, scene.start, scene.end),
        }
        for worded in scene.scene.worded
    ]


def _groups(score: Score, scene: Composed, names: _Names) -> list[Row]:
    """Three or more lines in unison and octaves, as long as all of them go together."""
    rows = []
    for voice in scene.scene.voices:
        members = [
            played
            for played in scene.played
            if played.voice == voice.name and played.kind in _PLAIN
        ]
        starts = sorted({played.notes[0].onset for played in members})
        ends = sorted({played.notes[-1].end for played in members})
        cuts = sorted({*starts, *ends})
        for start, end in itertools.pairwise(cuts):
            together = [
                played
                for played in members
                if played.notes[0].onset <= start and played.notes[-1].end >= end
            ]
            if len(together) < 3 or _moves(together[0].notes, start, end) < 4:
                continue
            rows.append(
                {
                    "voice": voice.name,
                    "lines": [_line(names.line(played.seat, scene)) for played in together],
                    **_when(score, start, end),
                }
            )
    return rows


def _moves(notes: list[Note], start: int, end: int) -> int:
    inside = [note.pitch.midi for note in notes if start <= note.onset < end]
    return sum(one != two for one, two in itertools.pairwise(inside))


def _registers(score: Score, scene: Composed, names: _Names) -> list[Row]:
    """Winds that go with the chorus, and how many of their notes lie low."""
    rows = []
    voices = {
        voice.name
        for voice in scene.scene.voices
        if instrument_in(score.part_of(voice.seat), 1).family == "voice"
    }
    for played in scene.played:
        name = names.line(played.seat, scene)
        if (
            played.voice not in voices
            or played.kind not in _PLAIN
            or name.instrument not in LOW_TOP
        ):
            continue
        top = LOW_TOP[name.instrument]
        rows.append(
            {
                "line": _line(name),
                "voice": played.voice,
                **_when(score, played.notes[0].onset, played.notes[-1].end),
                "lowest_midi": min(note.pitch.midi for note in played.notes),
                "highest_midi": max(note.pitch.midi for note in played.notes),
                "notes": len(played.notes),
                "low_notes": sum(note.pitch.midi <= top for note in played.notes),
            }
        )
    return rows


def _spreads(score: Score, scene: Composed) -> list[Row]:
    """Lowest and highest sounding pitch at the start of three bars of the scene."""
    rows = []
    for bar in (1, scene.bars // 2, scene.bars - 1):
        time = scene.start + bar * scene.bar
        sounding = {
            item.note.pitch.midi
            for seat in score.seats.values()
            for item in seat
            if item.note.onset <= time < item.note.end
        }
        if len(sounding) > 1:
            rows.append(
                {
                    "bar": score.bar_of(time),
                    "quarter": time / 12,
                    "lowest_midi": min(sounding),
                    "highest_midi": max(sounding),
                    "spread_semitones": max(sounding) - min(sounding),
                    "distinct_pitches": len(sounding),
                }
            )
    return rows


def _changes(score: Score) -> list[Row]:
    rows = []
    for part in score.study.parts:
        before = 1
        for number, _, words in part.becomes:
            rows.append(
                {
                    "part": part.part_id,
                    "words": words,
                    "bar": score.bar_of(score.scenes[number - 1].start),
                    "shown_by": part.shown_by,
                    "from": key_in(part, before),
                    "to": key_in(part, number),
                    "semitones_from": instrument_in(part, before).sounds.semitones,
                    "semitones_to": instrument_in(part, number).sounds.semitones,
                }
            )
            before = number
    return rows


def _techniques(score: Score, scene: Composed) -> list[Row]:
    rows = []
    for says in scene.scene.says:
        start, end = scene.window(says.bars)
        rows.append(
            {
                "part": score.part_of(says.seat).part_id,
                "staff": 1,
                "term": says.term,
                "text": says.text,
                **_when(score, start, end),
                "ended_by": says.ends,
                "ended_by_term": says.ends_term,
            }
        )
    return rows


def _players(score: Score) -> list[Row]:
    terms = {"a 2": "both_players", "1.": "first_player", "1.2.": "players_1_2"}
    return [
        {"part": item.part_id, "bar": score.bar_of(item.onset), "quarter": item.onset / 12,
         "text": item.text, "term": terms[item.text]}
        for item in score.directions
        if item.kind == "words" and item.text in terms
    ]  # fmt: skip


def _hairpins(score: Score) -> list[Row]:
    """Hairpins from their first bar to their last."""
    rows = []
    opened: dict[str, Row] = {}
    for item in score.directions:
        if item.kind == "wedge" and item.text == "stop":
            rows.append(opened.pop(item.part_id) | {"end_quarter": item.onset / 12})
        elif item.kind == "wedge":
            opened[item.part_id] = {
                "part": item.part_id,
                "staff": 1,
                "kind": item.text,
                "first_bar": score.bar_of(item.onset),
                "start_quarter": item.onset / 12,
            }
    return rows


def _by_products(
    score: Score, planted: list[Row], counted: list[Stretch], names: _Names
) -> list[Row]:
    rows = []
    for item in counted:
        if not item.strict or any(_tells(item, row) for row in planted):
            continue
        rows.append(
            {
                "kind": item.kind,
                "line_a": _line(item.a),
                "line_b": _line(item.b),
                "interval_semitones": item.interval,
                **_when(score, item.start, item.end),
                "reason": _reason(score, item, planted, names),
            }
        )
    return rows


def _reason(score: Score, item: Stretch, planted: list[Row], names: _Names) -> str:
    between = [
        row
        for row in planted
        if (row["a"], row["b"]) == (item.a, item.b)
        and row["start"] < item.end
        and item.start < row["end"]
    ]
    if between:
        kinds = ", ".join(dict.fromkeys(row["kind"] for row in between))
        if item.kind == "main_notes":
            return (
                f"planted between the two lines here: {kinds}; one of them plays on where the "
                "other rests, and so has more onsets"
            )
        return f"another side of what is planted between the two lines here: {kinds}"
    voices = [_voices(score, name, item, names) for name in (item.a, item.b)]
    if item.kind == "chordal":
        return (
            "two groups give the chords of one harmony at the same attacks "
            f"({_listed(voices[0])}; {_listed(voices[1])})"
        )
    if item.a.part_id == item.b.part_id and item.kind.startswith("parallel"):
        return f"two notes of the chords of one part move in {item.kind.split('_')[1]} for a while"
    if item.kind.startswith("parallel"):
        return (
            f"{_listed(voices[0])} and {_listed(voices[1])} go in {item.kind.split('_')[1]} for a "
            "while, as voices of one harmony do"
        )
    if set(voices[0]) & set(voices[1]):
        return f"both lines belong to the voice {_listed(voices[0])}, each in another planted way"
    return f"{_listed(voices[0])} and {_listed(voices[1])} meet on the same notes"


def _voices(score: Score, name: LineName, item: Stretch, names: _Names) -> list[str]:
    """The voices that a line plays during a stretch."""
    return [
        f"{played.voice} of scene {number}"
        for number, scene in enumerate(score.scenes, 1)
        for played in [*scene.played, *scene.chords]
        if _place(names.line(played.seat, scene)) == _place(name)
        and played.notes
        and played.notes[0].onset < item.end
        and item.start < played.notes[-1].end
    ]


def _listed(voices: list[str]) -> str:
    return ", ".join(dict.fromkeys(voices)) or "no voice"


def _place(name: LineName) -> tuple[int, int]:
    return name.place, name.staff
