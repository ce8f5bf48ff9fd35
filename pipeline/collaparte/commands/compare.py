"""Compare how often one instrument doubles another, between groups of works.

LINE and PARTNER are instruments (oboe; a generic one such as clarinet or horn stands for its sizes
and keys), subfamilies (horns), families (woodwind) or chorus. Several partners, with commas
between them, are tested as one family.

Each rate stands with its bootstrap interval over works; a contrast between two groups needs five
works on each side and is refused with a word of reason otherwise. Below the tables stands the
paragraph for a paper. In csv, json and parquet there is one table with every column.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

import collaparte
from collaparte import console
from collaparte.commands import options


@click.command("compare", help=__doc__)
@click.argument("line")
@click.argument("partner")
@click.option(
    "--by",
    default="composer",
    show_default=True,
    help="Group works by composer, work, decade, collection, encoder, or take the corpus as one.",
)
@click.option(
    "--strict/--inclusive",
    default=True,
    help="Count the doublings of the strict thresholds (default), or all.",
)
@click.option(
    "--kinds",
    default="unison,octave",
    show_default=True,
    help="Kinds of doubling, with commas between them.",
)
@click.option("--against", metavar="GROUP", help="Set all others against this group.")
@click.option("--collection", help="Keep to one collection.")
@click.option("--encoder", help="Keep to one encoder.")
@click.option(
    "--every-movement",
    is_flag=True,
    help="Take those too that do not count, or whose scoring is known to be incomplete.",
)
@click.option("--half", help="Keep to the half of the works that is there to explore or confirm.")
@click.option("--seed", type=int, help="Another seed for resampling, permutation and halves.")
@options.store
@options.output_format
@options.output_file
def command(
    line: str,
    partner: str,
    kinds: str,
    store: Path,
    output_format: str,
    output: Path | None,
    **choices: Any,
) -> None:
    """Compare, and print the tables and the method."""
    found = collaparte.open(store).compare(line, _words(partner), kinds=_words(kinds), **choices)
    if output_format in ("table", "markdown"):
        console.print_sections(found.sections(), found.method, output_format, output)
    else:
        console.print_answer(found.table, output_format, output)


def _words(text: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in text.split(",") if word.strip())
