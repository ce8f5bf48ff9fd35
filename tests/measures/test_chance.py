"""The two null models on scores whose chances can be told by hand, and what always holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte import reference
from collaparte.kernels.seeds import generator
from collaparte.measures.activity import pair_activity
from collaparte.measures.doublings import doublings
from collaparte.measures.doublings.chance import chance_doubled
from collaparte.measures.doublings.melody import sounds
from collaparte.measures.doublings.nulls import harmonies, redrawn, shifts
from collaparte.measures.sonorities import sonorities
from collaparte.schema import TICKS
from collaparte.settings import Settings
from score_tables import Line, Note, filled, melody, score

DRAWS = 3
WITH_CHANCE = Settings(chance_draws=DRAWS)
BAR = [60, 62, 64, 65]


def drawn(tables: Mapping[str, pa.Table], draws: int = DRAWS) -> list[dict[str, Any]]:
    asked = Settings(chance_draws=draws)
    rows: list[dict[str, Any]] = chance_doubled(tables, reference.load(), asked)[
        "chance_doubled"
    ].to_pylist()
    return rows


def activity(tables: dict[str, pa.Table], asked: Settings = WITH_CHANCE) -> list[dict[str, Any]]:
    for function in (doublings, chance_doubled, sonorities, pair_activity):
        tables |= function(tables, reference.load(), asked)
    rows: list[dict[str, Any]] = tables["pair_activity"].to_pylist()
    return rows


def octaves(pitches: Sequence[int]) -> list[Line]:
    """A flute, and a bassoon an octave below."""
    return [
        Line(melody(pitches)),
        Line(melody([pitch - 12 for pitch in pitches]), "bassoon"),
    ]


def test_what_comes_again_in_every_bar_is_doubled_however_it_is_shifted() -> None:
    """20 bars of four quarters, an octave apart: every shift gives the whole time again."""
    rows = [row for row in drawn(score(octaves(BAR * 20))) if row["model"] == "shift"]
    assert {(row["kind"], row["strict"]) for row in rows} == {("octave", True)}
    assert [row["ticks"] for row in rows] == [80 * TICKS] * (2 * DRAWS)
    assert sorted(row["draw"] for row in rows) == [0, 0, 1, 1, 2, 2]


def test_what_comes_once_is_not_doubled_by_a_shift() -> None:
    """Eight bars in common, all others silent: a shift of eight bars or more parts them."""
    tables = score([*octaves(BAR * 8), Line([Note(79, 1, 30)], "timpani")])
    assert [row for row in drawn(tables) if row["model"] == "shift"] == []
    (row,) = (
        row
        for row in activity(tables)
        if row["kind"] == "octave" and row["strict"] and row["doubled_ticks"]
        if row["instrument"] == "flute"
    )
    assert (row["doubled_ticks"], row["chance_shift_ticks"]) == (32 * TICKS, 0)


@pytest.mark.parametrize(("bars", "shifted"), [(16, False), (17, True)])
def test_fewer_than_seventeen_bars_have_no_shift(bars: int, shifted: bool) -> None:
    tables = score(octaves(BAR * bars))
    assert any(row["model"] == "shift" for row in drawn(tables)) == shifted
    rows = activity(tables)
    assert all((row["chance_shift_ticks"] is not None) == shifted for row in rows)
    assert all(row["chance_harmony_ticks"] is not None for row in rows)


def test_one_pitch_class_a_bar_leaves_harmony_no_choice() -> None:
    """A note of two octaves in each bar: what is drawn is what was there."""
    pitches = [60, 62, 64, 65, 67, 69, 67, 65, 64, 62, 60, 62]
    tables = score(
        [Line(melody(pitches, 4)), Line(melody([pitch - 12 for pitch in pitches], 4), "bassoon")]
    )
    rows = [row for row in drawn(tables) if row["model"] == "harmony"]
    assert {(row["kind"], row["strict"]) for row in rows} == {("octave", True)}
    for draw in range(DRAWS):
        for instrument in ("flute", "bassoon"):
            told = [row for row in rows if (row["draw"], row["instrument"]) == (draw, instrument)]
            assert sum(row["ticks"] for row in told) == 48 * TICKS


def test_the_register_of_a_drawn_note_is_that_of_its_new_pitch() -> None:
    """Where the oboe is drawn in unison with the flute it has the flute's pitch."""
    upper = [76, 78, 80, 82] * 20
    tables = score([Line(melody(upper)), Line(melody([78, 76, 82, 80] * 20), "oboe")])
    bands = [band for band in reference.load().registers if band.key == "oboe" and band.is_default]
    seen = set()
    for row in drawn(tables, draws=19):
        if (row["model"], row["kind"], row["instrument"]) == ("harmony", "unison", "oboe"):
            start, end = (
                ticks // TICKS for ticks in (row["start_ticks"], row["start_ticks"] + row["ticks"])
            )
            for pitch in upper[start:end]:
                (of_pitch,) = (
                    band.register_class
                    for band in bands
                    if (band.low is None or band.low <= pitch)
                    and (band.high is None or pitch <= band.high)
                )
                assert row["register_class"] == of_pitch
                seen.add(of_pitch)
    assert len(seen) > 1


