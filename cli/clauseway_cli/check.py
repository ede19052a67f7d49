"""The command that checks files of openings, as the command line shows it; `checking` does the work.

The options here are the whole truth on them; `plain` reads most command lines without this module.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from clauseway_cli.checking import Asked, checked
from clauseway_cli.options import Authorities, Choose, Codes, In, Known, Layers, Memory, On, Rules, Strict


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("check")(check)


class Format(StrEnum):
    text = "text"
    json = "json"


Files = Annotated[list[str], typer.Argument(help="Files of openings (YAML or JSON); demo is the one that ships.")]


def check(
    files: Files,
    code: Codes = None,
    place: In = "",
    on: On = "",
    known: Known = "",
    choose: Choose = "",
    authority: Authorities = None,
    rules: Rules = None,
    layer: Layers = None,
    opening: Annotated[list[str] | None, typer.Option("--opening", help="Only this opening; may be repeated.")] = None,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
    show_all: Annotated[bool, typer.Option("--all", help="Show all that is met as well.")] = False,
    accept_memory: Memory = False,
    strict: Strict = False,
    waivers: Annotated[
        Path | None, typer.Option("--waivers", help="A file of waivers, shown on top of the verdicts.")
    ] = None,
    site: Annotated[
        str, typer.Option("--site", help="Where a built site is: findings in text name their pages there.")
    ] = "",
) -> None:
    """Check described openings. Status: 0 no violation, 1 something fails, 3 something is open, 2 bad input."""
    asked = Asked(
        tuple(files),
        code=tuple(code or ()),
        place=place,
        on=on,
        known=known,
        choose=choose,
        authority=tuple(authority or ()),
        rules=tuple(rules or ()),
        layer=tuple(layer or ()),
        opening=tuple(opening or ()),
        as_json=output is Format.json,
        show_all=show_all,
        accept_memory=accept_memory,
        strict=strict,
        waivers=waivers,
        site=site,
    )
    text, status = checked(asked)
    typer.echo(text, nl=False)
    raise typer.Exit(status)
