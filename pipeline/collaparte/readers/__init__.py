"""Bytes of one score → its tables; a score that cannot be read gives its reason instead."""

from __future__ import annotations

import hashlib
from typing import Any

import pyarrow as pa

from collaparte.errors import ScoreError
from collaparte.movement import Movement
from collaparte.readers.container import unpack
from collaparte.readers.musicxml import read_musicxml
from collaparte.readers.unread import unread
from collaparte.reference import Reference
from collaparte.remarks import Remark
from collaparte.schema import Tables, empty
from collaparte.settings import Settings

TABLES = ("movements", "parts", "lines", "bars", "play_order", "notes", "directions", "remarks")
"""What every reading gives, in this order."""


def read(data: bytes, movement: Movement, reference: Reference, settings: Settings) -> Tables:
    """The tables of one movement, whatever its file is like.

    Returns
    -------
    The tables named in `TABLES`. A file that cannot be read gives one row in `movements` with
    the state `failed`, one remark of severity `error`, and no rows in the other tables.
    """
    file: dict[str, Any] = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
    try:
        unpacked = unpack(data, movement.file_name)
        if unpacked.format != "musicxml":
            raise ScoreError("no_reader", f"There is no reader yet for {unpacked.format} files.")
        tables = read_musicxml(unpacked.data, movement, reference, settings, unpacked.remarks)
    except ScoreError as error:
        tables = unread(
            movement,
            "failed",
            Remark(error.code, error.message, "The score was left out.", "error"),
        )
    movements = tables["movements"]
    for name, value in file.items():
        place = movements.schema.get_field_index(name)
        field = movements.schema.field(name)
        movements = movements.set_column(place, field, pa.array([value], field.type))
    tables["movements"] = movements
    return {name: tables[name] if name in tables else empty(name) for name in TABLES}
