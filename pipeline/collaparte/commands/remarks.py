"""Say what was odd in the scores, and what was done about it.

Errors come first (such a score is not in the tables), then warnings, then notes; each with the
first bar and part where it was met and how often in that movement. It is the question `remarks`
without values.
"""

from __future__ import annotations

from pathlib import Path

import click

from collaparte.commands import options
from collaparte.commands.ask import ask_and_print


@click.command("remarks", help=__doc__)
@options.store
@options.output_format
@options.output_file
def command(store: Path, output_format: str, output: Path | None) -> None:
    """Print the remarks."""
    ask_and_print("remarks", {}, store, output_format, output)
