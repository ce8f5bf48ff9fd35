"""Short words for declaring columns and the tables of one movement."""

from __future__ import annotations

import pyarrow as pa

from collaparte.schema.columns import (
    INDEX,
    KEY,
    WORD,
    Column,
    TableSchema,
)


def column(name: str, kind: pa.DataType, meaning: str, unit: str = "") -> Column:
    """A column that always holds a value."""
    return Column(name, kind, meaning, unit)


def optional(name: str, kind: pa.DataType, meaning: str, unit: str = "") -> Column:
    """A column that may be null."""
    return Column(name, kind, meaning, unit, optional=True)


MOVEMENT = (
    column("movement_id", WORD, "short name of the movement, for people"),
    column("movement_key", KEY, "key of the movement: every other key shifted right by 24 bits"),
)
BAR = (
    column("bar_index", INDEX, "bar of the file, counted from 0"),
    column("bar_key", KEY, "key of the bar"),
    column("bar", WORD, "bar number as printed"),
)


def table(name: str, row: str, order: tuple[str, ...], *columns: Column) -> TableSchema:
    """A table of which every row belongs to one movement."""
    return TableSchema(name, row, (*MOVEMENT, *columns), ("movement_id", *order))


def partner(own: Column) -> Column:
    """The column that says of the partner what this one says of the line or note itself."""
    return Column(
        f"partner_{own.name}",
        own.type,
        f"the same of the partner: {own.meaning}",
        own.unit,
        own.optional,
    )
