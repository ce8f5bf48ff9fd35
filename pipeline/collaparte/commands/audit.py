"""Check the doublings by hand: write a sheet to be coded, or score one that was.

Without --score a sheet of pair-bars (a bar in which two lines sound together) goes to the screen
or to --output as CSV: half with a detected doubling, half without, by strata. Hide the columns
from `detected` on; then one coder or two, each alone and with the score before them, write yes in
their column where the two lines go together in that bar (at the unison, in octaves, in main notes,
as chords, in parallel thirds or sixths), else no.

With --score: precision, recall weighted by the inverse of the sampling rates, Wilson intervals,
and the coders' agreement (Cohen's kappa).
"""

from __future__ import annotations

from pathlib import Path

import click

import collaparte
from collaparte import console
from collaparte.commands import options
from collaparte.errors import UsageError


@click.command("audit", help=__doc__)
@click.argument("what", type=click.Choice(["doublings"]))
@click.option(
    "--sample",
    type=click.IntRange(min=2),
    default=120,
    show_default=True,
    help="Pair-bars on the sheet.",
)
@click.option("--seed", type=int, help="Another seed draws another sheet.")
@click.option(
    "--score",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="A coded sheet, to be scored.",
)
@options.store
@options.output_format
@options.output_file
def command(
    what: str,
    sample: int,
    seed: int | None,
    score: Path | None,
    store: Path,
    output_format: str,
    output: Path | None,
) -> None:
    """Write a sheet, or score one."""
    if score is None:
        console.print_answer(collaparte.open(store).audit(sample, seed), "csv", output)
        return
    from collaparte.audit import score as score_of
    from collaparte.settings import Settings

    try:
        text = score.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise UsageError(f"{score} cannot be read: {error.strerror or error}") from None
    except UnicodeDecodeError:
        raise UsageError(f"{score} is no text in UTF-8") from None
    console.print_answer(score_of(text, Settings().confidence), output_format, output)
