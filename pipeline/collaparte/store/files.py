"""Files that are there wholly or not at all, and one process that writes them."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from collaparte.errors import StoreError

POINTER = "current.json"
OBJECTS = "objects"
NAMES = "tables"
DATABASE = "collaparte.duckdb"

_LOCK = ".lock"
_UNFINISHED = ".unfinished-"
_OWN = {POINTER, OBJECTS, NAMES, DATABASE, _LOCK}


@contextlib.contextmanager
def locked(root: Path) -> Iterator[None]:
    """The right to write to the store; a process that has it may ask again.

    Whatever the system refuses meanwhile becomes a `StoreError`.

    Raises
    ------
    StoreError
        Another process has it, the folder holds other things, or it cannot be written.
    """
    try:
        root.mkdir(parents=True, exist_ok=True)
        _claim(root)
        lock = FileLock(root / _LOCK, timeout=0, is_singleton=True)
        lock.acquire()
    except Timeout:
        raise StoreError(f"{root}: another build is writing to this store") from None
    except OSError as error:
        raise _cannot_write(root, error) from error
    try:
        if lock.lock_counter == 1:
            _clear(root)
        yield
    except OSError as error:
        raise _cannot_write(root, error) from error
    finally:
        lock.release()


@contextlib.contextmanager
def private_folder(root: Path) -> Iterator[Path]:
    """A folder in the store for what is not finished; gone in the end."""
    folder = Path(tempfile.mkdtemp(prefix=_UNFINISHED, dir=root))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def unfinished(folder: Path, suffix: str = "") -> Path:
    """A name for a file that is being written; removed by the next writer if it stays."""
    return folder / f"{_UNFINISHED}{os.getpid()}{suffix}"


def finish(file: Path, name: Path) -> None:
    """Give a written file its name, once its bytes are on the disk."""
    with file.open("rb+") as stream:
        os.fsync(stream.fileno())
    file.replace(name)


def replace(name: Path, data: bytes) -> None:
    """Write a file anew, so that at every moment the old one or the new one is there."""
    file = unfinished(name.parent)
    file.write_bytes(data)
    finish(file, name)
    sync_folder(name.parent)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk."""
    if sys.platform == "win32":  # which has no handle of a folder
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _cannot_write(root: Path, error: OSError) -> StoreError:
    return StoreError(f"{root} cannot be written: {error.strerror or error}")


def _claim(root: Path) -> None:
    """Refuse a folder that holds what no store holds."""
    for name in sorted(path.name for path in root.iterdir()):
        if name not in _OWN and not name.startswith(_UNFINISHED):
            raise StoreError(f"{root} is no store, it holds {name}: choose an empty folder")


def _clear(root: Path) -> None:
    """Remove what an interrupted writer has left."""
    for folder in (root, root / OBJECTS, root / NAMES):
        for path in folder.glob(f"{_UNFINISHED}*"):
            if path.is_dir():
                shutil.rmtree(path)
            else:
                path.unlink()
