"""What goes to the screen: answers to stdout; progress and messages to stderr.

`table` and `markdown` are for reading: shares stand as percent, decimals are few. `csv`, `json`
and `parquet` carry the values as they are.
"""

from __future__ import annotations

import csv
import enum
import json
import shutil
import sys
import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, TextIO

from collaparte.errors import UsageError
from collaparte.layout import markdown, screen

if TYPE_CHECKING:
    from duckdb import DuckDBPyRelation

FORMATS = ("table", "csv", "json", "markdown", "parquet")


class Exit(enum.IntEnum):
    """What the command's exit code says."""

    DONE = 0
    FAULT = 1
    WRONG_USAGE = 2
    SOME_SCORES_FAILED = 3
    STOPPED = 130


def say(message: str) -> None:
    """One line to stderr."""
    print(f"collaparte: {message}", file=sys.stderr)


@contextmanager
def progress(things: str) -> Iterator[Callable[[int, int], None] | None]:
    """A count that runs on one line of a terminal; None where stderr is none."""
    if not sys.stderr.isatty():
        yield None
        return

    def report(done: int, total: int) -> None:
        print(f"\r{done} of {total} {things}", end="", file=sys.stderr, flush=True)

    try:
        yield report
    finally:
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def print_answer(
    answer: DuckDBPyRelation,
    output_format: str,
    output: Path | None = None,
    units: Mapping[str, str] | None = None,
) -> None:
    """Write an answer in one of `FORMATS`, to stdout or a file.

    Parameters
    ----------
    units
        Unit of each column, where it is known; columns of unit `share` are read as percent.

    Raises
    ------
    UsageError
        Parquet without a file, or a file that cannot be written.
    """
    if output_format != "parquet":
        with _text(output) as stream:
            _write(answer, output_format, stream, units or {})
        return
    if output is None:
        raise UsageError("parquet goes to a file: add --output FILE")
    with _written(output), output.open("wb") as file:
        _write_parquet(answer, file)


def print_sections(
    sections: Sequence[tuple[str, DuckDBPyRelation, Mapping[str, str]]],
    closing: str,
    output_format: str,
    output: Path | None = None,
) -> None:
    """Write several answers for reading, and a paragraph below them.

    Parameters
    ----------
    sections
        A heading, an answer and the units of its columns each.
    output_format
        table or markdown.
    """
    with _text(output) as stream:
        for heading, answer, units in sections:
            print(f"**{heading}**\n" if output_format == "markdown" else heading, file=stream)
            _write(answer, output_format, stream, units)
            print(file=stream)
        if output_format == "table":
            closing = textwrap.fill(closing, _width())
        print(closing, file=stream)


def print_rows(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> None:
    """Rows as a table on the screen."""
    print(screen(names, rows, {}, _width()))


@contextmanager
def _text(output: Path | None) -> Iterator[TextIO]:
    """Where text goes: stdout, or a file."""
    if output is None:
        yield sys.stdout
        return
    with _written(output), output.open("w", encoding="utf-8", newline="") as stream:
        yield stream


@contextmanager
def _written(output: Path) -> Iterator[None]:
    """Say that a file was written, or that it cannot be."""
    try:
        yield
    except OSError as error:
        raise UsageError(f"{output} cannot be written: {error.strerror or error}") from None
    say(f"wrote {output}")


def _width() -> int:
    return shutil.get_terminal_size(fallback=(100, 24)).columns


def _write(
    answer: DuckDBPyRelation, output_format: str, stream: TextIO, units: Mapping[str, str]
) -> None:
    if output_format == "table":
        print(screen(answer.columns, answer.fetchall(), units, _width()), file=stream)
    elif output_format == "markdown":
        print(markdown(answer.columns, answer.fetchall(), units), file=stream)
    elif output_format == "csv":
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(answer.columns)
        writer.writerows([_csv_value(value) for value in row] for row in _rows(answer))
    else:
        _write_json(answer, stream)


def _rows(answer: DuckDBPyRelation) -> Iterator[tuple[Any, ...]]:
    """The rows, a batch at a time."""
    for batch in answer.arrow():
        yield from zip(*(column.to_pylist() for column in batch.columns), strict=True)


def _csv_value(value: Any) -> Any:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list | dict):
        return json.dumps(value, default=_json_value, ensure_ascii=False)
    return value


def _write_json(answer: DuckDBPyRelation, stream: TextIO) -> None:
    """One array; one object a line."""
    stream.write("[")
    for number, row in enumerate(_rows(answer)):
        values = {
            name: None if value != value else value  # JSON has no NaN
            for name, value in zip(answer.columns, row, strict=True)
        }
        stream.write(",\n" if number else "\n")
        stream.write(json.dumps(values, default=_json_value, ensure_ascii=False))
    stream.write("\n]\n")


def _json_value(value: Any) -> Any:
    """A value that JSON has no form for: a decimal as number, all others as text."""
    from decimal import Decimal

    if isinstance(value, Decimal):
        return int(value) if value == int(value) else float(value)
    return str(value)


def _write_parquet(answer: DuckDBPyRelation, file: BinaryIO) -> None:
    import pyarrow as pa
    import pyarrow.parquet as pq

    table = answer.to_arrow_table()
    for index, field in enumerate(table.schema):
        if field.type == pa.decimal128(38, 0):  # a sum of integers
            table = table.set_column(index, field.name, table.column(index).cast(pa.int64()))
    pq.write_table(table, file)
