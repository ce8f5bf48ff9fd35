"""Options that several commands share."""

from __future__ import annotations

from pathlib import Path

import click

import collaparte
from collaparte.console import FORMATS

store = click.option(
    "--store",
    type=click.Path(path_type=Path, file_okay=False),
    default=collaparte.DEFAULT_STORE,
    show_default=True,
    metavar="DIR",
    help="Folder of the store.",
)

output_format = click.option(
    "--format",
    "output_format",
    type=click.Choice(FORMATS),
    default="table",
    show_default=True,
    help="A table for the screen, or values as they are for other programs.",
)

output_file = click.option(
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write to this file instead of the screen; parquet needs it.",
)
