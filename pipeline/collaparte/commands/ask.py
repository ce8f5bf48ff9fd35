"""Ask one of the questions that `collaparte questions` lists.

Values are given with --with, once for each, for example --with confidence=guess;
`collaparte questions NAME` says what a question takes. On the screen shares stand as percent; in
csv, json and parquet they stay fractions of 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

import collaparte
from collaparte import console
from collaparte.commands import options

if TYPE_CHECKING:
    from collaparte.questions import Question


@click.command("ask", help=__doc__)
@click.argument("name")
@click.option("--with", "given", multiple=True, metavar="KEY=VALUE", help="A value to ask with.")
@options.store
@options.output_format
@options.output_file
def command(
    name: str, given: tuple[str, ...], store: Path, output_format: str, output: Path | None
) -> None:
    """Ask, and print the answer."""
    ask_and_print(name, _values(given), store, output_format, output)


def ask_and_print(
    name: str, values: Mapping[str, str], store: Path, output_format: str, output: Path | None
) -> None:
    """Ask a question and print its answer; on the screen with what its rates divide."""
    from collaparte.questions import find

    question = find(name)
    answer = collaparte.open(store).ask(name, **values)
    units = {column.name: column.unit for column in question.columns}
    on_screen = output_format == "table" and output is None
    shown = [column.name for column in question.columns if not (on_screen and column.detail)]
    console.print_answer(answer.select(*shown), output_format, output, units)
    if on_screen:
        _print_closing(question, shown)
        asked_for = {parameter.name for parameter in question.parameters} - set(values)
        if "every_movement" in asked_for and not answer.limit(1).fetchall():
            click.echo(_NOT_COUNTED)


_NOT_COUNTED = (
    "\nNo row does not mean never: only movements that count in statistics were looked at (the\n"
    "invented ones do not); --with every_movement=yes looks at all."
)


def _print_closing(question: Question, shown: Sequence[str]) -> None:
    """What the rates of the answer divide, and how many columns are not on the screen."""
    lines = [
        f"{rate.name} = {rate.numerator} ÷ {rate.denominator}"
        for rate in question.rates
        if rate.name in shown
    ]
    left = len(question.columns) - len(shown)
    if left:
        lines.append(f"{left} more columns with --format csv, json, markdown or parquet")
    if lines:
        click.echo("\n" + "\n".join(lines))


def _values(given: tuple[str, ...]) -> dict[str, str]:
    values = {}
    for text in given:
        key, equals, value = text.partition("=")
        if not equals:
            raise click.UsageError(f"--with {text}: write key=value", click.get_current_context())
        values[key.strip()] = value
    return values
