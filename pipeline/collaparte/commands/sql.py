"""Ask the tables in SQL: one SELECT statement.

`collaparte tables` lists the tables. The statement can read them and nothing else; it may take
30 seconds and 4 GB of memory.
"""

from __future__ import annotations

from pathlib import Path

import click

import collaparte
from collaparte import console
from collaparte.commands import options


@click.command("sql", help=__doc__)
@click.argument("statement")
@options.store
@options.output_format
@options.output_file
def command(statement: str, store: Path, output_format: str, output: Path | None) -> None:
    """Ask, and print the answer."""
    answer = collaparte.open(store).sql(statement)
    console.print_answer(answer, output_format, output)
