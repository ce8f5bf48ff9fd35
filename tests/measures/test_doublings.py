"""Doublings in scores small enough to see through."""

from typing import Any

import pytest
from score_tables import Line, Note, melody, score

from collaparte.measures.doublings import doublings
from collaparte.schema import TICKS
from collaparte.settings import Settings

TUNE = [60, 62, 64, 65, 67, 65, 64, 62, 60, 59, 60]


def found(*lines: Line) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = doublings(score(lines), None, Settings())["doublings"].to_pylist()
    return rows


def brief(*lines: Line) -> list[tuple[Any, ...]]:
    return [
        (
            row["kind"],
            row["interval_semitones"],
            row["strict"],
            row["matched_notes"],
            row["start_ticks"] / TICKS,
            row["end_ticks"] / TICKS,
        )
        for row in found(*lines)
    ]


def up(notes: list[Note], semitones: int) -> list[Note]:
    return [Note(note.onset, note.length, note.midi + semitones) for note in notes]


def test_a_unison_of_eleven_notes_is_strict() -> None:
    (row,) = found(Line(melody(TUNE)), Line(melody(TUNE)))
    assert (row["kind"], row["interval_semitones"], row["strict"]) == ("unison", 0, True)
    assert (row["matched_notes"], row["pitch_changes"], row["distinct_pitches"]) == (11, 10, 6)
    assert (row["start_bar"], row["end_bar"]) == ("1", "3")
    assert (row["share_a"], row["share_b"]) == (1.0, 1.0)


@pytest.mark.parametrize("distance", [12, -12, 24, -36])
def test_an_octave_keeps_its_sign(distance: int) -> None:
    tune = melody(TUNE)
    assert brief(Line(tune), Line(up(tune, distance))) == [("octave", distance, True, 11, 0, 11)]


def test_three_notes_or_two_changes_are_nothing() -> None:
    assert brief(Line(melody([60, 62, 64])), Line(melody([60, 62, 64]))) == []
    assert brief(Line(melody([60, 60, 62, 64])), Line(melody([60, 60, 62, 64]))) == []


def test_one_onset_of_one_line_is_bridged_and_does_not_count() -> None:
    lower = melody(TUNE)
    upper = [*lower[:5], *lower[6:]]
    (row,) = found(Line(upper), Line(lower))
    assert (row["matched_notes"], row["matched_ticks"]) == (10, 10 * TICKS)


def test_an_onset_that_is_matched_at_another_interval_ends_the_stretch() -> None:
    other = [*TUNE[:5], 69, *TUNE[6:]]
    assert brief(Line(melody(TUNE)), Line(melody(other))) == [
        ("unison", 0, False, 5, 0, 5),
        ("unison", 0, False, 5, 6, 11),
    ]


def test_a_joint_silence_of_more_than_four_quarters_ends_a_stretch() -> None:
    def with_rest(rest: float) -> Line:
        return Line([*melody(TUNE[:5]), *melody(TUNE[5:], start=5 + rest)])

    assert len(brief(with_rest(4), with_rest(4))) == 1
    assert len(brief(with_rest(4.5), with_rest(4.5))) == 2


def test_grace_cue_and_unpitched_notes_do_not_count() -> None:
    for mark in ("is_grace", "is_cue", "is_unpitched"):
        silent = [Note(note.onset, note.length, note.midi, {mark: True}) for note in melody(TUNE)]
        assert brief(Line(melody(TUNE)), Line(silent)) == []


def test_every_matched_note_is_told_from_each_side() -> None:
    tune = melody(TUNE)
    tables = doublings(
        score([Line(tune, "oboe"), Line(up(tune, -12), "bassoon")]), None, Settings()
    )
    rows = tables["doubled_notes"].to_pylist()
    assert len(rows) == 22
    assert [row["interval_semitones"] for row in rows] == [-12] * 11 + [12] * 11
    assert rows[0]["instrument"] == rows[11]["partner_instrument"] == "oboe"
    assert {row["doubling_key"] for row in rows} == set(
        tables["doublings"]["doubling_key"].to_pylist()
    )


def test_the_overlap_counts_where_lengths_differ() -> None:
    short = [Note(note.onset, 0.5, note.midi) for note in melody(TUNE)]
    (row,) = found(Line(melody(TUNE)), Line(short))
    assert row["matched_ticks"] == 11 * TICKS // 2
    assert (row["share_a"], row["share_b"]) == (0.5, 1.0)
