"""Stores of small scores, measured as a build measures them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pyarrow as pa

import collaparte
from collaparte import reference
from collaparte.measures import measure
from collaparte.questions import OpenStore
from collaparte.schema import TICKS, Tables, table_of
from collaparte.settings import Settings, settings_table
from collaparte.store import commit
from score_tables import Line, filled, score

DEFAULTS = Settings()

TUNE = (60, 62, 64, 65, 67, 65, 64, 62, 60, 62, 64, 65)
"""Twelve notes, eleven changes of pitch, five pitches: enough for the strict thresholds."""


@dataclass(frozen=True)
class Piece:
    """One movement in bars of four quarters.

    Attributes
    ----------
    lines
        Lines in score order; `score_tables` names them line 0, line 1 …
    facts
        Columns of `movements`; each movement is a work of its own unless told.
    expected
        Quarters that the shift and the harmony null expect of each pair, kind and strictness.
    written
        Rows of tables that are written down instead of measured, by name of the table;
        `score_tables.filled` adds the columns that they lack.
    directions
        Rows of the table `directions`, there when the movement is measured; likewise filled.
    """

    lines: Sequence[Line]
    facts: Mapping[str, Any] = field(default_factory=dict)
    expected: tuple[float, float] | None = None
    written: Mapping[str, Sequence[Mapping[str, Any]]] = field(default_factory=dict)
    directions: Sequence[Mapping[str, Any]] = ()


def answer(
    folder: Path, pieces: Mapping[str, Piece], question: str = "", sql: str = "", **values: Any
) -> list[dict[str, Any]]:
    """The rows of the answer to a question, or to a SELECT, on a store of these movements."""
    store = opened(folder, pieces)
    relation = store.sql(sql) if sql else store.ask(question, **values)
    return [dict(zip(relation.columns, row, strict=True)) for row in relation.fetchall()]


def opened(folder: Path, pieces: Mapping[str, Piece], settings: Settings = DEFAULTS) -> OpenStore:
    """A store of these movements, open."""
    common = {**reference.load().tables(), "settings": settings_table(settings)}
    results = [(name, _tables(name, piece, settings)) for name, piece in pieces.items()]
    commit(folder / "store", results, common, settings)
    return collaparte.open(folder / "store")


def _tables(name: str, piece: Piece, settings: Settings) -> Tables:
    read = score(piece.lines, movement_id=name)
    if piece.directions:
        read["directions"] = _written("directions", name, piece.directions)
    tables = measure(read, reference.load(), settings)
    stated = {
        "work_id": name,
        "work": name,
        "state": "read",
        "counts": True,
        "scoring_complete": "yes",
        "invented": True,
        "source_kind": "file",
        "may_show_notation": True,
        "may_share_events": True,
        **piece.facts,
    }
    tables["movements"] = table_of("movements", name, {key: [stated[key]] for key in stated})
    if piece.expected is not None:
        activity = tables["pair_activity"]
        for column, quarters in zip(
            ("chance_shift_ticks", "chance_harmony_ticks"), piece.expected, strict=True
        ):
            place = activity.schema.get_field_index(column)
            ticks = pa.array([quarters * TICKS] * len(activity), pa.float64())
            activity = activity.set_column(place, activity.schema.field(place), ticks)
        tables["pair_activity"] = activity
    for table, rows in piece.written.items():
        tables[table] = _written(table, name, rows)
    return tables


def _written(table: str, name: str, rows: Sequence[Mapping[str, Any]]) -> pa.Table:
    return filled(table, name, {key: [row[key] for row in rows] for key in rows[0]})
