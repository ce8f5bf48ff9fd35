"""Questions: the files of `queries/`, and SELECT statements of a person's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import duckdb

from collaparte.questions.connection import Limits
from collaparte.questions.header import REQUIRED, Parameter, Question, Rate, ResultColumn
from collaparte.questions.library import available, find
from collaparte.questions.open_store import OpenStore
from collaparte.store import State, current

__all__ = [
    "REQUIRED",
    "Limits",
    "OpenStore",
    "Parameter",
    "Question",
    "Rate",
    "ResultColumn",
    "ask",
    "available",
    "find",
    "open_store",
    "sql",
]


def open_store(store: Path) -> OpenStore:
    """The current state of the store in this folder, open for questions.

    Raises
    ------
    StoreError
        There is no store, or it is of another format.
    """
    return OpenStore(current(store))


def ask(state: State, name: str, parameters: Mapping[str, Any]) -> duckdb.DuckDBPyRelation:
    """The answer to one question, asked of one state; see `OpenStore.ask`."""
    return OpenStore(state).ask(name, **parameters)


def sql(state: State, text: str) -> duckdb.DuckDBPyRelation:
    """The answer to one SELECT, asked of one state; see `OpenStore.sql`."""
    return OpenStore(state).sql(text)
