"""A DuckDB connection that sees the tables of one state of a store and nothing else.

Of the order of its steps: views and macros are made while files may still be read; then the
files of this state, and no folder, are named as the only ones; then access to all others is
taken away; then limits; the lock comes last (found by trial with DuckDB 2.0.1: each step is
refused after a later one). All are set GLOBAL, or cursors would not have them (the limit of time
was found to be none of theirs). There is no place for temporary files, so nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import duckdb

from collaparte.schema import TABLES


@dataclass(frozen=True)
class Limits:
    """What one statement may take."""

    seconds: float = 30.0
    megabytes: int = 4096


def connect(
    files: Mapping[str, tuple[Path, ...]], macros: Iterable[Path], limits: Limits
) -> duckdb.DuckDBPyConnection:
    """A locked connection with one view a table.

    Parameters
    ----------
    files
        The Parquet files of every table of the schema, one or more each, by whole paths.
    macros
        SQL files with CREATE MACRO statements that all questions may use.
    limits
        Time and memory of one statement; beyond them it ends in an error.
    """
    connection = duckdb.connect(
        config={"autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}
    )
    for table in TABLES:
        objects = _list(files[table])
        connection.execute(f"CREATE VIEW {table} AS SELECT * FROM read_parquet({objects})")
    for path in macros:
        connection.execute(path.read_text(encoding="utf-8"))
    every_path = [path for table in TABLES for path in files[table]]
    for setting in (
        f"allowed_paths = {_list(every_path)}",
        "temp_directory = ''",
        "enable_external_access = false",
        "python_enable_replacements = false",
        f"max_execution_time = {int(limits.seconds * 1000)}",
        f"memory_limit = '{limits.megabytes}MB'",
        "parquet_metadata_cache = true",  # objects never change
        "lock_configuration = true",
    ):
        connection.execute(f"SET GLOBAL {setting}")
    return connection


def macro_names(connection: duckdb.DuckDBPyConnection) -> frozenset[str]:
    """The project's own macros that stand in FROM."""
    found = connection.sql(
        "SELECT function_name FROM duckdb_functions() "
        "WHERE function_type = 'table_macro' AND NOT internal"
    )
    return frozenset(name for (name,) in found.fetchall())


def _list(paths: Iterable[Path]) -> str:
    texts = (str(path).replace("'", "''") for path in paths)
    return "[" + ", ".join(f"'{text}'" for text in texts) + "]"
