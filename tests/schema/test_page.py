"""The users' page of tables says what the Parquet files say."""

from __future__ import annotations

import pytest

from collaparte.schema import TABLES
from collaparte.schema.page import list_of_columns, list_of_tables


def test_every_table_stands_on_the_page() -> None:
    assert dict(list_of_tables()) == {name: table.row for name, table in TABLES.items()}


@pytest.mark.parametrize("name", TABLES)
def test_page_and_metadata_of_the_files_say_the_same(name: str) -> None:
    written = TABLES[name].arrow()
    assert written.metadata[b"row"].decode() == dict(list_of_tables())[name]
    columns = list_of_columns(TABLES[name])
    assert [column[0] for column in columns] == written.names
    for (_, kind, unit, meaning), field in zip(columns, written, strict=True):
        assert (unit, meaning) == (
            field.metadata[b"unit"].decode(),
            field.metadata[b"meaning"].decode(),
        )
        assert kind.endswith(", or null") == field.nullable


def test_types_in_words() -> None:
    kinds = {column: kind for column, kind, _, _ in list_of_columns(TABLES["notes"])}
    assert kinds["instrument"] == "text, or null"
    assert kinds["onset_ticks"] == "whole number"
    assert kinds["beat"] == "number"
    assert kinds["is_grace"] == "yes or no"
    assert kinds["techniques"] == "list: text"
