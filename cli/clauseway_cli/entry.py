"""Where the program begins: the command line, of which a check needs only its own command."""

from __future__ import annotations

import gc
import sys
from typing import NoReturn

import typer

from clauseway.text.problems import ClausewayError

BAD_INPUT = 2


def group() -> typer.Typer:
    """A command line without commands."""
    return typer.Typer(
        name="clauseway",
        help="Which codes govern an electrically locked door, what they ask of it, and from which clause.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )


def _commands() -> typer.Typer:
    """All commands; for a check, which is what is mostly asked, that one alone, since each takes time to make."""
    if sys.argv[1:2] != ["check"]:
        from clauseway_cli.app import app

        return app
    from clauseway_cli.check import register

    only = group()
    register(only)
    # With a callback of its own, a single command keeps its name.
    only.callback()(lambda: None)
    return only


def main() -> NoReturn:
    """Run the command line; every problem with an input ends in one message and status 2."""
    # What is read stays until the end: looking through it for what can be thrown away takes longer than a check.
    gc.set_threshold(200_000, 20, 20)
    try:
        _commands()()
    except ClausewayError as error:
        shown = error.problems[:12]
        for problem in shown:
            typer.echo(str(problem), err=True)
        if len(error.problems) > len(shown):
            typer.echo(f"... and {len(error.problems) - len(shown)} more", err=True)
        sys.exit(BAD_INPUT)
    sys.exit(0)
