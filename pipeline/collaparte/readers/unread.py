"""The row that every movement has, and the tables of one whose score was not read."""

from __future__ import annotations

from typing import Any

import pyarrow as pa

from collaparte.movement import Movement
from collaparte.remarks import Remark, remarks_table
from collaparte.schema import Tables, table_of


def movements_table(movement: Movement, state: str, **read: Any) -> pa.Table:
    """The `movements` table of one movement: what is stated about it, and what was read.

    Parameters
    ----------
    state
        read, failed or skipped.
    read
        Columns that the file itself gives; where it gives None, what is stated stays.
    """
    rights = movement.rights
    stated = {
        "work_id": movement.work_id,
        "work": movement.work,
        "movement": movement.movement,
        "title": movement.title,
        "composer_id": movement.composer_id,
        "composer": movement.composer,
        "composer_born": movement.composer_born,
        "composer_died": movement.composer_died,
        "year_from": movement.year_from,
        "year_to": movement.year_to,
        "collection": movement.collection,
        "invented": movement.invented,
        "source_kind": movement.source_kind,
        "source_address": movement.source_address,
        "edition": movement.edition,
        "scoring_complete": movement.scoring_complete,
        "counts": movement.counts,
        "licence_notes": rights.licence_notes,
        "licence_other": rights.licence_other,
        "attribution": rights.attribution,
        "may_show_notation": rights.may_show_notation,
        "may_share_events": rights.may_share_events,
        "rights_basis": rights.basis,
        "state": state,
    }
    given = {name: value for name, value in read.items() if value is not None}
    row = {name: [value] for name, value in {**stated, **given}.items()}
    return table_of("movements", movement.movement_id, row)


def unread(movement: Movement, state: str, remark: Remark, **read: Any) -> Tables:
    """The tables of a movement that failed or was skipped: its row, and the reason."""
    return {
        "movements": movements_table(movement, state, **read),
        "remarks": remarks_table(movement.movement_id, [remark]),
    }
