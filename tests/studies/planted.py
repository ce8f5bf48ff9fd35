"""What is planted in the scenes as pairs of lines, and what came of itself beside it."""

from __future__ import annotations

from typing import Any

from studies.lines import LineName, Stretch
from studies.scene import Composed, Played
from studies.score import Score, key_in

Row = dict[str, Any]
PLAIN = ("voice", "same")


class Names:
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


def line_row(name: LineName) -> Row:
    """How a line is named in the truth."""
    return {
        "part": name.part_id,
        "staff": name.staff,
        "line": name.rank + 1,
        "instrument": name.instrument,
        "alone": name.alone,
    }


def planted_in(scene: Composed, names: Names) -> list[Row]:
    """The pairs of lines that a scene makes one line, or lets go together."""
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


def _pair(scene: Composed, names: Names, one: Played, other: Played) -> Row | None:
    start = max(one.notes[0].onset, other.notes[0].onset)
    end = min(one.notes[-1].end, other.notes[-1].end)
    kinds = [played.kind for played in (one, other) if played.kind not in PLAIN]
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


def expect(score: Score, row: Row, counted: list[Stretch]) -> None:
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


def shown(score: Score, row: Row) -> Row:
    """A planted doubling as a row of the truth."""
    shown: Row = {
        "kind": row["kind"],
        "voice": row["voice"],
        "line_a": line_row(row["a"]),
        "line_b": line_row(row["b"]),
        "interval_semitones": row["interval"],
    }
    if "of" in row:
        shown["chords_of"] = [line_row(name) for name in row["of"]]
    return shown | when(score, row["start"], row["end"]) | {"strict": row["strict"]}


def when(score: Score, start: int, end: int) -> Row:
    """A stretch of time in printed bars and in quarters."""
    return {
        "first_bar": score.bar_of(start),
        "last_bar": score.bar_of(end - 1),
        "start_quarter": start / 12,
        "end_quarter": end / 12,
    }


def by_products(
    score: Score, planted: list[Row], counted: list[Stretch], names: Names
) -> list[Row]:
    """Strict stretches that nobody planted, each with its reason."""
    rows = []
    for item in counted:
        if not item.strict or any(_tells(item, row) for row in planted):
            continue
        rows.append(
            {
                "kind": item.kind,
                "line_a": line_row(item.a),
                "line_b": line_row(item.b),
                "interval_semitones": item.interval,
                **when(score, item.start, item.end),
                "reason": _reason(score, item, planted, names),
            }
        )
    return rows


def _reason(score: Score, item: Stretch, planted: list[Row], names: Names) -> str:
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


def _voices(score: Score, name: LineName, item: Stretch, names: Names) -> list[str]:
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
