"""The words that tables are declared in: types, columns, tables."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import pyarrow as pa

TICKS = 11_531_520
"""Ticks a quarter note: 2⁸·3²·5·7·11·13."""

KEY_BITS = 24
"""Bits of a key that number the rows within one movement."""

FORMAT_VERSION = 1
"""Of the tables and their layout on disk; a store of another version is refused."""

TEXT = pa.string()
WORD = pa.dictionary(pa.int32(), pa.string())
WORDS = pa.list_(pa.string())
KEY = pa.int64()
INDEX = pa.int32()
TICK = pa.int64()
SMALL = pa.int16()
REAL = pa.float64()
DEGREE = pa.float32()
FLAG = pa.bool_()


@dataclass(frozen=True)
class Column:
    """One column: `unit` is empty for words, keys and flags; `optional` columns may be null."""

    name: str
    type: pa.DataType
    meaning: str
    unit: str = ""
    optional: bool = False


@dataclass(frozen=True)
class TableSchema:
    """One table: what a row is, its columns in order, and the columns that order its rows."""

    name: str
    row: str
    columns: tuple[Column, ...]
    order: tuple[str, ...]

    def arrow(self) -> pa.Schema:
        """The Arrow schema, with meaning and unit in each field's metadata."""
        return _arrow(self)


@cache
def _arrow(table: TableSchema) -> pa.Schema:
    return pa.schema(
        [
            pa.field(
                column.name,
                column.type,
                nullable=column.optional,
                metadata={"meaning": column.meaning, "unit": column.unit},
            )
            for column in table.columns
        ],
        metadata={"table": table.name, "row": table.row, "format": str(FORMAT_VERSION)},
    )
