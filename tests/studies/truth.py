"""The truth beside a score: what was planted, where, and what came of itself."""

from __future__ import annotations

import itertools

from studies.counting import stretches
from studies.headline import headline
from studies.meetings import meetings
from studies.melody import Note
from studies.planted import (
    PLAIN,
    Names,
    Row,
    by_products,
    expect,
    line_row,
    planted_in,
    shown,
    when,
)
from studies.registers import LOW_TOP
from studies.scene import Composed
from studies.score import Score, instrument_in, key_in


def truth_of(score: Score) -> Row:
    """Everything that a reader and the measures should find in the score."""
    names = Names(score)
    counted = stretches(score)
    planted = [row for scene in score.scenes for row in planted_in(scene, names)]
    for row in planted:
        expect(score, row, counted)
    return {
        "title": score.study.title,
        "invented": "Invented demonstration music, CC0 1.0; beside the score of the same name.",
        "bars": score.bars,
        "quarters_per_bar": score.bar / 12,
        "scenes": [_scene(score, scene, names) for scene in score.scenes],
        "doublings": [shown(score, row) for row in planted],
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
        "headline": headline(score, counted),
        "meetings": meetings(score, planted, counted),
        "by_products": by_products(score, planted, counted, names),
    }  # fmt: skip


def _scene(score: Score, scene: Composed, names: Names) -> Row:
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
            | when(score, notes[0].onset, notes[-1].end)
            | {"lines": [line_row(name) for name in members]}
        )
    return {
        "texture": scene.scene.texture,
        "key_fifths": scene.scene.key.fifths,
        "mode": scene.scene.key.mode,
        "progression": scene.scene.progression,
        **when(score, scene.start, scene.end),
        "layers": layers,
    }


def _worded(score: Score, scene: Composed, names: Names) -> list[Row]:
    return [
        {
            "text": worded.text,
            "line": line_row(names.line(worded.seat, scene)),
            "with": line_row(names.line(worded.with_seat, scene)),
            "interval_semitones": 12 * worded.octaves,
            **when(score, scene.start, scene.end),
        }
        for worded in scene.scene.worded
    ]


def _groups(score: Score, scene: Composed, names: Names) -> list[Row]:
    """Three or more lines in unison and octaves, as long as all of them go together."""
    rows = []
    for voice in scene.scene.voices:
        members = [
            played for played in scene.played if played.voice == voice.name and played.kind in PLAIN
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
                    "lines": [line_row(names.line(played.seat, scene)) for played in together],
                    **when(score, start, end),
                }
            )
    return rows


def _moves(notes: list[Note], start: int, end: int) -> int:
    inside = [note.pitch.midi for note in notes if start <= note.onset < end]
    return sum(one != two for one, two in itertools.pairwise(inside))


def _registers(score: Score, scene: Composed, names: Names) -> list[Row]:
    """Winds that go with the chorus, and how many of their notes lie low."""
    rows = []
    voices = {
        voice.name
        for voice in scene.scene.voices
        if instrument_in(score.part_of(voice.seat), 1).family == "voice"
    }
    for played in scene.played:
        name = names.line(played.seat, scene)
        if played.voice not in voices or played.kind not in PLAIN or name.instrument not in LOW_TOP:
            continue
        top = LOW_TOP[name.instrument]
        rows.append(
            {
                "line": line_row(name),
                "voice": played.voice,
                **when(score, played.notes[0].onset, played.notes[-1].end),
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
                **when(score, start, end),
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
