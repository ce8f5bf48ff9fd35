"""Ask one of the questions that `collaparte questions` lists.

Values are given with --with, once for each, for example --with confidence=guess;
`collaparte questions NAME` says what a question takes. On the screen shares stand as percent; in
csv, json and parquet they stay fractions of 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import click

import collaparte
from collaparte import console
from collaparte.commands import options


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
    console.print_answer(answer, output_format, output, units)
    if output_format == "table" and output is None and question.rates:
        rates = (f"{rate.name} = {rate.numerator} ÷ {rate.denominator}" for rate in question.rates)
        click.echo("\n" + "\n".join(rates))


def _values(given: tuple[str, ...]) -> dict[str, str]:
    values = {}
    for text in given:
        key, equals, value = text.partition("=")
        if not equals:
            raise click.UsageError(f"--with {text}: write key=value", click.get_current_context())
        values[key.strip()] = value
    return values
