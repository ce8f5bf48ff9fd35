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
from itertools import zip_longest
from typing import Any

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


def _shrunk(columns: Sequence[_Column], room: int) -> list[int]:
    """A width for each column: its own, the widest made narrower until all fit the room."""
    widths = [column.width for column in columns]
    least = [column.least_width for column in columns]
    while sum(widths) > room:
        spare = [width if width > low else 0 for width, low in zip(widths, least, strict=True)]
        widths[spare.index(max(spare))] -= 1
    return widths


def _table(columns: Sequence[_Column], widths: Sequence[int]) -> str:
    heads = [
        [line.replace("_ ", "_") for line in _fold(_pieces(column.name), width)]
        for column, width in zip(columns, widths, strict=True)
    ]
    rows = [
        [_fold(cell, width) for cell, width in zip(row, widths, strict=True)]
        for row in zip(*(column.cells for column in columns), strict=True)
    ]
    numbers = [column.number for column in columns]
    rule = ["-" * width for width in widths]
    texts = [
        _side_by_side(row, widths, numbers) for row in (heads, [[line] for line in rule], *rows)
    ]
    return "\n".join(texts)


def _side_by_side(
    cells: Sequence[list[str]], widths: Sequence[int], numbers: Sequence[bool]
) -> str:
    """The lines of cells beside each other."""
    lines = []
    for pieces in zip_longest(*cells, fillvalue=""):
        padded = (
            piece.rjust(width) if number else piece.ljust(width)
            for piece, width, number in zip(pieces, widths, numbers, strict=True)
        )
        lines.append((" " * GAP).join(padded).rstrip())
    return "\n".join(lines)


def _blocks(columns: Sequence[_Column], width: int) -> str:
    """One block of lines a row, one line or more a column."""
    margin = max(len(column.name) for column in columns) + GAP
    blocks = []
    for index in range(len(columns[0].cells)):
        lines = []
        for column in columns:
            folded = _fold(column.cells[index], max(width - margin, NARROWEST))
            lines.append(f"{column.name:{margin}}" + ("\n" + " " * margin).join(folded))
        blocks.append("\n".join(lines))
    return "\n\n".join(blocks)


def _fold(text: str, width: int) -> list[str]:
    lines = textwrap.wrap(text, width)
    return lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], CUT]


def _pieces(name: str) -> str:
    """A column's name with the places marked where it may be folded."""
    return name.replace("_", "_ ")
