"""Orchestral scores as tables: who doubles whom, in which register, in which bars.

    import collaparte

    collaparte.build("scores/", "my-store")
    store = collaparte.open("my-store")
    store.ask("low-winds-double-chorus").df()
    store.sql("SELECT instrument, count(*) AS notes FROM notes GROUP BY ALL").show()

Libraries are loaded by what needs them: importing this package loads none.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collaparte.build import BuildSummary
    from collaparte.questions import OpenStore
    from collaparte.workers import Progress

__all__ = ["build", "open", "version"]

version = "0.1.0"

DEFAULT_STORE = "collaparte-store"
"""The folder, in the current one, of a store that nobody named."""


def build(
    source: str | os.PathLike[str] | None = None,
    store: str | os.PathLike[str] = DEFAULT_STORE,
    workers: int = 1,
    progress: Progress | None = None,
    chance: bool = False,
    registers: str = "default",
) -> BuildSummary:
    """Read scores and write their tables into a store.

    Parameters
    ----------
    source
        A manifest, a file or a folder; without one the manifest of the current folder, else the
        one that came with the package.
    store
        Folder of the store; made when it is not there.
    workers
        Processes to read with. A script that takes several must do so under
        ``if __name__ == "__main__":``.
    progress
        Called with the movements done so far and all movements.
    chance
        Also measure what doublings chance would give: takes longer than all the rest, fills the
        table `chance_doubled` and the columns of `pair_activity` on chance.
    registers
        Scheme of registers, taken for the instruments that have it; those of table
        `register_bands`.

    Raises
    ------
    UsageError
        The source cannot be found, its manifest is wrong, or no scheme is called so. A score
        that cannot be read is no error: it is counted in the summary and told in the table
        `remarks`.
    """
    from collaparte.build import build as build_store

    where = None if source is None else Path(source)
    return build_store(where, Path(store), workers, progress, chance, registers)


def open(store: str | os.PathLike[str] = DEFAULT_STORE) -> OpenStore:  # noqa: A001  the word for it
    """Open the current state of a store for questions: `ask`, `sql` and `tables`.

    Raises
    ------
    StoreError
        There is no store in this folder, or it is of another format.
    """
    from collaparte.questions import open_store

    return open_store(Path(store))


class _Package(ModuleType):
    """The package: its `build` is the function, also after the module of that name is loaded.

    The import of a submodule ends by setting its name in the package.
    """

    def __setattr__(self, name: str, value: Any) -> None:
        if name != "build":
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
