"""Oddities of scores: their codes, and the row that each becomes.

A remark never changes the music: it says what was odd, where first, how often, and what was
done about it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple, dataclass, fields

import pyarrow as pa

from collaparte.schema import empty, table_of

SEVERITIES = ("error", "warning", "note")


@dataclass(frozen=True)
class Remark:
    """One kind of oddity in one movement.

    `bar_index` and `part_index` say where it is first met, `count` how often in all;
    `message` and `done` are plain sentences.
    """

    code: str
    message: str
    done: str
    severity: str = "note"
    stage: str = "reading"
    bar_index: int | None = None
    bar: str | None = None
    part_index: int | None = None
    part: str | None = None
    count: int = 1


def remarks_table(movement_id: str, remarks: Iterable[Remark]) -> pa.Table:
    """The `remarks` table of one movement: errors first, then by stage, code and place."""
    ordered = sorted(remarks, key=_order)
    if not ordered:
        return empty("remarks")
    names = [item.name for item in fields(Remark)]
    columns = zip(*(astuple(remark) for remark in ordered), strict=True)
    return table_of("remarks", movement_id, dict(zip(names, map(list, columns), strict=True)))


def _order(remark: Remark) -> tuple[int, str, str, int, int, str]:
    return (
        SEVERITIES.index(remark.severity),
        remark.stage,
        remark.code,
        -1 if remark.part_index is None else remark.part_index,
        -1 if remark.bar_index is None else remark.bar_index,
        remark.message,
    )
