"""The questions there are: one file each in `queries/`."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from collaparte import resources
from collaparte.errors import UsageError, did_you_mean
from collaparte.questions.header import Question, read_question


def available() -> tuple[Question, ...]:
    """Every question, in order of name."""
    return tuple(_read(path) for path in sorted(resources.queries().glob("*.sql")))


def find(name: str) -> Question:
    """The question of this name.

    Raises
    ------
    UsageError
        There is none; the message names the nearest.
    """
    files = {path.stem: path for path in resources.queries().glob("*.sql")}
    if name not in files:
        near = did_you_mean(name, sorted(files)) or "; `collaparte questions` lists them"
        raise UsageError(f"there is no question {name}{near}")
    return _read(files[name])


def _read(path: Path) -> Question:
    return _as_it_was(path, path.stat().st_mtime_ns)


@cache
def _as_it_was(path: Path, modified: int) -> Question:
    """The question, read once until its file is modified."""
    return read_question(path)


def macro_files() -> tuple[Path, ...]:
    """The files of SQL macros that all questions may use."""
    return tuple(sorted((resources.queries() / "macros").glob("*.sql")))
