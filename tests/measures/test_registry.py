"""The registry of measures: what runs, in which order, on which tables."""

from __future__ import annotations

from collections.abc import Mapping

import pyarrow as pa
import pytest

from collaparte import measures, reference
from collaparte.measures import MEASURES, Measure
from collaparte.readers import TABLES as READ
from collaparte.schema import TABLES, Tables, empty
from collaparte.settings import Settings


def test_every_measure_finds_its_tables_and_no_table_is_made_twice() -> None:
    there = list(READ)
    for item in MEASURES:
        assert set(item.needs) <= set(there), item.name
        there += item.makes
    assert len(set(there)) == len(there)
    assert set(there) <= TABLES.keys()


def test_every_table_of_a_movement_is_made_somewhere() -> None:
    made = {*READ, *(name for item in MEASURES for name in item.makes)}
    assert TABLES.keys() - made == {*reference.load().tables(), "settings"}


def test_score_without_music_is_measured() -> None:
    nothing = {name: empty(name) for name in READ}
    measured = measures.measure(nothing, reference.load(), Settings())
    assert [name for name, table in measured.items() if table.num_rows] == []
    for name, table in measured.items():
        assert table.schema.equals(TABLES[name].arrow()), name


def test_measure_sees_what_it_needs_and_what_was_made_before_it() -> None:
    seen: list[list[str]] = []

    def first(tables: Mapping[str, pa.Table], *_: object) -> Tables:
        seen.append(sorted(tables))
        return {"doublings": empty("doublings")}

    def second(tables: Mapping[str, pa.Table], *_: object) -> Tables:
        seen.append(sorted(tables))
        return {"lines": empty("lines")}

    chain = (
        Measure("first", first, ("notes",), ("doublings",)),
        Measure("second", second, ("doublings",), ("doubled_notes",)),
    )
    nothing = {"notes": empty("notes"), "bars": empty("bars")}
    with pytest.raises(ValueError, match="the measure second made lines"):
        measures.measure(nothing, reference.load(), Settings(), chain)
    assert seen == [["notes"], ["doublings"]]
    assert list(measures.measure(nothing, reference.load(), Settings(), chain[:1])) == [
        "notes", "bars", "doublings",
    ]  # fmt: skip