def test_the_mean_of_the_draws_stands_in_the_activity_of_the_pair() -> None:
    tables = score([*octaves([60, 62, 64, 62] * 20), Line(melody([64, 60, 62, 60] * 20), "oboe")])
    told = drawn(tables)
    for row in activity(tables):
        spans = [
            span["ticks"]
            for span in told
            if (span["line_key"], span["partner_line_key"])
            == (row["line_key"], row["partner_line_key"])
            and span["kind"] == row["kind"]
            and (span["strict"] or not row["strict"])
            and span["model"] == "harmony"
        ]
        # Spans of one pair, kind and draw do not overlap in a score of single notes.
        assert row["chance_harmony_ticks"] == sum(spans) / DRAWS


def test_without_draws_there_is_nothing() -> None:
    tables = score(octaves(BAR * 20))
    assert drawn(tables, draws=0) == []
    rows = activity(tables, Settings())
    assert {row["chance_shift_ticks"] for row in rows} == {None}
    assert {row["chance_harmony_ticks"] for row in rows} == {None}


def test_more_draws_begin_with_the_same_ones() -> None:
    tables = score([*octaves([60, 62, 64, 62] * 20), Line(melody([64, 60, 62, 60] * 20), "oboe")])
    more = drawn(tables, draws=5)
    assert drawn(tables) == [row for row in more if row["draw"] < DRAWS]
    assert {row["draw"] for row in more} > {row["draw"] for row in drawn(tables)}


def test_another_movement_has_other_draws() -> None:
    lines = [Line(melody([60, 62, 64, 62] * 20)), Line(melody([64, 60, 62, 60] * 20), "oboe")]
    first, second = (
        [
            (row["draw"], row["start_ticks"], row["ticks"])
            for row in drawn(score(lines, movement_id=name))
        ]
        for name in ("one", "two")
    )
    assert first != second


def test_chords_that_recur_are_chords_again_when_shifted() -> None:
    """Organ and harp with the same chords in other voices, four to the bar, in 20 bars."""
    chords = [[60, 64, 67], [60, 65, 69], [59, 62, 67], [57, 60, 64]] * 20
    turned = [[67, 72, 76], [72, 77, 81], [71, 74, 79], [69, 72, 76]] * 20
    lines = [
        Line(melody([chord[rank] for chord in played]), name, subfamily=name, part=part)
        for part, (name, played) in enumerate((("organ", chords), ("harp", turned)))
        for rank in range(3)
    ]
    rows = [
        row for row in drawn(score(lines)) if (row["model"], row["kind"]) == ("shift", "chordal")
    ]
    assert [row["ticks"] for row in rows] == [80 * TICKS] * (2 * DRAWS)
    assert {row["instrument"] for row in rows} == {"organ", "harp"}


