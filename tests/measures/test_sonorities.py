"""Sonorities of a few notes, told by hand, and what holds of any score."""

import itertools
from typing import Any

import pyarrow as pa
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte.measures.sonorities import sonorities
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, score


def made(lines: list[list[Note]]) -> dict[str, pa.Table]:
    tables = score([Line(notes) for notes in lines])
    return {**tables, **sonorities(tables, None, Settings())}


def brief(tables: dict[str, pa.Table]) -> list[tuple[Any, ...]]:
    return [
        (
            row["start_ticks"] / TICKS,
            row["ticks"] / TICKS,
            row["lines_sounding"],
            row["distinct_pitches"],
            row["spread_semitones"],
            row["widest_gap"],
            row["gap_above"],
            row["lowest_interval"],
        )
        for row in tables["sonorities"].to_pylist()
    ]


def test_a_new_sonority_begins_where_any_note_begins_or_ends() -> None:
    held, moving = [Note(0, 4, 48)], [Note(0, 1, 60), Note(1, 1, 64), Note(3, 2, 67)]
    tables = made([moving, held])
    assert brief(tables) == [
        (0, 1, 2, 2, 12, 12, 48, 12),
        (1, 1, 2, 2, 16, 16, 48, 16),
        (2, 1, 1, 1, None, None, None, None),
        (3, 1, 2, 2, 19, 19, 48, 19),
        (4, 1, 1, 1, None, None, None, None),
    ]
    members = tables["sonority_members"].to_pylist()
    assert [(row["midi"], row["is_attack"]) for row in members] == [
        (60, True),
        (48, True),
        (64, True),
        (48, False),
        (48, False),
        (67, True),
        (48, False),
        (67, False),
    ]
    lowest = [True if row["midi"] == 48 else row["start_ticks"] == 4 * TICKS for row in members]
    assert [row["is_lowest"] for row in members] == lowest
    assert [row["bar"] for row in tables["sonorities"].to_pylist()] == ["1"] * 4 + ["2"]


def test_silence_makes_no_sonority() -> None:
    assert [row[:2] for row in brief(made([[Note(0, 1, 60), Note(3, 1, 60)]]))] == [(0, 1), (3, 1)]


def test_unisons_and_the_lowest_of_equal_gaps() -> None:
    chord = [[Note(0, 1, pitch)] for pitch in (72, 64, 60, 60, 52)]
    tables = made(chord)
    assert brief(tables) == [(0, 1, 5, 4, 20, 8, 52, 8)]
    assert tables["sonorities"]["distinct_pitch_classes"].to_pylist() == [2]


def test_grace_cue_and_unpitched_notes_do_not_sound() -> None:
    for mark in ("is_grace", "is_cue", "is_unpitched"):
        assert brief(made([[Note(0, 1, 60, {mark: True})]])) == []


notes = st.builds(
    Note,
    st.integers(0, 40).map(lambda eighths: eighths / 2),
    st.integers(1, 12).map(lambda eighths: eighths / 2),
    st.integers(40, 80),
)


@given(st.lists(st.lists(notes, max_size=8), min_size=1, max_size=4))
@settings(max_examples=100, deadline=None)
def test_members_are_the_notes_that_sound(lines: list[list[Note]]) -> None:
    tables = made(lines)
    ticks = dict.fromkeys(tables["notes"]["note_key"].to_pylist(), 0)
    told = {row["sonority_key"]: row for row in tables["sonorities"].to_pylist()}
    for row in tables["sonority_members"].to_pylist():
        ticks[row["note_key"]] += row["ticks"]
        sonority = told[row["sonority_key"]]
        assert row["start_ticks"] == sonority["start_ticks"]
        assert row["is_lowest"] == (row["midi"] == sonority["lowest"])
    assert list(ticks.values()) == tables["notes"]["duration_ticks"].to_pylist()
    for row in tables["sonorities"].to_pylist():
        start = row["start_ticks"] / TICKS
        sounding = {
            (line, note.midi)
            for line, line_notes in enumerate(lines)
            for note in line_notes
            if note.onset <= start < note.onset + note.length
        }
        pitches = sorted({midi for _, midi in sounding})
        assert row["lines_sounding"] == len({line for line, _ in sounding})
        assert (row["lowest"], row["highest"]) == (pitches[0], pitches[-1])
        assert row["distinct_pitches"] == len(pitches)
        gaps = [high - low for low, high in itertools.pairwise(pitches)]
        assert row["widest_gap"] == (max(gaps) if gaps else None)
