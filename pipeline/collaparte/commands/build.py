"""Read scores and write their tables.

SOURCE is a manifest (corpus_manifest.yaml), one score, or a folder of scores (.musicxml, .xml,
.mxl). Without it the corpus_manifest.yaml of the current folder is taken, else the one that came
with collaparte.

A score that cannot be read does not stop the others: `collaparte remarks` says what was wrong,
and the exit code is then 3.
"""

from __future__ import annotations

import os
from pathlib import Path

import click

import collaparte
from collaparte import console
from collaparte.commands import options


@click.command("build", help=__doc__)
@click.argument("source", required=False, type=click.Path(path_type=Path))
@options.store
@click.option(
    "--workers",
    type=click.IntRange(min=1),
    metavar="N",
    help="Scores to read at a time; one for each processor when left out.",
)
@click.option(
    "--chance",
    is_flag=True,
    help="Also what doublings chance would give; takes longer than all the rest.",
)
@click.option(
    "--registers",
    metavar="SCHEME",
    default="default",
    help="Scheme of registers, taken for the instruments that have it.",
)
def command(
    source: Path | None, store: Path, workers: int | None, chance: bool, registers: str
) -> int:
    """Build, and say what came of it."""
    processes = workers or os.cpu_count() or 1
    with console.progress("movements") as progress:
        summary = collaparte.build(source, store, processes, progress, chance, registers)
    click.echo(str(summary))
    if not summary.failed:
        return console.Exit.DONE
    console.say("some scores could not be read; collaparte remarks says why")
    return console.Exit.SOME_SCORES_FAILED
