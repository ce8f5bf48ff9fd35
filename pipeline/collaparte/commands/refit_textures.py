"""Fit the centres of the textures anew on a store, and tell how stable they are.

Nothing in the store changes: the textures of bars rest on frozen centres. Printed are the centres
fitted on the bars of this store, and how far labels agree (adjusted Rand index, 1 = wholly)
between fits on resampled movements and on halves of them, and when parameters change, notes are
lost or a line is lost; beside them the figures of a trial on 96 movements, and the goals.

Needs scikit-learn: pip install 'collaparte[textures]'.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

import collaparte
from collaparte import console
from collaparte.commands import options


@click.command("refit-textures", help=__doc__)
@click.option(
    "--pairs", type=click.IntRange(1), default=50, show_default=True,
    help="Pairs of resamples, and of halves.",
)  # fmt: skip
@click.option(
    "--draws", type=click.IntRange(1), default=5, show_default=True,
    help="Draws of changed parameters, of lost notes and of lost lines.",
)  # fmt: skip
@click.option("--each", is_flag=True, help="Also every parameter alone, 10% and 20% off.")
@options.store
def command(store: Path, pairs: int, draws: int, each: bool) -> None:
    """Fit, and print the centres and the stability."""
    from collaparte import refit
    from collaparte.settings import Settings

    answer, settings = collaparte.open(store).sql, Settings()
    tables = [
        refit.fitted_centres(answer, settings),
        refit.stability(answer, pairs, draws, settings),
    ]
    if each:
        tables.append(refit.parameters(answer, settings))
    for table in tables:
        console.print_rows(table.column_names, _rows(table))


def _rows(table: Any) -> list[list[Any]]:
    return [list(row.values()) for row in table.to_pylist()]
