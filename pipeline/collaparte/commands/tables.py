"""List the tables, or say what every column of one means.

With NAME: each column of that table with its type, its unit and its meaning. These are the
tables of every store; `collaparte sql` asks them.
"""

from __future__ import annotations

import click

from collaparte import console
from collaparte.errors import UsageError, did_you_mean


@click.command("tables", help=__doc__)
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """Print the list, or one table's columns."""
    from collaparte.schema import TABLES
    from collaparte.schema.page import list_of_columns, list_of_tables

    if name is None:
        console.print_rows(("table", "one row is"), list_of_tables())
        return
    if name not in TABLES:
        near = did_you_mean(name, TABLES) or "; `collaparte tables` lists them"
        raise UsageError(f"there is no table {name}{near}")
    click.echo(f"One row of {name} is {TABLES[name].row}.\n")
    console.print_rows(("column", "type", "unit", "meaning"), list_of_columns(TABLES[name]))
