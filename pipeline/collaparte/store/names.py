"""The state of a store under names that other programs know: conveniences, made anew each time."""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

import duckdb

from collaparte.schema import TABLES
from collaparte.store.files import DATABASE, NAMES, unfinished
from collaparte.store.state import State


def refresh(state: State) -> None:
    """Name the objects of this state in `tables/`, and make the database of views."""
    folder = state.root / NAMES
    folder.mkdir(exist_ok=True)
    for table, paths in state.files.items():
        _name(folder / table, paths)
    _make_database(state)


def _name(place: Path, paths: tuple[Path, ...]) -> None:
    """`<table>.parquet` for a table of one object, a folder `<table>` for one of several."""
    single = place.with_suffix(".parquet")
    new = unfinished(place.parent, f"-{place.name}")
    if len(paths) == 1:
        _link(paths[0], new)
        new.replace(single)
        shutil.rmtree(place, ignore_errors=True)
        return
    new.mkdir()
    for number, path in enumerate(paths):
        _link(path, new / f"{number:02}.parquet")
    shutil.rmtree(place, ignore_errors=True)
    new.replace(place)
    single.unlink(missing_ok=True)


def _link(path: Path, name: Path) -> None:
    """A second name of a file, or a copy where the file system knows no second names."""
    try:
        os.link(path, name)
    except OSError:
        shutil.copyfile(path, name)


def _make_database(state: State) -> None:
    """A database with a commented view of every table, and nothing else in it."""
    new = unfinished(state.root, ".duckdb")
    with contextlib.closing(duckdb.connect(new)) as connection:
        connection.begin()
        for table, paths in state.files.items():
            objects = ", ".join(_quoted(str(path)) for path in paths)
            connection.execute(f"CREATE VIEW {table} AS FROM read_parquet([{objects}])")
            connection.execute(f"COMMENT ON VIEW {table} IS {_quoted(TABLES[table].row)}")
            for column in TABLES[table].columns:
                text = f"{column.meaning} [{column.unit}]" if column.unit else column.meaning
                connection.execute(f'COMMENT ON COLUMN {table}."{column.name}" IS {_quoted(text)}')
        connection.commit()
    new.replace(state.root / DATABASE)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
