"""Corpora made of numbers: movements in quarter notes, with doublings where they are told to be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pyarrow as pa

from collaparte import reference
from collaparte.measures.kinds import KINDS, SAME_LINE
from collaparte.schema import TABLES, TICKS, Tables, empty, keys, table_of
from collaparte.settings import Settings, settings_table
from collaparte.store import commit

BAR = 4
"""Quarters of a bar."""

FAMILIES = {
    "oboe": ("woodwind", "oboes"),
    "clarinet-bflat": ("woodwind", "clarinets"),
    "clarinet-a": ("woodwind", "clarinets"),
    "bassoon": ("woodwind", "bassoons"),
    "violoncello": ("string", "violoncellos"),
    "continuo": ("keyboard", "continuo"),
    "voice-bass-choir": ("voice", "choir voices"),
}


@dataclass(frozen=True)
class Player:
    """A line that plays a note a quarter from `start` to `end`."""

    instrument: str | None
    start: int
    end: int


@dataclass(frozen=True)
class Doubling:
    """Lines `a` and `b` (numbers in the movement) together from quarter `start` to `end`."""

    a: int
    b: int
    start: int
    end: int
    kind: str = "unison"
    strict: bool = True


@dataclass(frozen=True)
class Piece:
    """One movement; `facts` are columns of `movements`, `chance` quarters expected of each pair."""

    name: str
    players: Sequence[Player]
    doublings: Sequence[Doubling] = ()
    facts: Mapping[str, Any] | None = None
    chance: tuple[float | None, float | None] = (None, None)


def store_of(folder: Path, pieces: Sequence[Piece]) -> Path:
    """A store of these movements."""
    common = {
        **reference.load().tables(),
        "settings": settings_table(Settings()),
    }
    commit(
        folder / "store", [(piece.name, tables_of(piece)) for piece in pieces], common, Settings()
    )
    return folder / "store"


def tables_of(piece: Piece) -> Tables:
    """The tables that comparisons and audits ask."""
    quarters = max(player.end for player in piece.players)
    stated = {"work_id": piece.name, "work": piece.name, "state": "read", "counts": True,
              "scoring_complete": "yes", **(piece.facts or {})}  # fmt: skip
    note, line, onset = _notes(piece)
    return {
        "movements": _filled("movements", piece.name, {k: [v] for k, v in stated.items()}),
        "lines": _lines(piece),
        "bars": _bars(piece.name, -(-quarters // BAR)),
        "notes": _filled(
            "notes",
            piece.name,
            {
                "note_key": keys(piece.name, note),
                "line_key": keys(piece.name, line),
                "instrument": [piece.players[number].instrument for number in line],
                "onset_ticks": onset * TICKS,
                "duration_ticks": np.full(len(onset), TICKS),
                "midi": np.full(len(onset), 60),
                "dynamic_degree": [6.0 if at % 2 else None for at in onset],
                "register_class": ["low"] * len(onset),
                **_bar_of(piece.name, onset),
            },
        ),
        "sonority_members": _filled(
            "sonority_members",
            piece.name,
            {
                "sonority_key": keys(piece.name, onset),
                "note_key": keys(piece.name, note),
                "line_key": keys(piece.name, line),
                "ticks": np.full(len(onset), TICKS),
                **_bar_of(piece.name, onset),
            },
        ),
        "doubled_notes": _doubled_notes(piece),
        "pair_activity": _pair_activity(piece),
    }


def _notes(piece: Piece) -> tuple[Any, Any, Any]:
    """Number, line and onset in quarters of every note."""
    line = np.repeat(
        np.arange(len(piece.players)), [player.end - player.start for player in piece.players]
    )
    onset = np.concatenate([np.arange(player.start, player.end) for player in piece.players])
    return np.arange(len(line)), line, onset


def _lines(piece: Piece) -> pa.Table:
    players = piece.players
    families = [FAMILIES.get(player.instrument or "", (None, None)) for player in players]
    return _filled(
        "lines",
        piece.name,
        {
            "line_key": keys(piece.name, np.arange(len(players))),
            "part_index": list(range(len(players))),
            "part_name": [player.instrument for player in players],
            "player": [f"{player.instrument} {at}" for at, player in enumerate(players)],
            "instrument": [player.instrument for player in players],
            "family": [family for family, _ in families],
            "subfamily": [subfamily for _, subfamily in families],
            "ensemble": ["chorus" if family == "voice" else "player" for family, _ in families],
            "sounding_ticks": [(player.end - player.start) * TICKS for player in players],
        },
    )


def _bars(name: str, count: int) -> pa.Table:
    starts = np.arange(count) * BAR
    return _filled(
        "bars",
        name,
        {
            "start_ticks": starts * TICKS,
            "length_ticks": np.full(count, BAR * TICKS),
            **_bar_of(name, starts),
        },
    )


def _bar_of(name: str, onset: Any) -> dict[str, Any]:
    index = onset // BAR
    return {
        "bar_index": index,
        "bar_key": keys(name, index),
        "bar": [str(number + 1) for number in index],
    }


def _doubled_notes(piece: Piece) -> pa.Table:
    rows = [
        (number, one, other, at, doubling)
        for number, doubling in enumerate(piece.doublings)
        for one, other in ((doubling.a, doubling.b), (doubling.b, doubling.a))
        for at in range(doubling.start, doubling.end)
    ]
    if not rows:
        return empty("doubled_notes")
    number, line, partner, at, doublings = zip(*rows, strict=True)
    onset = np.array(at)
    side = {
        "note_key": keys(piece.name, np.array(line) * 10_000 + onset),
        "line_key": keys(piece.name, np.array(line)),
        "instrument": [piece.players[one].instrument for one in line],
    }
    other = {
        "partner_note_key": keys(piece.name, np.array(partner) * 10_000 + onset),
        "partner_line_key": keys(piece.name, np.array(partner)),
        "partner_instrument": [piece.players[one].instrument for one in partner],
    }
    return _filled(
        "doubled_notes",
        piece.name,
        {
            **side,
            **other,
            "doubling_key": keys(piece.name, np.array(number)),
            "kind": [doubling.kind for doubling in doublings],
            "same_line": [doubling.kind in SAME_LINE for doubling in doublings],
            "strict": [doubling.strict for doubling in doublings],
            "start_ticks": onset * TICKS,
            "ticks": np.full(len(rows), TICKS),
            **_bar_of(piece.name, onset),
        },
    )


def _pair_activity(piece: Piece) -> pa.Table:
    rows = []
    for one, player in enumerate(piece.players):
        for other, partner in enumerate(piece.players):
            together = min(player.end, partner.end) - max(player.start, partner.start)
            if one == other or together <= 0:
                continue
            for kind in KINDS:
                for strict in (False, True):
                    doubled = {
                        at
                        for doubling in piece.doublings
                        for at in range(doubling.start, doubling.end)
                        if {one, other} == {doubling.a, doubling.b}
                        and kind == doubling.kind
                        and (doubling.strict or not strict)
                    }
                    rows.append((one, other, kind, strict, together, len(doubled)))
    if not rows:
        return empty("pair_activity")
    line, partners, kinds, stricts, togethers, doubleds = zip(*rows, strict=True)
    shift, harmony = piece.chance
    return _filled(
        "pair_activity",
        piece.name,
        {
            "line_key": keys(piece.name, np.array(line)),
            "partner_line_key": keys(piece.name, np.array(partners)),
            "kind": kinds,
            "strict": stricts,
            "together_ticks": np.array(togethers) * TICKS,
            "doubled_ticks": np.array(doubleds) * TICKS,
            "chance_shift_ticks": [None if shift is None else shift * TICKS] * len(rows),
            "chance_harmony_ticks": [None if harmony is None else harmony * TICKS] * len(rows),
        },
    )


def _filled(name: str, movement_id: str, columns: dict[str, Any]) -> pa.Table:
    """The table with something plain in every required column that is not given."""
    rows = len(next(iter(columns.values())))
    missing = {
        column.name: pa.array([_plain(column.type)] * rows, column.type)
        for column in TABLES[name].columns
        if not column.optional and column.name not in ("movement_id", "movement_key", *columns)
    }
    return table_of(name, movement_id, {**missing, **columns})


def _plain(kind: pa.DataType) -> Any:
    if pa.types.is_boolean(kind):
        return False
    if pa.types.is_list(kind):
        return []
    return "" if pa.types.is_string(kind) or pa.types.is_dictionary(kind) else 0
