"""The tables of layers and textures: what their rows say together."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
from test_texture_measures import HORN, LINES

from collaparte import reference
from collaparte.measures.textures import textures
from collaparte.measures.textures.roles import ROLES
from collaparte.settings import Settings
from score_tables import Line, Note, melody, score


def made(lines: list[Line], bar: int = 4) -> dict[str, list[dict[str, Any]]]:
    tables = textures(score(lines, bar), reference.load(), Settings())
    return {name: table.to_pylist() for name, table in tables.items()}


@pytest.fixture(scope="module")
def four_bars() -> dict[str, list[dict[str, Any]]]:
    """Tune in octaves, held horn and repeated cello; the horn is silent in the last two bars."""
    lines = list(LINES)
    lines[HORN] = Line(melody([60, 59], length=4), "horn", "brass", "horns")
    return made(lines)


def test_one_row_for_each_line_that_plays(four_bars: dict[str, list[dict[str, Any]]]) -> None:
    rows = four_bars["layers"]
    assert Counter(row["bar"] for row in rows) == {"1": 4, "2": 4, "3": 3, "4": 3}
    first = [row for row in rows if row["bar"] == "1"]
    assert [(row["instrument"], row["layer"], row["role"], row["leads"]) for row in first] == [
        ("flute", 0, "leading_line", True),
        ("oboe", 0, "leading_line", False),
        ("horn", 1, "sustained_harmony", False),
        ("cello", 2, "repeated_notes", False),
    ]
    assert [row["layer_lines"] for row in first] == [2, 2, 1, 1]
    assert first[0]["nearest_line_key"] == first[1]["line_key"]
    assert (first[0]["nearest_distance"], first[0]["nearest_pitch"]) == (0, 1)
    assert first[0]["pitch_line"] == first[1]["pitch_line"] == 0


def test_degrees_of_the_lines_add_up_to_the_measures_of_the_bar(
    four_bars: dict[str, list[dict[str, Any]]],
) -> None:
    rows = [row for row in four_bars["layers"] if row["bar"] == "2"]
    bar = four_bars["textures"][1]
    lines = [(row["as_leading_line"] + row["as_countermelody"]) / row["company_lines"]
             for row in rows]  # fmt: skip
    assert sum(lines) / 3 == pytest.approx(bar["lines"])
    for measure, role in (
        ("sustained", "sustained_harmony"),
        ("repeated", "repeated_notes"),
        ("figured", "figuration"),
    ):
        parts = [row["company_share"] * row[f"as_{role}"] for row in rows]
        assert sum(parts) == pytest.approx(bar[measure])
    for row in rows:
        assert sum(row[f"as_{role}"] for role in ROLES) == pytest.approx(1)


def test_spans_last_as_long_as_lines_and_role(four_bars: dict[str, list[dict[str, Any]]]) -> None:
    spans = four_bars["layer_spans"]
    assert [
        (span["role"], span["start_bar"], span["end_bar"], span["bars"], span["instruments"])
        for span in spans
    ] == [
        ("leading_line", "1", "4", 4, "flute; oboe"),
        ("sustained_harmony", "1", "2", 2, "horn"),
        ("repeated_notes", "1", "3", 3, "cello"),
        # Bars 3 and 4, the window of the last one, have the cello's C alone: it is struck.
        ("pedal_point", "4", "4", 1, "cello"),
    ]
    assert [span["leads_bars"] for span in spans] == [4, 0, 0, 0]
    keys = {row["layer_span_key"] for row in four_bars["layers"]}
    assert keys == {span["layer_span_key"] for span in spans}


def test_bars_and_passages(four_bars: dict[str, list[dict[str, Any]]]) -> None:
    bars = four_bars["textures"]
    # In bars 1 and 2 horn and cello are equals, and the horn leads the less; then it is silent.
    assert [bar["texture"] for bar in bars] == [
        *["melody_over_sustained_harmony"] * 2, *["melody_over_repeated_notes"] * 2,
    ]  # fmt: skip
    assert [bar["background"] for bar in bars] == ["sustained + repeated", *["repeated"] * 3]
    assert bars[0]["handbook_word"] == "melody with accompaniment"
    # Quavers throughout: two onsets a quarter. Flute E5 to cello C3 are 28 semitones and more.
    assert (bars[0]["onsets_per_quarter"], bars[0]["pace"]) == (2, "moderate")
    assert (bars[0]["lowest"], bars[0]["highest"], bars[0]["pitches"]) == (48, 81, 4)
    assert bars[0]["spread_semitones"] == pytest.approx((28 + 29 + 31 + 33) / 4)
    assert (bars[0]["weight"], bars[2]["weight"]) == (1, 0.75)
    assert (bars[0]["woodwind_share"], bars[0]["brass_share"]) == (0.5, 0.25)
    (passage,) = four_bars["texture_passages"]
    assert (passage["start_bar"], passage["end_bar"], passage["same_bars"]) == ("1", "4", 2)
    assert passage["leading_instruments"] == "flute"


def test_silence_ends_a_passage_and_has_no_texture() -> None:
    notes = [*melody([60, 62, 64, 65]), *melody([60, 62, 64, 65], start=8)]
    tables = made([Line(notes)])
    assert [bar["texture"] for bar in tables["textures"]] == ["one_line", None, "one_line"]
    assert [row["start_bar"] for row in tables["texture_passages"]] == ["1", "3"]
    silent = tables["textures"][1]
    assert silent["concentration"] is silent["margin"] is silent["lowest"] is None
    assert silent["layers"] == 0


def test_score_of_rests() -> None:
    tables = made([Line([]), Line([])])
    assert [bar["texture"] for bar in tables["textures"]] == [None]
    assert tables["layers"] == tables["layer_spans"] == tables["texture_passages"] == []


def test_chorus_and_dynamics() -> None:
    loud = [Note(0, 4, 60, {"dynamic_degree": 7.0})]
    soft = [Note(0, 4, 64, {"dynamic_degree": 4.0})]
    tables = made([Line(loud, "voice-bass", "voice", "voices", "chorus"), Line(soft)])
    (bar,) = tables["textures"]
    assert (bar["chorus_present"], bar["dynamic_degree"], bar["voice_share"]) == (True, 5.5, 0.5)
