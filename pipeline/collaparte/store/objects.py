"""Tables as immutable Parquet files whose names are the checksums of their bytes."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from collaparte.schema import TABLES
from collaparte.store.files import OBJECTS, finish, unfinished

ROW_GROUP = 122_880
"""Rows of a row group: those that DuckDB, too, takes at a time."""


def conformed(name: str, table: pa.Table) -> pa.Table:
    """The table as it is stored: rows in their order, words numbered as they come.

    Raises
    ------
    ValueError
        It is not as the schema declares it: a column, a type, a null in a required column.
    """
    declared = TABLES[name].arrow()
    if not table.schema.equals(declared):
        differing = set(map(_told, table.schema)) ^ set(map(_told, declared))
        raise ValueError(f"{name} is not as declared: {', '.join(sorted(differing)) or 'order'}")
    for column in TABLES[name].columns:
        if not column.optional and table[column.name].null_count:
            raise ValueError(f"{name}: null in the required column {column.name}")
    ordered = _in_order(table, TABLES[name].order)
    columns = [_renumbered(column) for column in ordered.itercolumns()]
    return pa.Table.from_arrays(columns, schema=declared)


def write(root: Path, name: str, number: int, pieces: Iterable[pa.Table]) -> str:
    """Write one object of the table `name`, and give its file name.

    Parameters
    ----------
    number
        Which object of the table it is; no two with one number are written at a time.
    pieces
        Conformed tables in the order in which they are to stand.
    """
    file = unfinished(root / OBJECTS, f"-{name}-{number}")
    schema = _described(name)
    with pq.ParquetWriter(file, schema, compression="zstd") as writer:
        for group in _row_groups(pieces):
            writer.write_table(group.cast(schema), row_group_size=ROW_GROUP)
    with file.open("rb") as stream:
        checksum = hashlib.file_digest(stream, "sha256").hexdigest()
    path = root / OBJECTS / f"{checksum}.parquet"
    finish(file, path)
    return path.name


def remove_others(root: Path, named: set[str]) -> None:
    """Remove the objects that are not among the named."""
    for path in (root / OBJECTS).iterdir():
        if path.name not in named:
            path.unlink()


def _told(field: pa.Field) -> str:
    return f"{field.name}: {field.type}{'' if field.nullable else ' not null'}"


def _in_order(table: pa.Table, order: tuple[str, ...]) -> pa.Table:
    """The rows by these columns, nulls first; rows alike in all of them stay as they came."""
    words = {name: pa.types.is_dictionary(table[name].type) for name in order}
    sortable = pa.table(
        {name: table[name].cast(pa.string()) if words[name] else table[name] for name in order}
    )
    indices = pc.sort_indices(sortable, [(name, "ascending", "at_start") for name in order])
    return table.take(indices)


def _renumbered(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """The same column; words in a dictionary numbered by their first use, none unused."""
    if not pa.types.is_dictionary(column.type):
        return column
    return column.cast(column.type.value_type).combine_chunks().dictionary_encode()


def _row_groups(pieces: Iterable[pa.Table]) -> Iterator[pa.Table]:
    """The rows of all pieces in tables of `ROW_GROUP` rows, each in one chunk."""
    held: list[pa.Table] = []
    rows = 0
    for piece in pieces:
        while rows + len(piece) >= ROW_GROUP:
            room = ROW_GROUP - rows
            yield _in_one([*held, piece.slice(0, room)])
            held, rows, piece = [], 0, piece.slice(room)
        held.append(piece)
        rows += len(piece)
    if rows:
        yield _in_one(held)


def _in_one(tables: list[pa.Table]) -> pa.Table:
    return pa.concat_tables(tables).unify_dictionaries().combine_chunks()


def _described(name: str) -> pa.Schema:
    """The declared schema, with all meanings and units once more for readers without Arrow."""
    schema = TABLES[name].arrow()
    columns = [
        {"name": column.name, "meaning": column.meaning, "unit": column.unit}
        for column in TABLES[name].columns
    ]
    text = json.dumps(columns, ensure_ascii=False)
    return schema.with_metadata({**schema.metadata, "columns": text})
