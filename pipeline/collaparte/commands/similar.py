"""Find the passages of other works that are most like one passage.

BARS is one bar or the first and the last as printed, for example 12-20. Passages from half to
twice as long are looked at. They are compared by sixteen measures of their bars over time (the six
measures of texture, pace, fullness, spread, height, weight and colour) and by the melody of the
line that leads.

Each row: where the passage is; its distance, 0 (alike in all) to 1; the share of the melody that
some line plays there at any height, and at its own; the three measures that are nearest and the
two that are farthest, each with its mean there and, in brackets, in the passage asked for.
"""

from __future__ import annotations

from pathlib import Path

import click

import collaparte
from collaparte import console
from collaparte.commands import options

_UNITS = {"melody": "share", "melody_at_pitch": "share"}


@click.command("similar", help=__doc__)
@click.argument("movement")
@click.argument("bars")
@click.option(
    "--rows", type=click.IntRange(min=1), default=10, show_default=True, help="Passages at most."
)
@options.store
@options.output_format
@options.output_file
def command(
    movement: str, bars: str, rows: int, store: Path, output_format: str, output: Path | None
) -> None:
    """Search, and print what was found."""
    answer = collaparte.open(store).similar(movement, bars, rows)
    console.print_answer(answer, output_format, output, _UNITS)
