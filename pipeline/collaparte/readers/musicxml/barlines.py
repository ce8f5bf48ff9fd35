"""Repeats, endings, jumps and signs, gathered over all parts.

Sources: MusicXML 4.0, elements `barline`, `repeat`, `ending` and the attributes of `sound`. A
jump is what `sound` says; words such as “D.C.” are print.
"""

from __future__ import annotations

import re

from collaparte.readers.form import BarForm
from collaparte.readers.musicxml.numbers import whole
from collaparte.readers.musicxml.timeline import Rows

_JUMPS = ("dacapo", "dalsegno", "tocoda", "fine")
_MARKS = ("segno", "coda")


def form_of(rows: Rows) -> list[BarForm]:
    """The form of the score: one entry a bar."""
    form = [BarForm() for _ in range(rows.bars)]
    _repeats(rows, form)
    _endings(rows, form)
    table = rows.table
    for depth in (3, 4):
        sounds = table.of("sound", depth)
        for name in (*_JUMPS, *_MARKS):
            for element in table.with_attribute(sounds, name).tolist():
                bar = int(rows.bar[table.row[element]])
                if name in _JUMPS:
                    form[bar].jump = form[bar].jump or name
                else:
                    form[bar].mark = form[bar].mark or name
    return form


def _repeats(rows: Rows, form: list[BarForm]) -> None:
    table = rows.table
    repeats = table.of("repeat", 4)
    directions_at, directions = table.attribute(repeats, "direction")
    times_at, times = table.attribute(repeats, "times")
    for element, direction, count in zip(
        repeats.tolist(), directions_at.tolist(), times_at.tolist(), strict=True
    ):
        marks = form[int(rows.bar[table.row[element]])]
        if directions[direction] == "forward":
            marks.repeat_start = True
        else:
            marks.repeat_end = max(marks.repeat_end, whole(times[count]) or 2)


def _endings(rows: Rows, form: list[BarForm]) -> None:
    table = rows.table
    endings = table.of("ending", 4)
    types_at, types = table.attribute(endings, "type")
    numbers_at, numbers = table.attribute(endings, "number")
    running: dict[int, tuple[int, tuple[int, ...]]] = {}
    for element, kind, number in zip(
        endings.tolist(), types_at.tolist(), numbers_at.tolist(), strict=True
    ):
        row = table.row[element]
        part, bar = int(rows.part[row]), int(rows.bar[row])
        if types[kind] == "start":
            stated = (whole(digits) for digits in re.findall(r"[0-9]+", numbers[number] or ""))
            found = tuple(filter(None, stated))
            running[part] = (bar, found or (1,))
        elif part in running:
            first, found = running.pop(part)
            for inside in range(first, bar + 1):
                form[inside].ending = form[inside].ending or found
    for first, found in running.values():
        form[first].ending = form[first].ending or found
