"""The commands of a designer: what an opening needs, and the least change after which it complies."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer

from clauseway_cli.asked import Where, day, rulebook_for, shelf_of
from clauseway_cli.interview import interview
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules

File = Annotated[str, typer.Argument(help="A file of openings (YAML or JSON); demo is the one that ships.")]
Opening = Annotated[str, typer.Argument(help="The opening; all of the file when left out.")]


class Format(StrEnum):
    text = "text"
    json = "json"


Output = Annotated[Format, typer.Option("--format", help="How the answer is written.")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("needs")(needs)
    app.command("repair")(repair)
    app.command("interview")(interview)


def needs(
    file: File,
    opening: Opening = "",
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    arrangement: Annotated[
        str, typer.Option("--arrangement", help="Only this arrangement, such as sensor-release, in full.")
    ] = "",
    output: Output = Format.text,
    show_all: Annotated[
        bool, typer.Option("--all", help="Show what is satisfied and what is refused as well.")
    ] = False,
    accept_memory: Memory = False,
) -> None:
    """Which locking arrangements are open to an opening, and what each has to be built to."""
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.design.data import needs_data
    from clauseway.design.needs import needs as needs_of
    from clauseway_cli.design_text import needs_text

    node = read_openings(file)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, Where(place, day(on), choose=choose))
    project = read_project(node, rulebook.vocabulary)
    paths = [thing.path for thing in openings_named(project, [opening] if opening else [])]
    found = [needs_of(rulebook, project, path, accept_memory=accept_memory, only=arrangement) for path in paths]
    if output is Format.json:
        data = [needs_data(each, rulebook) for each in found]
        typer.echo(json.dumps(data[0] if len(data) == 1 else data, ensure_ascii=False, indent=2))
    else:
        typer.echo(needs_text(found, rulebook, everything=show_all or bool(arrangement)), nl=False)


def repair(
    file: File,
    opening: Opening = "",
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    most: Annotated[int, typer.Option("--most", min=1, max=9, help="How many designs to show.")] = 3,
    output: Output = Format.text,
    accept_memory: Memory = False,
) -> None:
    """The least changes of what a designer chooses after which an opening complies, or what stands in their way."""
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.design.data import repair_data
    from clauseway.design.repair import least_changes
    from clauseway_cli.design_text import repair_text

    node = read_openings(file)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, Where(place, day(on), choose=choose))
    project = read_project(node, rulebook.vocabulary)
    paths = [thing.path for thing in openings_named(project, [opening] if opening else [])]
    found = [least_changes(rulebook, project, path, most=most, accept_memory=accept_memory) for path in paths]
    if output is Format.json:
        data = [repair_data(each, rulebook) for each in found]
        typer.echo(json.dumps(data[0] if len(data) == 1 else data, ensure_ascii=False, indent=2))
    else:
        typer.echo(repair_text(found, rulebook, project), nl=False)
    raise typer.Exit(0 if all(each.designs for each in found) else 1)
