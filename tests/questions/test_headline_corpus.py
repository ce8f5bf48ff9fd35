"""The headline over several movements: what chance gives, words, and the rows for the corpus."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collaparte.schema import TICKS, keys
from collaparte.settings import Settings
from score_store import TUNE, Piece, answer, opened
from score_tables import Line, Note, melody

QUESTION = "low-winds-double-chorus"
LOW = {"register_class": "low"}
BAR = [60, 62, 64, 65]


def voice(notes: Sequence[Note]) -> Line:
    return Line(notes, "voice-bass-choir", "voice", "voices", ensemble="chorus")


def bassoon(notes: Sequence[Note]) -> Line:
    return Line([replace(note, marks=LOW) for note in notes], "bassoon", subfamily="bassoons")


def rows(store: Any, **values: Any) -> list[dict[str, Any]]:
    relation = store.ask(QUESTION, **values)
    return [dict(zip(relation.columns, row, strict=True)) for row in relation.fetchall()]


def doubled_for(bars: int, sung: int, **facts: Any) -> Piece:
    """The bassoon doubles the first bars of those that are sung, a strict stretch if three."""
    tune = list(itertools.islice(itertools.cycle(TUNE), 4 * sung))
    return Piece([bassoon(melody(tune[: 4 * bars])), voice(melody(tune))], facts)


def with_chance(folder: Path, piece: Piece, **values: Any) -> dict[str, Any]:
    return rows(opened(folder, {"m": piece}, Settings(chance_draws=5)), **values)[0]


def test_a_bar_that_always_comes_again_is_doubled_by_chance(tmp_path: Path) -> None:
    """Two voices in unison over 20 bars: a moment that both sing is counted once."""
    notes = melody(BAR * 20)
    found = with_chance(tmp_path, Piece([bassoon(notes), voice(notes), voice(notes)]))
    assert (found["any_voice"], found["by_chance"], found["note"]) == (1, 1, None)


def test_what_is_sung_once_is_not_doubled_by_chance(tmp_path: Path) -> None:
    notes = melody(BAR * 5)
    last = Line([Note(79, 1, 30)], "timpani", "percussion", "timpani")
    found = with_chance(tmp_path, Piece([bassoon(notes), voice(notes), last]))
    assert (found["any_voice"], found["by_chance"]) == (1, 0)


def test_winds_that_do_not_count_count_by_chance_neither(tmp_path: Path) -> None:
    notes = melody(BAR * 20)
    horn = replace(bassoon(notes), instrument="horn-f", family="brass", subfamily="horns")
    piece = Piece([horn, voice(notes)])
    assert with_chance(tmp_path / "all", piece)["by_chance"] == 1
    assert with_chance(tmp_path / "wood", piece, winds="woodwind")["by_chance"] == 0
    assert with_chance(tmp_path / "high", piece, register="high")["by_chance"] == 0


def test_without_chance_the_note_says_which_command_fills_it(tmp_path: Path) -> None:
    movement, corpus = answer(tmp_path, {"m": doubled_for(3, 6)}, QUESTION)
    assert (movement["by_chance"], corpus["by_chance"], movement["note"]) == (None, None, None)
    assert corpus["note"].startswith("collaparte build --chance fills by_chance; ")


def said(words: str, target: int) -> Mapping[str, Any]:
    """Words from bar 2 to the end of bar 4, in the first part."""
    return {
        "direction_key": int(keys("m", np.arange(1))[0]),
        "bar_index": 1,
        "bar": "2",
        "onset_ticks": 4 * TICKS,
        "onset_quarters": 4.0,
        "end_ticks": 16 * TICKS,
        "part_index": 0,
        "kind": "doubling",
        "understood_as": words,
        "target_line_key": int(keys("m", np.array([target]))[0]),
    }


def test_words_count_when_asked(tmp_path: Path) -> None:
    """Col Coro for three of six bars; of G2, A2, B flat 2 and C3 the trombone's A2 is still low."""
    trombone = Line([Note(0, 1, 60)], "trombone-tenor", "brass", "trombones")
    piece = Piece([trombone, voice(melody([43, 45, 46, 48] * 6))], directions=[said("with", 1)])
    store = opened(tmp_path, {"m": piece})
    assert rows(store)[0]["any_register"] == 0
    found = rows(store, words=True)[0]
    assert (found["any_register"], found["doubled_quarters"]) == (12 / 24, 6)
    assert found["any_voice_strict"] == found["any_voice_inclusive"] == 6 / 24
    assert found["instruments"] == "trombone-tenor (in words)"
    assert (found["passages"], found["bars"]) == (1, "2–4")
    assert found["on_transferred"] == 1


