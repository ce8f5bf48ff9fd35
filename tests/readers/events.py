"""What the tests ask of the reader's tables: events as tuples, rows, remarks.

An event is (onset, duration, MIDI pitch, spelling, *flags): time in quarters as exact fractions,
the sounding pitch as a number and as spelled, and the flags that are set, in order.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any

import plain_reader

from collaparte import readers, reference
from collaparte.movement import Movement
from collaparte.schema import TICKS, Tables
from collaparte.settings import Settings

Event = tuple[Any, ...]

_FLAGS = {
    "is_cue": "cue",
    "derived": "derived",
    "is_grace": "grace",
    "inferred": "inferred",
    "tie_in": "tie_in",
    "pitch_uncertain": "uncertain",
    "is_unpitched": "unpitched",
}
_SIGNS = {0: "", 1: "#", 2: "##", -1: "b", -2: "bb"}


@cache
def _reference() -> reference.Reference:
    return reference.load()


def tables_of(data: bytes, file_name: str = "test.musicxml") -> Tables:
    """The tables of a score that no manifest says anything about."""
    movement = Movement(movement_id="test", file_name=file_name, work_id="test", work="Test")
    return readers.read(data, movement, _reference(), Settings())


def events(tables: Tables, part: int = 0) -> list[Event]:
    """Events of one part, by onset and pitch from the top."""
    rows = [row for row in tables["notes"].to_pylist() if row["part_index"] == part]
    for row in rows:
        _check_pitch(row)
    return _ordered(
        [
            (
                Fraction(row["onset_ticks"], TICKS),
                Fraction(row["duration_ticks"], TICKS),
                _number(row["midi"], row["cents"]),
                _spelled(row["step"], row["alter"], row["octave"]),
                *sorted(
                    [flag for name, flag in _FLAGS.items() if row[name]]
                    + ([] if row["is_printed"] else ["hidden"])
                ),
            )
            for row in rows
        ]
    )


def plain_events(data: bytes, part: int = 0) -> list[Event]:
    """The same events as the plain reader has them."""
    return _ordered(
        [
            (
                note.onset,
                note.duration,
                note.pitch,
                _spelled(note.step, note.alter, note.octave),
                *sorted(note.flags),
            )
            for note in plain_reader.read(data)
            if note.part == part
        ]
    )


def assert_events(data: bytes, *expected: list[Event], plain: bool = True) -> Tables:
    """Hold both readers to the events of each part; the tables, for further questions.

    `plain` is false where the plain reader does not know what the score is about.
    """
    for part, events_of_part in enumerate(expected):
        if plain:
            assert plain_events(data, part) == _ordered(events_of_part), f"plain reader, {part}"
    tables = tables_of(data)
    assert state(tables) == "read", remarks(tables)
    for part, events_of_part in enumerate(expected):
        assert events(tables, part) == _ordered(events_of_part), f"part {part}"
    assert set(tables["notes"]["part_index"].to_pylist()) <= set(range(len(expected)))
    return tables


def played(tables: Tables, part: int | None = None) -> dict[str, str]:
    """What each line plays, by its label: "0:C5 2:E5+C5", onset in quarters and sounding pitch.

    `x` is a note without a pitch.
    """
    lines = tables["lines"].to_pylist()
    wanted = [line for line in lines if part is None or line["part_index"] == part]
    labels = [line["player"] for line in wanted]
    assert len(set(labels)) == len(labels), labels
    found = {}
    for line in wanted:
        at: dict[Fraction, list[tuple[int, str]]] = {}
        for note in tables["notes"].to_pylist():
            if note["line_key"] == line["line_key"]:
                spelled = _spelled(note["step"], note["alter"], note["octave"]) or "x"
                onset = Fraction(note["onset_ticks"], TICKS)
                at.setdefault(onset, []).append((-(note["midi"] or 0), spelled))
        found[line["player"]] = " ".join(
            f"{onset}:" + "+".join(name for _, name in sorted(notes))
            for onset, notes in sorted(at.items())
        )
    return found


def rows(tables: Tables, table: str, *names: str, **wanted: Any) -> list[Any]:
    """Values of the columns `names`, of rows where the columns `wanted` hold these values."""
    chosen = [
        row
        for row in tables[table].to_pylist()
        if all(row[name] == value for name, value in wanted.items())
    ]
    if len(names) == 1:
        return [row[names[0]] for row in chosen]
    return [tuple(row[name] for name in names) for row in chosen]


def state(tables: Tables) -> str:
    value: str = tables["movements"]["state"][0].as_py()
    return value


def remarks(tables: Tables) -> list[str]:
    """Remarks, each as `severity code: message`."""
    return [
        f"{row['severity']} {row['code']}: {row['message']}"
        for row in tables["remarks"].to_pylist()
    ]


def assert_remark(tables: Tables, *any_of: str) -> None:
    """One remark at least has one of these words in its code or message."""
    found = remarks(tables)
    assert any(word in text.lower() for word in any_of for text in found), found


def quarters(ticks: int) -> Fraction:
    return Fraction(ticks, TICKS)


def _check_pitch(row: dict[str, Any]) -> None:
    if row["step"] is not None:
        spelled = Fraction(row["alter"]) + "C D EF G A B".index(row["step"])
        assert round(100 * (spelled + 12 * (row["octave"] + 1))) == (
            100 * row["midi"] + row["cents"]
        ), row
    assert row["onset_quarters"] == float(Fraction(row["onset_ticks"], TICKS))
    assert row["duration_quarters"] == float(Fraction(row["duration_ticks"], TICKS))


def _number(midi: int | None, cents: int) -> Fraction | None:
    return None if midi is None else midi + Fraction(cents, 100)


def _spelled(step: str | None, alter: float | Fraction | None, octave: int | None) -> str | None:
    if step is None or alter is None:
        return None
    sign = _SIGNS.get(alter)  # type: ignore[call-overload]
    return f"{step}{f'({float(alter):+g})' if sign is None else sign}{octave}"


def _ordered(found: list[Event]) -> list[Event]:
    return sorted(
        found,
        key=lambda event: (event[0], -(event[2] or 0), event[1], event[3:4] == (None,), event[4:]),
    )
