"""Where the program begins: a command needs only its own part of the command line, and a check mostly not even that."""

from __future__ import annotations

import gc
import os
import sys
from typing import TYPE_CHECKING, NoReturn

from clauseway.text.problems import ClausewayError
from clauseway_cli.say import say

if TYPE_CHECKING:
    import typer

    from clauseway_cli.checking import Asked

BAD_INPUT = 2
STOPPED = 130
NOBODY_READS = 1


def group() -> typer.Typer:
    """A command line without commands."""
    import typer

    return typer.Typer(
        name="clauseway",
        help="Which codes govern an electrically locked door, what they ask of it, and from which clause.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )


def only(module: str) -> typer.Typer:
    """A command line with the commands of one module."""
    from clauseway_cli.commands import register

    made = group()
    register(made, module)
    # With a callback of its own, a single command keeps its name.
    made.callback()(lambda: None)
    return made


def main() -> NoReturn:
    """Run the command line; every problem with an input ends in one message and status 2."""
    # What is read stays until the end: looking through it for what can be thrown away takes longer than a check.
    gc.set_threshold(200_000, 20, 20)
    try:
        sys.exit(_run())
    except ClausewayError as error:
        shown = error.problems[:12]
        told = [str(problem) for problem in shown]
        if len(error.problems) > len(shown):
            told.append(f"... and {len(error.problems) - len(shown)} more")
        say("".join(f"{line}\n" for line in told), err=True)
        sys.exit(BAD_INPUT)


def _run() -> int:
    command = sys.argv[1] if len(sys.argv) > 1 else ""
    if command == "check":
        from clauseway_cli.plain import plain

        asked = plain(sys.argv[2:])
        if asked is not None:
            return _check(asked)
    from clauseway_cli.commands import module_of

    module = module_of(command)
    if module is not None:
        only(module)()
        return 0
    from clauseway_cli.app import app

    app()
    return 0


def _check(asked: Asked) -> int:
    """The status of a check whose answer is printed; stopped and unread as the command line proper ends."""
    from clauseway_cli.checking import checked

    try:
        text, status = checked(asked)
        say(text)
    except KeyboardInterrupt:
        return STOPPED
    except BrokenPipeError:
        # What is still to be written would fail once more at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return NOBODY_READS
    # Nor is it looked through at the end.
    gc.freeze()
    return status
