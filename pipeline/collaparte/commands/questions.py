"""List the questions, or say all about one.

With NAME: whom the question is for, what its answer says, which values it takes, and the meaning
of every column.
"""

from __future__ import annotations

import click


@click.command("questions", help=__doc__)
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """Print the list, or one header."""
    from collaparte.questions import available, find

    if name is not None:
        question = find(name)
        click.echo(f"{question.name}\n\n{question.header.rstrip()}")
        return
    questions = available()
    width = max(len(question.name) for question in questions)
    for question in questions:
        click.echo(f"{question.name:{width}}  {question.title}")
