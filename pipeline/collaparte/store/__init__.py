"""Tables on disk: immutable objects, and one small file that says which of them count.

    STORE/
      current.json                 the only commit: format, settings, libraries,
                                   table -> objects, movements -> keys
      objects/<sha256>.parquet     never changed; of each table one, above 100 movements up to
                                   8, above 1000 up to 64, by the key of the movement
      tables/                      the same files under the names of the tables, for other
      collaparte.duckdb            programs, and a database with a view of each: made anew after
                                   the commit

One process writes at a time. Whatever interrupts it, `current.json` names a complete state. A
reader that has it open keeps what it sees through the next commit: the objects of the state
before are the last to be removed. The same tables give the same bytes, in whatever order they
come.
"""

from __future__ import annotations

import contextlib
import dataclasses
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import pyarrow as pa

from collaparte.schema import FORMAT_VERSION, TABLES, movement_key
from collaparte.settings import Settings
from collaparte.store import files, names, objects, state
from collaparte.store.drafts import Draft
from collaparte.store.files import locked, private_folder
from collaparte.store.state import State, current

BUCKETS = {100: 1, 1000: 8}
"""Objects of a table for up to so many movements."""

MOST_BUCKETS = 64

LIBRARIES = ("collaparte", "lxml", "music21", "numpy", "pyarrow")
"""What the tables depend on beside the settings."""

_Movements = Mapping[str, Mapping[str, pa.Table]]


def commit(
    root: Path,
    results: Iterable[tuple[str, Mapping[str, pa.Table]]],
    common: Mapping[str, pa.Table],
    settings: Settings,
    threads: int = 1,
) -> None:
    """Make these tables the state of the store.

    Parameters
    ----------
    root
        Folder of the store; made when it is not there.
    results
        movement_id and tables of each movement, in any order; a table that is left out is
        without rows.
    common
        The tables that belong to no movement: reference data and `settings`.
    threads
        Objects that are written at a time; they come out the same.

    Raises
    ------
    StoreError
        Another process writes, the folder holds other things, or it cannot be written.
    ValueError
        The tables are not as the schema declares them: an error of the program.
    """
    movements = _by_movement(results)
    with locked(root):
        _commit(root, movements, common, settings, threads)


def _commit(
    root: Path,
    movements: _Movements,
    common: Mapping[str, pa.Table],
    settings: Settings,
    threads: int,
) -> None:
    before = state.named_objects(root)
    (root / files.OBJECTS).mkdir(exist_ok=True)
    planned = [
        (name, number, pieces)
        for name in TABLES
        for number, pieces in enumerate(_buckets(name, movements, common))
    ]
    with ThreadPoolExecutor(threads) as executor:
        written = list(executor.map(lambda plan: objects.write(root, *plan), planned))
    files.sync_folder(root / files.OBJECTS)
    tables: dict[str, list[str]] = {name: [] for name in TABLES}
    for (name, *_), file in zip(planned, written, strict=True):
        tables[name].append(file)
    pointer = {
        "is": state.MARK,
        "format": FORMAT_VERSION,
        "libraries": _versions(),
        "settings": dataclasses.asdict(settings),
        "tables": tables,
        "movements": {movement_id: movement_key(movement_id) for movement_id in movements},
    }
    text = json.dumps(pointer, indent=1, ensure_ascii=False)
    files.replace(root / files.POINTER, f"{text}\n".encode())
    objects.remove_others(root, before.union(written))
    names.refresh(current(root))


def _by_movement(results: Iterable[tuple[str, Mapping[str, pa.Table]]]) -> _Movements:
    """The tables by movement, in order of movement_id."""
    movements: dict[str, Mapping[str, pa.Table]] = {}
    for movement_id, tables in results:
        unknown = [name for name in tables if "movement_id" not in _columns(name)]
        if unknown or movement_id in movements:
            raise ValueError(f"{movement_id}: {', '.join(unknown) or 'two results'}")
        movements[movement_id] = tables
    return dict(sorted(movements.items()))


def _columns(name: str) -> list[str]:
    return [column.name for column in TABLES[name].columns] if name in TABLES else []


def _buckets(
    name: str, movements: _Movements, common: Mapping[str, pa.Table]
) -> list[Iterable[pa.Table]]:
    """The pieces of each object of one table: at least one object, else none without rows."""
    if "movement_id" not in _columns(name):
        return [[objects.conformed(name, common[name])]]
    count = next((BUCKETS[most] for most in BUCKETS if len(movements) <= most), MOST_BUCKETS)
    buckets: dict[int, list[str]] = defaultdict(list)
    for movement_id, tables in movements.items():
        if name in tables and len(tables[name]):
            buckets[movement_key(movement_id) % count].append(movement_id)
    return [
        (_piece(name, movements[member]) for member in buckets[number])
        for number in sorted(buckets)
    ] or [[]]


def _piece(name: str, tables: Mapping[str, pa.Table]) -> pa.Table:
    return tables[name] if isinstance(tables, Draft) else objects.conformed(name, tables[name])


def _versions() -> dict[str, str]:
    """Versions of the libraries that are installed."""
    found = {}
    for library in LIBRARIES:
        with contextlib.suppress(PackageNotFoundError):
            found[library] = version(library)
    return found


__all__ = ["Draft", "State", "commit", "current", "locked", "private_folder"]
