"""A person's marks of the leading part, and how much of them each line would hit."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyarrow as pa
import pyarrow.compute as pc

from collaparte.kernels.spans import covered
from collaparte.schema import TICKS, Tables

Numbers = npt.NDArray[np.float64]
SUFFIX = ".leading_line.csv"


@dataclass(frozen=True)
class Hits:
    """Marked time of each bar, and how much of it each line would hit as the leading line.

    A line hits the time in which the marked part is its own, or in which it doubles a line of
    that part (kinds of `same_line`).
    """

    marked: Numbers
    """Shape (bars,), in quarters."""
    hit: Numbers
    """Shape (bars, lines), in quarters."""


def hits(file: Path, tables: Tables) -> Hits:
    """The hits of one movement from the file of its marks (`qstamp`, `part_num`)."""
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    bars = tables["bars"]
    start = bars["start_ticks"].to_numpy()
    end = start + bars["length_ticks"].to_numpy()
    stamps = [round(float(row["qstamp"]) * TICKS) for row in rows]
    mark = np.array([*stamps, max(int(end[-1]), stamps[-1])])
    # The numbers of the marks count a part of two staves (a harp) twice.
    staves = tables["parts"]["staves"].to_numpy()
    part_of_staff = np.repeat(np.arange(len(staves)), staves)
    parts = part_of_staff[[int(row["part_num"]) for row in rows]]

    # Pieces of marked time, each within one bar.
    cuts = np.unique(np.concatenate([mark, start[start > mark[0]]]))
    begin, stop = cuts[:-1], cuts[1:]
    part = parts[np.searchsorted(mark, begin, side="right") - 1]
    bar = np.searchsorted(start, begin, side="right") - 1
    line_parts = tables["lines"]["part_index"].to_numpy()
    hit = np.zeros((len(bars), len(line_parts)))
    for line, own in enumerate(line_parts):
        told = _doubled(tables, line, len(line_parts))
        time = np.where(part == own, stop - begin, 0)
        for other in np.unique(parts):
            if other == own:
                continue
            here = np.flatnonzero(part == other)
            cover = _of_part(told, line_parts, other)
            group = np.zeros(len(here), np.int64)
            time[here] = covered((group, begin[here], stop[here]), cover)
        hit[:, line] = np.bincount(bar, time / TICKS, minlength=len(bars))
    marked = np.bincount(bar, (stop - begin) / TICKS, minlength=len(bars))
    return Hits(marked, hit)


def _doubled(tables: Tables, line: int, lines: int) -> tuple[Numbers, ...]:
    """Partner lines, starts and ends of the stretches in which the line is doubled."""
    keys = tables["lines"]["line_key"].to_numpy()
    found = tables["doublings"].filter(pc.field("same_line"))
    sides = []
    for one, other in (("line_a", "line_b"), ("line_b", "line_a")):
        rows = found.filter(pc.equal(found[one], pa.scalar(int(keys[line]))))
        sides.append((np.searchsorted(keys, rows[other].to_numpy()),
                      rows["start_ticks"].to_numpy(), rows["end_ticks"].to_numpy()))  # fmt: skip
    return tuple(np.concatenate(values) for values in zip(*sides, strict=True))


def _of_part(told: tuple[Numbers, ...], line_parts: Numbers, part: int) -> tuple[Numbers, ...]:
    partner, start, end = told
    there = line_parts[partner.astype(np.int64)] == part
    return np.zeros(int(there.sum()), np.int64), start[there], end[there]
