"""Say what was odd in the scores, and what was done about it.

Errors come first (such a score is not in the tables), then warnings, then notes; each with the
first bar and part where it was met and how often in that movement. It is the question `remarks`
without values. With --words: the words in the scores that were not understood, the most frequent
first (the question `words-not-understood`).
"""

from __future__ import annotations

from pathlib import Path

import click

from collaparte.commands import options
from collaparte.commands.ask import ask_and_print


@click.command("remarks", help=__doc__)
@click.option("--words", is_flag=True, help="The words in the scores that were not understood.")
@options.store
@options.output_format
@options.output_file
def command(words: bool, store: Path, output_format: str, output: Path | None) -> None:
    """Print the remarks."""
    question = "words-not-understood" if words else "remarks"
    ask_and_print(question, {}, store, output_format, output)
