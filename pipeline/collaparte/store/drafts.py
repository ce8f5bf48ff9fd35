"""Tables of movements that are done, on disk until all are."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path

import pyarrow as pa

from collaparte.schema import TABLES, movement_key
from collaparte.store.objects import conformed


class Draft(Mapping[str, pa.Table]):
    """The conformed tables of one movement in a private folder, mapped when they are asked for."""

    def __init__(self, folder: Path, movement_id: str) -> None:
        self._folder = folder / str(movement_key(movement_id))

    def put(self, tables: Mapping[str, pa.Table]) -> None:
        """Write the tables that have rows, in the place of any that are there.

        Raises
        ------
        ValueError
            They are not as the schema declares them.
        """
        shutil.rmtree(self._folder, ignore_errors=True)  # what a worker that died has left
        self._folder.mkdir()
        for name, table in tables.items():
            if len(table):
                ready = conformed(name, table)
                with pa.ipc.new_file(str(self._file(name)), ready.schema) as writer:
                    writer.write_table(ready)

    def __getitem__(self, name: str) -> pa.Table:
        if not self._file(name).is_file():
            raise KeyError(name)
        return pa.ipc.open_file(pa.memory_map(str(self._file(name)))).read_all()

    def __iter__(self) -> Iterator[str]:
        return (name for name in TABLES if self._file(name).is_file())

    def __len__(self) -> int:
        return len(list(iter(self)))

    def _file(self, name: str) -> Path:
        return self._folder / f"{name}.arrow"