def bars(lengths: Sequence[int], group: Sequence[int] | None = None) -> pa.Table:
    """The table `bars` with these lengths in quarters."""
    edges = np.cumsum([0, *lengths])
    return filled(
        "bars",
        "test",
        {
            "bar_index": np.arange(len(lengths)),
            "bar_group": np.arange(len(lengths)) if group is None else group,
            "start_ticks": edges[:-1] * TICKS,
            "length_ticks": np.diff(edges) * TICKS,
        },
    )


def test_shifts_are_whole_bars_at_least_eight_from_either_end() -> None:
    found = shifts(bars([4] * 20), 8)
    assert (found.ticks // TICKS).tolist() == [32, 36, 40, 44, 48]
    assert found.circle == 80 * TICKS


def test_an_upbeat_does_not_set_the_copy_off_its_beats() -> None:
    found = shifts(bars([1, *[4] * 18, 3]), 8)
    assert set(found.ticks % (4 * TICKS)) == {0}
    assert found.circle == 76 * TICKS


def test_bars_that_complete_each_other_are_one() -> None:
    halves = [2, 2] * 16
    group = np.arange(32) // 2 * 2
    assert len(shifts(bars(halves, group), 8).ticks) == 0
    assert len(shifts(bars(halves), 8).ticks) == 17


PITCHES = st.lists(st.integers(60, 64), min_size=72, max_size=72)


@settings(deadline=None, max_examples=25)
@given(PITCHES, PITCHES)
def test_lines_that_never_begin_notes_together_never_double(
    upper: list[int], lower: list[int]
) -> None:
    """The lower line comes half a quarter late, in all bars: no shift and no pitch helps it."""
    tables = score([Line(melody(upper)), Line(melody(lower, start=0.5), "bassoon")])
    assert drawn(tables) == []


@settings(deadline=None, max_examples=25)
@given(PITCHES, PITCHES)
def test_spans_lie_in_the_notes_of_their_line_and_are_told_from_both(
    upper: list[int], lower: list[int]
) -> None:
    """In the time of each line itself, that is: not in that of the copy."""
    rests = [note for note in melody(upper) if note.onset % 24 < 17]
    tables = score([Line(rests), Line(melody(lower), "bassoon")])
    totals: dict[tuple[Any, ...], set[int]] = {}
    for row in drawn(tables):
        if row["instrument"] == "flute":
            start, end = row["start_ticks"] // TICKS, (row["start_ticks"] + row["ticks"]) // TICKS
            assert all(quarter % 24 < 17 for quarter in range(start, end))
        assert 0 <= row["start_ticks"] < 72 * TICKS
        side = (row["model"], row["draw"], row["kind"], row["strict"])
        totals.setdefault((*side, row["instrument"]), set())
    sums: dict[tuple[Any, ...], int] = {}
    for row in drawn(tables):
        key = (row["model"], row["draw"], row["kind"], row["strict"], row["instrument"])
        sums[key] = sums.get(key, 0) + row["ticks"]
    for (*key, instrument), ticks in sums.items():
        other = {"flute": "bassoon", "bassoon": "flute"}[instrument]
        assert sums[(*key, other)] == ticks


@settings(deadline=None, max_examples=25)
@given(PITCHES, PITCHES)
def test_pitches_are_drawn_from_the_bar_and_near_the_old_ones(
    upper: list[int], lower: list[int]
) -> None:
    tables = score([Line(melody(upper)), Line(melody([low - 24 for low in lower]), "bassoon")])
    found = sounds(tables["notes"], tables["lines"])
    copy = redrawn(found, harmonies(found, tables["bars"]), generator("test"))
    bar = found.onset // (4 * TICKS)
    classes = {(int(b), int(p) % 1200) for b, p in zip(bar, found.pitch, strict=True)}
    assert {(int(b), int(p) % 1200) for b, p in zip(bar, copy.pitch, strict=True)} <= classes
    assert np.abs(copy.pitch - found.pitch).max() <= 600
    assert (copy.onset == found.onset).all()
    assert (copy.end == found.end).all()
    same = {}
    for line, where, old, new in zip(found.line, bar, found.pitch, copy.pitch, strict=True):
        assert same.setdefault((line, where, old), new) == new
