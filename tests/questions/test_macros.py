"""The SQL macros that questions share, against plain Python and worked examples."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import duckdb
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collaparte.questions.library import macro_files
from collaparte.schema import TABLES, empty
from score_store import Piece, answer
from score_tables import Line, melody

CONNECTION = duckdb.connect()
for name in TABLES:
    CONNECTION.register(name, empty(name))
for path in macro_files():
    CONNECTION.execute(path.read_text(encoding="utf-8"))


def selected(text: str, rows: list[tuple[Any, ...]], columns: str) -> list[tuple[Any, ...]]:
    """The rows of a SELECT on a WITH `given` that holds these rows."""
    values = ", ".join(f"({', '.join(map(literal, row))})" for row in rows)
    return CONNECTION.sql(f"WITH given({columns}) AS (VALUES {values}) {text}").fetchall()


def literal(value: Any) -> str:
    return "NULL" if value is None else f"'{value}'" if isinstance(value, str) else str(value)


def test_quantile_by_hand() -> None:
    """One tick of 3, six of 5, three of 9: half of ten ticks is reached within the fives."""
    rows = [(9, 3), (3, 1), (5, 6)]
    for share, expected in ((0, 3), (0.1, 3), (0.11, 5), (0.5, 5), (0.7, 5), (0.71, 9), (1, 9)):
        text = f"SELECT time_quantile(value, ticks, {share}) FROM given"
        assert selected(text, rows, "value, ticks") == [(expected,)]


def test_what_has_no_value_or_no_time_does_not_count() -> None:
    text = "SELECT time_quantile(value, ticks, 0.5) FROM given"
    rows = [(None, 50), (1, 0), (4, 2), (6, 2), (None, None)]
    assert selected(text, rows, "value, ticks") == [(4,)]
    assert selected(text, [(None, 3)], "value, ticks") == [(None,)]


def quantile(rows: list[tuple[int | None, int]], share: int) -> int | None:
    """By counting out every tick; `share` in hundredths."""
    ticks = sorted(value for value, times in rows if value is not None for _ in range(times))
    if not ticks:
        return None
    # The least value that at least `share` of all ticks do not exceed.
    return next(v for v in ticks if 100 * sum(t <= v for t in ticks) >= share * len(ticks))


@given(
    st.lists(st.tuples(st.none() | st.integers(-5, 5), st.integers(0, 4)), min_size=1, max_size=12),
    st.integers(0, 100),
)
@settings(max_examples=150, deadline=None)
def test_quantile_is_what_counting_gives(rows: list[tuple[int | None, int]], share: int) -> None:
    text = f"SELECT time_quantile(value, ticks, {share} / 100::DECIMAL(5, 2)) FROM given"
    typed = [*rows, (None, 1)]
    assert selected(text, typed, "value, ticks") == [(quantile(rows, share),)]


PASSAGES = """
    SELECT subject, start_ticks, end_ticks, first_bar, last_bar
    FROM joined_passages('given', 4) ORDER BY subject, start_ticks
