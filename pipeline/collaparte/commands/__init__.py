"""The commands, one module each: its docstring is its help, its `command` is the command.

A module is loaded when its command or the list of commands is wanted, and the libraries of
tables only in the body of a command, so that `collaparte --help` is quick. All errors end here.
"""

from __future__ import annotations

import importlib
import os
import sys
from collections.abc import Sequence

import click

import collaparte
from collaparte import console
from collaparte.errors import CollaparteError, UsageError, did_you_mean

NAMES = (
    "build",
    "questions",
    "ask",
    "sql",
    "tables",
    "remarks",
    "compare",
    "similar",
    "audit",
    "refit-textures",
)
"""Every command, in the order in which people need them."""

EXIT_CODES = {
    UsageError: console.Exit.WRONG_USAGE,
    click.UsageError: console.Exit.WRONG_USAGE,
}
"""The exit code of every class of error; all others are faults of the program and say so."""


class Commands(click.Group):
    """The commands of `NAMES`, imported one by one."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """All names, in our order."""
        return list(NAMES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of one module."""
        if cmd_name not in NAMES:
            return None
        module = importlib.import_module(f"{__name__}.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that the first word names."""
        if not args[0].startswith("-") and args[0] not in NAMES:
            near = did_you_mean(args[0], NAMES) or "; collaparte --help lists them"
            raise UsageError(f"there is no command {args[0]}{near}")
        return super().resolve_command(ctx, args)


@click.group(cls=Commands, invoke_without_command=True, context_settings={"max_content_width": 100})
@click.version_option(collaparte.version, message="%(prog)s %(version)s")
@click.pass_context
def root(context: click.Context) -> None:
    """Orchestral scores as tables: who doubles whom, in which register, in which bars.

    Begin with `collaparte build`, then `collaparte ask low-winds-double-chorus`.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def run(arguments: Sequence[str]) -> int:
    """Run one command line; its exit code."""
    try:
        code = _invoke(list(arguments))
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever reads the answer has seen enough; what is left goes nowhere, also at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return console.Exit.DONE
    except (KeyboardInterrupt, click.Abort):
        console.say("stopped")
        return console.Exit.STOPPED
    except (CollaparteError, click.ClickException) as error:
        console.say(_one_line(error))
        kinds = (code for kind, code in EXIT_CODES.items() if isinstance(error, kind))
        return next(kinds, console.Exit.FAULT)
    return code


def _invoke(arguments: list[str]) -> int:
    """The command's own exit code; not by click's `main`, which would end the program itself."""
    try:
        with root.make_context("collaparte", arguments) as context:
            code: int | None = root.invoke(context)
    except click.exceptions.Exit as end:  # of --help and --version
        return end.exit_code
    return code or console.Exit.DONE


def _one_line(error: CollaparteError | click.ClickException) -> str:
    if not isinstance(error, click.UsageError):
        return " ".join(str(error).split())
    message = " ".join(error.format_message().split()).rstrip(".")
    command = error.ctx.command_path if error.ctx else "collaparte"
    return f"{message[:1].lower()}{message[1:]}; see {command} --help"
