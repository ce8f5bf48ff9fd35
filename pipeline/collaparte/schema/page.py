"""The users' page of tables, from the declarations."""

from __future__ import annotations

from types import MappingProxyType

import pyarrow as pa

from collaparte.schema.columns import Column, TableSchema
from collaparte.schema.tables import TABLES

_WORDS = MappingProxyType(
    {
        pa.string(): "text",
        pa.bool_(): "yes or no",
        pa.int16(): "whole number",
        pa.int32(): "whole number",
        pa.int64(): "whole number",
        pa.float32(): "number",
        pa.float64(): "number",
    }
)


def list_of_tables() -> list[tuple[str, str]]:
    """Every table with what one of its rows is."""
    return [(table.name, table.row) for table in TABLES.values()]


def list_of_columns(table: TableSchema) -> list[tuple[str, str, str, str]]:
    """Every column of one table: name, type, unit, meaning."""
    return [
        (column.name, type_in_words(column), column.unit, column.meaning)
        for column in table.columns
    ]


def type_in_words(column: Column) -> str:
    """What the column holds, and whether it may be empty."""
    kind = column.type
    if pa.types.is_list(kind):
        words = f"list: {_WORDS[kind.value_type]}"
    else:
        words = _WORDS[kind.value_type if pa.types.is_dictionary(kind) else kind]
    return f"{words}, or null" if column.optional else words
