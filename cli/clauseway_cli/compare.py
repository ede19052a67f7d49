"""`clauseway compare`: what differs between two laws, and which doors answer otherwise."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer

from clauseway_cli.asked import library_of
from clauseway_cli.options import Memory, Rules


class Format(StrEnum):
    text = "text"
    json = "json"


SIDE = "ibc@2021, ibc@2021,ada@2010, US-CA@2024-05-01, US-MA/cmr-10@2025-01-01; each with +LAYER for a draft on top"


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("compare")(compare)


def compare(
    a: Annotated[str, typer.Argument(metavar="A", help=f"What is compared: {SIDE}.")],
    b: Annotated[str, typer.Argument(metavar="B", help="What it is compared with, written alike.")],
    files: Annotated[
        list[str] | None, typer.Argument(metavar="[FILE]...", help="Openings, to see which change.")
    ] = None,
    only: Annotated[str, typer.Option("--only", help="Only what belongs to this provision.")] = "",
    full: Annotated[bool, typer.Option("--full", help="Write long conditions out in full.")] = False,
    rules: Rules = None,
    accept_memory: Memory = False,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """Compare two editions, jurisdictions, dates, or a law before and after a draft: what differs, and for which doors.

    Status: 0 the same, 1 something differs (with files: a verdict changes), 2 bad input.
    """
    from clauseway.answers.compared import compared, compared_data
    from clauseway.case.open import read_openings
    from clauseway_cli.compare_text import contrast_text, swings_text

    opened = [(file, read_openings(file)) for file in files or ()]
    made = compared(library_of(rules), a, b, opened, only=only, accept_memory=accept_memory)
    if output is Format.json:
        typer.echo(json.dumps(compared_data(made), ensure_ascii=False, indent=2))
    else:
        doors = [swings_text(file, each, full=full) for file, each in made.doors]
        typer.echo("\n".join([contrast_text(a, b, made.shown, full=full), *doors]), nl=False)
    raise typer.Exit(made.status)
