"""Rows as text for reading: tables that fit the width they are given, or Markdown.

A table that is too wide is made narrower by folding its text columns; when that is not enough,
its columns are spread over several tables, one below the other, that all begin with the first.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

NULL = "–"
NARROWEST = 16
"""Characters; a longer text is not folded into less."""
LONGEST_WORD = 32
"""Characters; a longer word may be broken."""
MOST_LINES = 8
"""Lines of one cell."""
CUT = "[…]"
"""What a longer text ends in."""
GAP = 2
"""Characters between two columns."""

Rows = Sequence[Sequence[Any]]

# Characters that would move a terminal's cursor or colour it; a score may hold any.
_CONTROLS = {**dict.fromkeys(range(32), " "), **dict.fromkeys(range(127, 160), " ")}


@dataclass(frozen=True)
class _Column:
    """One column as text; `number` aligns to the right and is never folded."""

    name: str
    cells: list[str]
    number: bool

    @property
    def width(self) -> int:
        return max(len(text) for text in (self.name, *self.cells))

    @property
    def least_width(self) -> int:
        head = max(map(len, _pieces(self.name).split()), default=0)
        longest = max(map(len, self.cells), default=0)
        if self.number:
            return max(head, longest)
        word = max((len(word) for cell in self.cells for word in cell.split()), default=0)
        return max(head, min(longest, max(NARROWEST, min(word, LONGEST_WORD))))


def screen(names: Sequence[str], rows: Rows, units: Mapping[str, str], width: int) -> str:
    """The rows as a table at most `width` characters wide, its numbers aligned to the right.

    Parameters
    ----------
    units
        Unit of each column, where it is known; columns of unit `share` are shown as percent.
    """
    columns = _columns(names, rows, units)
    if not rows:
        return "\n".join([*textwrap.wrap(", ".join(names), width), "0 rows"])
    text = "\n\n".join(_table(band, width) for band in _bands(columns, width))
    return f"{text}\n{CUT} stands for the rest of a long text" if CUT in text else text


def markdown(names: Sequence[str], rows: Rows, units: Mapping[str, str]) -> str:
    """The rows as a Markdown table, numbers as on the screen and no text folded."""
    columns = _columns(names, rows, units)
    rule = ["---:" if column.number else "---" for column in columns]
    cells = [[cell.replace("|", "\\|") for cell in column.cells] for column in columns]
    lines = [list(names), rule, *map(list, zip(*cells, strict=True))]
    text = "\n".join(f"| {' | '.join(line)} |" for line in lines)
    return text if rows else f"{text}\n\n0 rows"


def _columns(names: Sequence[str], rows: Rows, units: Mapping[str, str]) -> list[_Column]:
    values = [[row[index] for row in rows] for index in range(len(names))]
    return [
        _Column(name, _texts(column, units.get(name, "")), _is_number(column))
        for name, column in zip(names, values, strict=True)
    ]


def _is_number(values: Sequence[Any]) -> bool:
    kinds = {type(value) for value in values if value is not None}
    return bool(kinds) and kinds <= {int, float, Decimal}


def _texts(values: Sequence[Any], unit: str) -> list[str]:
    """The cells of one column: all its numbers with the same number of decimals."""
    fractions = [float(value) for value in values if isinstance(value, float | Decimal)]
    largest = max(map(abs, filter(math.isfinite, fractions)), default=0)
    whole = all(value.is_integer() for value in fractions)
    decimals = 0 if whole else 2 if largest >= 1 else 4

    def text(value: Any) -> str:
        if value is None or value != value:  # NaN
            return NULL
        if isinstance(value, bool):
            return "yes" if value else "no"
        if unit == "share" and isinstance(value, int | float | Decimal):
            return f"{100 * value:.1f} %"
        if isinstance(value, float | Decimal):
            return f"{value:.{decimals}f}"
        if isinstance(value, list | tuple):
            return ", ".join(map(text, value))
        return str(value).translate(_CONTROLS)

    return [text(value) for value in values]


def _bands(columns: Sequence[_Column], width: int) -> list[list[_Column]]:
    """The columns by the table that they stand in; the first column begins all of them."""
    first, *others = columns
    bands = [[first]]
    for column in others:
        least = sum(GAP + one.least_width for one in (*bands[-1], column)) - GAP
        if least > width and len(bands[-1]) > 1:
            bands.append([first])
        bands[-1].append(column)
    return bands


def _widths(columns: Sequence[_Column], width: int) -> list[int]:
    """A width for each column: its own, the widest made narrower until all fit."""
    widths = [column.width for column in columns]
    spare = [column.width - column.least_width for column in columns]
    over = sum(widths) + GAP * (len(widths) - 1) - width
    while over > 0 and any(spare):
        widest = max(range(len(widths)), key=lambda at: widths[at] if spare[at] else 0)
        widths[widest] -= 1
        spare[widest] -= 1
        over -= 1
    return widths


def _table(columns: Sequence[_Column], width: int) -> str:
    rooms = zip(columns, _widths(columns, width), strict=True)
    texts = [_aligned(column, room) for column, room in rooms]
    return "\n".join(_side_by_side(row) for row in zip(*texts, strict=True))


def _aligned(column: _Column, room: int) -> list[list[str]]:
    """The lines of a column's head, rule and cells, all of one width."""
    head = [line.replace("_ ", "_") for line in _fold(_pieces(column.name), room)]
    cells = [_fold(cell, room) for cell in column.cells]
    width = max(len(line) for lines in (head, *cells) for line in lines)
    align = str.rjust if column.number else str.ljust
    return [
        [align(line, width) for line in lines or [""]] for lines in (head, ["-" * width], *cells)
    ]


def _side_by_side(cells: Sequence[list[str]]) -> str:
    """The lines of cells beside each other."""
    height = max(map(len, cells))
    filled = ([*lines, *[" " * len(lines[0])] * (height - len(lines))] for lines in cells)
    return "\n".join((" " * GAP).join(line).rstrip() for line in zip(*filled, strict=True))


def _fold(text: str, width: int) -> list[str]:
    lines = textwrap.wrap(text, width, break_on_hyphens=False)
    return lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], CUT]


def _pieces(name: str) -> str:
    """A column's name with the places marked where it may be folded."""
    return name.replace("_", "_ ")
