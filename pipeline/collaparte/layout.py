"""Rows as text for reading: a table that fits the width it is given, or Markdown.

A table that is too wide is made narrower by folding its text columns; when that is not enough,
each row becomes a block of lines, one a column.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from tabulate import tabulate

NULL = "–"
NARROWEST = 12
"""Characters; text is not folded into less."""
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
        head = max(len(piece) for piece in _pieces(self.name).split())
        longest = max((len(cell) for cell in self.cells), default=0)
        return max(head, longest if self.number else min(longest, NARROWEST))


def screen(names: Sequence[str], rows: Rows, units: Mapping[str, str], width: int) -> str:
    """The rows as a table at most `width` characters wide, its numbers aligned to the right.

    Parameters
    ----------
    units
        Unit of each column, where it is known; columns of unit `share` are shown as percent.
    """
    columns = _columns(names, rows, units)
    if not rows:
        return f"{'  '.join(names)}\n0 rows"
    room = width - GAP * (len(columns) - 1)
    if sum(column.least_width for column in columns) > room:
        text = _blocks(columns, width)
    else:
        text = _table(columns, _shrunk(columns, room))
    return f"{text}\n{CUT} stands for the rest of a long text" if CUT in text else text


def markdown(names: Sequence[str], rows: Rows, units: Mapping[str, str]) -> str:
    """The rows as a Markdown table, numbers as on the screen and no text folded."""
    columns = _columns(names, rows, units)
    lines = [[cell.replace("|", "\\|") for cell in column.cells] for column in columns]
    text = _tabulated(names, lines, columns, "pipe")
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


def _shrunk(columns: Sequence[_Column], room: int) -> list[int]:
    """A width for each column: its own, the widest made narrower until all fit the room."""
    widths = [column.width for column in columns]
    least = [column.least_width for column in columns]
    while sum(widths) > room:
        spare = [width if width > low else 0 for width, low in zip(widths, least, strict=True)]
        widths[spare.index(max(spare))] -= 1
    return widths


def _table(columns: Sequence[_Column], widths: Sequence[int]) -> str:
    pairs = list(zip(columns, widths, strict=True))
    heads = [_fold(_pieces(column.name), width).replace("_ ", "_") for column, width in pairs]
    cells = [[_fold(cell, width) for cell in column.cells] for column, width in pairs]
    return _tabulated(heads, cells, columns, "simple")


def _tabulated(
    heads: Sequence[str], cells: list[list[str]], columns: Sequence[_Column], style: str
) -> str:
    return tabulate(
        list(zip(*cells, strict=True)),
        headers=heads,
        tablefmt=style,
        disable_numparse=True,
        colalign=["right" if column.number else "left" for column in columns],
    )


def _blocks(columns: Sequence[_Column], width: int) -> str:
    """One block of lines a row, one line or more a column."""
    margin = max(len(column.name) for column in columns) + GAP
    blocks = []
    for index in range(len(columns[0].cells)):
        lines = []
        for column in columns:
            folded = _fold(column.cells[index], max(width - margin, NARROWEST))
            lines.append(f"{column.name:{margin}}" + folded.replace("\n", "\n" + " " * margin))
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)


def _fold(text: str, width: int) -> str:
    lines = textwrap.wrap(text, width)
    return "\n".join(lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], CUT])


def _pieces(name: str) -> str:
    """A column's name with the places marked where it may be folded."""
    return name.replace("_", "_ ")
