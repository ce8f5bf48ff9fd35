"""Every event of real scores against the plain reader: `pytest tests --scores FOLDER`."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import plain_reader
import pytest
from events import remarks, state, tables_of

from collaparte.schema import TICKS, Tables

Row = tuple[Any, ...]
ENDINGS = (".mxl", ".musicxml", ".xml")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "score_file" not in metafunc.fixturenames:
        return
    folder: Path | None = metafunc.config.getoption("--scores")
    start = metafunc.config.invocation_params.dir
    files = (
        sorted(path for path in (start / folder).rglob("*") if path.suffix in ENDINGS)
        if folder
        else [None]
    )
    metafunc.parametrize("score_file", files, ids=lambda path: path.name if path else "none")


def test_every_event(scores: Path, score_file: Path) -> None:
    tables = _tables(score_file)
    assert state(tables) == "read", remarks(tables)
    plain, fast = plain_rows(score_file.read_bytes()), table_rows(tables)
    missing, surplus = plain - fast, fast - plain
    assert not missing | surplus, (
        f"{len(missing)} of {len(plain)} events of the plain reader are missing, such as "
        f"{sorted(missing, key=repr)[:3]}; {len(surplus)} are surplus, such as "
        f"{sorted(surplus, key=repr)[:3]}"
    )


def test_no_note_stands_twice_in_a_line(scores: Path, score_file: Path) -> None:
    notes = _tables(score_file)["notes"].select(["line_key", "source_notes", "derived", "inferred"])
    found = Counter(
        (row["line_key"], tuple(row["source_notes"]), row["derived"])
        for row in notes.to_pylist()
        if not row["inferred"]
    )
    assert [row for row, times in found.items() if times > 1] == []


@lru_cache(maxsize=1)
def _tables(score_file: Path) -> Tables:
    return tables_of(score_file.read_bytes(), score_file.name)


def plain_rows(data: bytes) -> set[Row]:
    return {
        (
            note.part,
            note.staff,
            note.voice,
            note.bar_index,
            round(note.onset * TICKS),
            round(note.end * TICKS) - round(note.onset * TICKS),
            note.pitch,
            note.step,
            None if note.step is None else float(note.alter),
            note.octave,
            tuple(sorted(note.flags)),
            note.source,
        )
        for note in plain_reader.read(data)
    }


def table_rows(tables: Tables) -> set[Row]:
    flags = {
        "is_cue": "cue",
        "derived": "derived",
        "is_grace": "grace",
        "tie_in": "tie_in",
        "is_unpitched": "unpitched",
    }
    return {
        (
            row["part_index"],
            row["staff"],
            row["voice"],
            row["bar_index"],
            row["onset_ticks"],
            row["duration_ticks"],
            None if row["midi"] is None else row["midi"] + Fraction(row["cents"], 100),
            row["step"],
            row["alter"],
            row["octave"],
            tuple(
                sorted(
                    [flag for column, flag in flags.items() if row[column]]
                    + ([] if row["is_printed"] else ["hidden"])
                )
            ),
            tuple(row["source_notes"]),
        )
        for row in tables["notes"].to_pylist()
    }
