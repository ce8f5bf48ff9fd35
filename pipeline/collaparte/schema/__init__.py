"""Every table and column, declared once: Arrow type, unit, meaning.

Keys
----
`movement_key` is the first 39 bits of sha256(movement_id). Every other key of a movement is
`movement_key << 24 | running number in the movement`, so that one int64 joins everything.

Time
----
`*_ticks` are exact integers, `TICKS` to the quarter note; `*_quarters` stand beside them for
reading and are never joined on. Time is written order from the start of the movement.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pyarrow as pa

from collaparte.schema.columns import FORMAT_VERSION, KEY_BITS, TICKS, Column, TableSchema
from collaparte.schema.tables import TABLES

Tables = dict[str, pa.Table]
"""Tables of one movement by name."""


def movement_key(movement_id: str) -> int:
    """The 39-bit key of a movement."""
    return int.from_bytes(hashlib.sha256(movement_id.encode()).digest()[:5], "big") >> 1


def keys(movement_id: str, numbers: npt.NDArray[np.integer[Any]]) -> npt.NDArray[np.int64]:
    """Keys of the rows with these running numbers; fewer than 2²⁴ rows a movement."""
    if numbers.size and (int(numbers.max()) >> KEY_BITS or int(numbers.min()) < 0):
        raise OverflowError(f"{movement_id}: a table of one movement holds fewer than 2^24 rows")
    return (np.int64(movement_key(movement_id)) << KEY_BITS) | numbers.astype(np.int64)


def table_of(name: str, movement_id: str, columns: Mapping[str, Any]) -> pa.Table:
    """The table `name` from arrays; `movement_id` and `movement_key` are filled in.

    Parameters
    ----------
    columns
        An array (Arrow, numpy or a list) for every other column; a missing optional column
        is null throughout.

    Raises
    ------
    KeyError
        A required column is missing, or a column is not declared.
    """
    declared = TABLES[name]
    lengths = {len(values) for values in columns.values()}
    if len(lengths) != 1:
        raise ValueError(f"{name}: columns of {sorted(lengths)} rows")
    rows = lengths.pop()
    unknown = sorted(set(columns) - {column.name for column in declared.columns})
    if unknown:
        raise KeyError(f"{name}: not declared: {', '.join(unknown)}")
    arrays = []
    for column in declared.columns:
        if column.name == "movement_id":
            arrays.append(_constant(movement_id, rows))
        elif column.name == "movement_key":
            arrays.append(pa.array(np.full(rows, movement_key(movement_id), np.int64)))
        elif column.name in columns:
            arrays.append(_typed(columns[column.name], column.type))
        elif column.optional:
            arrays.append(pa.nulls(rows, column.type))
        else:
            raise KeyError(f"{name}: column {column.name} is missing")
    return pa.Table.from_arrays(arrays, schema=declared.arrow())


def empty(name: str) -> pa.Table:
    """The table `name` without rows."""
    return TABLES[name].arrow().empty_table()


def _constant(text: str, rows: int) -> pa.DictionaryArray:
    return pa.DictionaryArray.from_arrays(
        pa.array(np.zeros(rows, np.int32)), pa.array([text], pa.string())
    )


def _typed(values: Any, wanted: pa.DataType) -> pa.Array:
    if isinstance(values, pa.ChunkedArray):
        values = values.combine_chunks()
    if not isinstance(values, pa.Array):
        if pa.types.is_dictionary(wanted):
            return pa.array(values, pa.string()).dictionary_encode()
        return pa.array(values, wanted)
    if values.type.equals(wanted):
        return values
    if pa.types.is_dictionary(wanted):
        return values.cast(pa.string()).dictionary_encode()
    return values.cast(wanted)


__all__ = [
    "FORMAT_VERSION",
    "KEY_BITS",
    "TABLES",
    "TICKS",
    "Column",
    "TableSchema",
    "Tables",
    "empty",
    "keys",
    "movement_key",
    "table_of",
]