"""
SPANS = "subject, start_ticks, end_ticks, bar"


def test_spans_less_than_the_gap_apart_are_one_passage() -> None:
    """0–2 and 5–6 are three apart: joined; 10 is four after 6: not. B is for itself."""
    spans = [("a", 5, 6, "2"), ("a", 10, 12, "4"), ("a", 0, 2, "1"), ("b", 6, 7, "2")]
    assert selected(PASSAGES, spans, SPANS) == [
        ("a", 0, 6, "1", "2"),
        ("a", 10, 12, "4", "4"),
        ("b", 6, 7, "2", "2"),
    ]


def test_a_span_within_a_longer_one_does_not_end_it() -> None:
    spans = [("a", 0, 20, "1"), ("a", 2, 3, "1"), ("a", 22, 23, "6")]
    assert selected(PASSAGES, spans, SPANS) == [("a", 0, 23, "1", "6")]


def joined(spans: list[tuple[str, int, int, str]]) -> list[tuple[Any, ...]]:
    """By colouring every tick of a passage, and the gaps that are too short to part it."""
    found = []
    for subject in sorted({span[0] for span in spans}):
        own = sorted((span for span in spans if span[0] == subject), key=lambda span: span[1:3])
        sounding = {tick for _, start, end, _ in own for tick in range(start, end)}
        ticks = sorted(sounding)
        for before, after in itertools.pairwise(ticks):
            if after - before - 1 < 4:
                sounding |= set(range(before, after))
        starts = sorted(tick for tick in sounding if tick - 1 not in sounding)
        for start in starts:
            end = next(tick for tick in itertools.count(start) if tick not in sounding)
            within = [span for span in own if start <= span[1] < end]
            found.append((subject, start, end, within[0][3], within[-1][3]))
    return found


@given(
    st.lists(
        st.builds(
            lambda subject, start, length: (subject, start, start + length, str(start // 8)),
            st.sampled_from("ab"),
            st.integers(0, 60),
            st.integers(1, 9),
        ),
        min_size=1,
        max_size=10,
    )
)
@settings(max_examples=150, deadline=None)
def test_passages_are_what_colouring_gives(spans: list[tuple[str, int, int, str]]) -> None:
    assert selected(PASSAGES, spans, SPANS) == joined(spans)


@pytest.mark.parametrize(("first", "last", "text"), [("3", "3", "3"), ("3", "10a", "3–10a")])
def test_bars_as_text(first: str, last: str, text: str) -> None:
    assert CONNECTION.sql(f"SELECT bars_as_text('{first}', '{last}')").fetchall() == [(text,)]


def strata(folder: Path, *instruments: str) -> dict[str, str]:
    """Stratum of the first line with each other line, by instrument."""
    lines = [Line(melody((60, 62)), instrument=name) for name in instruments]
    rows = answer(folder, {"one": Piece(lines)}, sql=STRATA)
    return {row["partner"]: row["stratum"] for row in rows}


STRATA = """
    SELECT b.instrument AS partner, stratum(a, b) AS stratum
    FROM named_lines() AS a JOIN named_lines() AS b USING (movement_key)
    WHERE a.line_key < b.line_key
    QUALIFY row_number() OVER (PARTITION BY b.line_key ORDER BY a.line_key) = 1
"""


def test_strata(tmp_path: Path) -> None:
    """Clarinets in A and B flat are one instrument; a bass clarinet is another."""
    found = strata(tmp_path, "clarinet-a", "clarinet-bflat", "bass-clarinet", "violoncello")
    assert found == {
        "clarinet-bflat": "one instrument",
        "bass-clarinet": "different instruments",
        "violoncello": "different instruments",
    }


def test_who_plays_the_bass_is_continuo_only_where_there_is_a_continuo(tmp_path: Path) -> None:
    with_continuo = strata(tmp_path / "a", "violoncello", "bassoon", "continuo", "viola")
    assert with_continuo == {
        "bassoon": "continuo and its doublers",
        "continuo": "continuo and its doublers",
        "viola": "different instruments",
    }
    without = strata(tmp_path / "b", "violoncello", "bassoon", "viola")
    assert set(without.values()) == {"different instruments"}


def test_words_that_name_a_line(tmp_path: Path) -> None:
    line = Line(melody((60, 62)), "clarinet-a", "woodwind", "clarinets")
    (row,) = answer(
        tmp_path, {"one": Piece([line])}, sql="SELECT words, bare_name FROM named_lines()"
    )
    assert row["words"] == ["clarinet-a", "clarinet", "clarinets", "woodwind", "player"]
    assert row["bare_name"] == "clarinet"


def test_movements_that_count(tmp_path: Path) -> None:
    lines = [Line(melody((60, 62)))]
    pieces = {
        "counts": Piece(lines),
        "does-not": Piece(lines, {"counts": False}),
        "lacks-parts": Piece(lines, {"scoring_complete": "no"}),
        "not-known": Piece(lines, {"scoring_complete": "unknown"}),
        "failed": Piece(lines, {"state": "failed"}),
    }
    text = "SELECT movement_id FROM chosen_movements(%s) ORDER BY movement_id"
    chosen = [row["movement_id"] for row in answer(tmp_path / "a", pieces, sql=text % "false")]
    assert chosen == ["counts", "not-known"]
    every = {row["movement_id"] for row in answer(tmp_path / "b", pieces, sql=text % "true")}
    assert every == pieces.keys() - {"failed"}
