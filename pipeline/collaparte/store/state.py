"""What a reader sees: one complete state of a store."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

from collaparte.errors import StoreError
from collaparte.schema import FORMAT_VERSION, TABLES
from collaparte.store.files import OBJECTS, POINTER

MARK = "collaparte store"
"""Value of the field `is` of every pointer."""

_OBJECT = re.compile(r"[0-9a-f]{64}\.parquet")


@dataclass(frozen=True)
class State:
    """One complete state.

    Attributes
    ----------
    root
        Folder of the store, absolute.
    files
        The Parquet files of every table, in order; at least one each.
    movements
        Keys of the movements by movement_id, in order.
    settings, libraries
        What it was built with: values by name, versions by name.
    """

    root: Path
    files: Mapping[str, tuple[Path, ...]]
    movements: Mapping[str, int]
    settings: Mapping[str, Any]
    libraries: Mapping[str, str]


def current(root: Path) -> State:
    """The state that the store is in; later commits do not change it.

    Raises
    ------
    StoreError
        There is no store, it is damaged, or it is of another format.
    """
    pointer = _pointer(root)
    if pointer is None:
        raise StoreError(f"{root}: there is no store here; collaparte build makes one")
    folder = root.resolve() / OBJECTS
    tables = {
        table: tuple(folder / name for name in names) for table, names in pointer["tables"].items()
    }
    missing = [path.name for paths in tables.values() for path in paths if not path.is_file()]
    if missing:
        raise StoreError(f"{root}: the object {missing[0]} is missing; build again")
    return State(
        root.resolve(),
        MappingProxyType(tables),
        *(MappingProxyType(pointer[name]) for name in ("movements", "settings", "libraries")),
    )


def named_objects(root: Path) -> set[str]:
    """Names of the objects of the present state; none where there is no store yet.

    Raises
    ------
    StoreError
        There is a store, but a damaged one or one of another format.
    """
    pointer = _pointer(root)
    return {name for names in (pointer or {"tables": {}})["tables"].values() for name in names}


def _pointer(root: Path) -> dict[str, Any] | None:
    """The fields of `current.json`, checked."""
    path = root / POINTER
    try:
        pointer = json.loads(path.read_bytes())
    except FileNotFoundError:
        return None
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}") from error
    except (ValueError, RecursionError):
        raise StoreError(f"{path} is damaged; remove the folder and build again") from None
    if not isinstance(pointer, dict) or pointer.get("is") != MARK:
        raise StoreError(f"{path} is not of a store of collaparte")
    if pointer.get("format") != FORMAT_VERSION or not _is_whole(pointer):
        raise StoreError(
            f"{root}: the store was built by another version of collaparte; build into another "
            "folder, or remove this one"
        )
    return pointer


def _is_whole(pointer: Mapping[str, Any]) -> bool:
    """True where every table has its objects, and all fields are there."""
    tables = pointer.get("tables")
    return (
        isinstance(tables, dict)
        and tables.keys() == TABLES.keys()
        and all(
            isinstance(names, list)
            and names
            and all(isinstance(name, str) and _OBJECT.fullmatch(name) for name in names)
            for names in tables.values()
        )
        and all(
            isinstance(pointer.get(name), dict) for name in ("movements", "settings", "libraries")
        )
    )