def test_words_at_the_octave_have_no_register(tmp_path: Path) -> None:
    trombone = Line([Note(0, 1, 60)], "trombone-tenor", "brass", "trombones")
    piece = Piece([trombone, voice(melody([48] * 24))], directions=[said("octave_with", 1)])
    found = rows(opened(tmp_path, {"m": piece}), words=True)[0]
    assert (found["any_register"], found["doubled_quarters"]) == (12 / 24, 0)


def test_pooled_and_mean_of_works(tmp_path: Path) -> None:
    """3 of 6 bars, 3 of 4 and 0 of 10 in one work; the mean is over works, not movements."""
    pieces = {
        "a": doubled_for(3, 6, work_id="w"),
        "b": doubled_for(0, 10, work_id="w"),
        "c": doubled_for(3, 4, work_id="v"),
    }
    *movements, corpus = answer(tmp_path, pieces, QUESTION)
    assert [row["any_voice"] for row in movements] == [1 / 2, 0, 3 / 4]
    assert corpus["any_voice"] == pytest.approx(6 / 20)
    assert (corpus["doubled_quarters"], corpus["sung_quarters"]) == (24, 80)
    assert corpus["any_voice_mean"] == pytest.approx((3 / 16 + 3 / 4) / 2)
    assert (corpus["works"], corpus["any_voice_low"]) == (2, None)
    assert corpus["voice_time_mean"] == corpus["any_voice_mean"]


def test_guessed_choruses_have_a_row_of_their_own(tmp_path: Path) -> None:
    certain, guessed = doubled_for(3, 6), doubled_for(3, 4)
    store = opened(tmp_path, {"a": certain, "b": guessed})
    (corpus,) = [row for row in rows(store) if row["movement_id"] == "corpus"]
    assert (corpus["chorus"], corpus["works"]) == ("certain", 2)
    lines = [replace(line, confidence="guess") for line in guessed.lines]
    store = opened(tmp_path / "guess", {"a": certain, "b": replace(guessed, lines=lines)})
    found = {row["chorus"]: row for row in rows(store) if row["movement_id"] == "corpus"}
    assert {name: row["any_voice"] for name, row in found.items()} == {
        "certain": pytest.approx(1 / 2),
        "guess": pytest.approx(3 / 4),
    }


def test_movements_that_do_not_count_are_in_no_corpus_row_unless_asked(tmp_path: Path) -> None:
    pieces = {
        "a": doubled_for(3, 6),
        "b": doubled_for(3, 4, counts=False),
        "c": doubled_for(3, 3, scoring_complete="no"),
    }
    store = opened(tmp_path, pieces)
    assert [row["counts"] for row in rows(store)[:-1]] == [True, False, False]
    assert rows(store)[-1]["works"] == 1
    assert rows(store, every_movement=True)[-1]["works"] == 3


def test_no_movement_that_counts(tmp_path: Path) -> None:
    corpus = answer(tmp_path, {"a": doubled_for(3, 6, counts=False)}, QUESTION)[-1]
    assert (corpus["works"], corpus["any_voice"], corpus["any_voice_mean"]) == (0, None, None)
    assert "no movement counts" in corpus["note"]


@pytest.mark.parametrize(("works", "warned"), [(5, True), (9, True), (10, False)])
def test_intervals_by_the_number_of_works(tmp_path: Path, works: int, warned: bool) -> None:
    pieces = {f"m{number}": doubled_for(3, 4 + number) for number in range(works)}
    corpus = answer(tmp_path, pieces, QUESTION)[-1]
    assert corpus["any_voice_low"] < corpus["any_voice_mean"] < corpus["any_voice_high"]
    assert ("the intervals may be too narrow" in corpus["note"]) == warned
    assert ("any_voice_mean without one work: " in corpus["note"]) == warned


def test_no_chorus_no_rows(tmp_path: Path) -> None:
    assert answer(tmp_path, {"a": Piece([bassoon(melody(TUNE))])}, QUESTION) == []
