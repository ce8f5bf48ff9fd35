"""The questions there are: one file each in `queries/`."""

from __future__ import annotations

from pathlib import Path

from collaparte import resources
from collaparte.errors import UsageError, did_you_mean
from collaparte.questions.header import Question, read_question


def available() -> tuple[Question, ...]:
    """Every question, in order of name."""
    return tuple(read_question(path) for path in sorted(resources.queries().glob("*.sql")))


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
    return read_question(files[name])


def macro_files() -> tuple[Path, ...]:
    """The files of SQL macros that all questions may use."""
    return tuple(sorted((resources.queries() / "macros").glob("*.sql")))
