"""Rows as text for reading."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from collaparte.layout import CUT, MOST_LINES, markdown, screen


def shown(*rows: tuple[Any, ...], names: str = "a b", width: int = 60, **units: str) -> str:
    return screen(names.split(), rows, units, width)


def test_numbers_stand_to_the_right_and_words_to_the_left() -> None:
    text = shown(("oboe", 5), ("flute", 12))
    assert text.splitlines() == ["a       b", "-----  --", "oboe    5", "flute  12"]


def test_no_rows_say_so() -> None:
    assert shown() == "a, b\n0 rows"


@pytest.mark.parametrize(
    ("values", "unit", "cells"),
    [
        ([0.234, 1.0, None], "share", ["23.4 %", "100.0 %", "–"]),
        ([0, 1], "share", ["0.0 %", "100.0 %"]),
        ([0.234, 12.5], "", ["0.23", "12.50"]),
        ([0.0003, 0.5], "", ["0.0003", "0.5000"]),
        ([4.0, 12.0], "quarters", ["4", "12"]),
        ([Decimal("1.50"), Decimal("2.25")], "", ["1.50", "2.25"]),
        ([float("nan"), 2.5], "", ["–", "2.50"]),
        ([True, False, None], "", ["yes", "no", "–"]),
        ([["oboe", "flute"], []], "", ["oboe, flute", ""]),
        (["a\x1b[31mb", "c\nd"], "", ["a [31mb", "c d"]),
    ],
)
def test_one_column_reads_alike(values: list[Any], unit: str, cells: list[str]) -> None:
    lines = screen(["x"], [(value,) for value in values], {"x": unit}, 60).split("\n")
    assert [line.strip() for line in lines[2:]] == cells


def test_a_long_text_is_folded_before_anything_else() -> None:
    text = shown((7, "mf " * 20), width=40)
    assert max(map(len, text.splitlines())) <= 40
    assert text.split().count("mf") == 20


def test_a_word_is_not_broken() -> None:
    movement = "composer.work-with-a-long-name"
    assert movement in shown((movement, "mf " * 20), width=50)


def test_a_very_long_text_is_cut_and_says_so() -> None:
    text = shown((7, "mf " * 500), width=40)
    assert len(text.splitlines()) == 2 + MOST_LINES + 1
    assert text.endswith(f"{CUT} stands for the rest of a long text")


def test_too_many_columns_are_spread_over_tables_that_begin_alike() -> None:
    names = "movement one two three four five six"
    rows = [("first", *range(6)), ("second", *range(6))]
    text = shown(*rows, names=names, width=24)
    tables = text.split("\n\n")
    assert len(tables) > 1
    assert all(table.startswith("movement") for table in tables)
    heads = " ".join(table.splitlines()[0] for table in tables).replace("movement", "")
    assert heads.split() == names.split()[1:]


def test_a_long_name_is_folded_at_its_underscores() -> None:
    names = "movement share_of_everything"
    assert shown(("kyrie", 1), names=names, width=24).splitlines() == [
        "movement   share_of_",
        "          everything",
        "--------  ----------",
        "kyrie              1",
    ]


CELLS = st.one_of(st.none(), st.booleans(), st.integers(-9999, 9999), st.text(max_size=400))


@given(st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=5), st.integers(70, 200))
def test_any_rows_fit_the_width(rows: list[tuple[Any, ...]], width: int) -> None:
    text = screen(["movement", "share_of_time", "x"], rows, {"x": "share"}, width)
    assert max(map(len, text.split("\n"))) <= width


def test_markdown_keeps_all_and_escapes_bars() -> None:
    text = markdown(["name", "share"], [("A|B", 0.5)], {"share": "share"})
    assert text == "| name | share |\n| --- | ---: |\n| A\\|B | 50.0 % |"
    assert markdown(["name"], [], {}).endswith("0 rows")
