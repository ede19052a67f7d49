"""The commands of an installer: the sheets of an opening, and measured values read back in."""

from __future__ import annotations

import json
import textwrap
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import Place
from clauseway_cli.asked import Where, day, governing_for, rulebook_for, shelf_of
from clauseway_cli.description import description_text
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules

if TYPE_CHECKING:
    from clauseway.answers.under import Under
    from clauseway.handover.results import Measurements
    from clauseway.law.rulebook import Rulebook
    from clauseway.text.source import Node

File = Annotated[str, typer.Argument(help="A file of openings (YAML or JSON); demo is the one that ships.")]


class Written(StrEnum):
    md = "md"
    html = "html"
    json = "json"
    csv = "csv"


class Format(StrEnum):
    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("handover")(handover)
    app.command("measured")(measured)


def handover(
    file: File,
    opening: Annotated[str, typer.Argument(help="The opening.")],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    arrangement: Annotated[
        str,
        typer.Option("--arrangement", help="Meant for locks that are not meant as anything yet; the rest is proposed."),
    ] = "",
    written: Annotated[
        Written, typer.Option("--format", help="md, html or json; csv is the acceptance test alone, to fill in.")
    ] = Written.md,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The file to write; nothing is overwritten.")
    ] = None,
    accept_memory: Memory = False,
) -> None:
    """What the installer of an opening takes away: devices, sequence, signs, acceptance test, inspection list."""
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.handover.build import handover_of
    from clauseway.handover.data import handover_data
    from clauseway_cli.files import write_new
    from clauseway_cli.handover_page import page_of
    from clauseway_cli.handover_write import form, html, markdown

    node = read_openings(file)
    rulebook, law = _law(node, code, rules, layer, Where(place, day(on), choose=choose))
    project = read_project(node, rulebook.vocabulary)
    (door,) = openings_named(project, [opening], Place(file))
    if arrangement:
        from clauseway.handover.chosen import with_arrangement

        project = with_arrangement(rulebook, project, door.path, arrangement, accept_memory=accept_memory)
    found = handover_of(rulebook, project, door.path, accept_memory=accept_memory)
    if written is Written.json:
        text = json.dumps(handover_data(found, rulebook, project.name, law), ensure_ascii=False, indent=2) + "\n"
    elif written is Written.csv:
        text = form(found)
    else:
        write = html if written is Written.html else markdown
        text = write(page_of(found, rulebook, project.name, law))
    if output is None:
        typer.echo(text, nl=False)
        return
    write_new(output, text)
    typer.echo(
        f"{output} is written: {len(found.acceptance)} steps of acceptance, {len(found.not_known)} not known yet."
    )


def measured(
    file: File,
    results: Annotated[Path, typer.Argument(help="The filled-in acceptance test: YAML, JSON or CSV.")],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="The description with the measured facts; may be FILE itself."),
    ] = None,
    written: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
    accept_memory: Memory = False,
) -> None:
    """Read measured values back in as facts, each with its verdict; comments of the description are not kept.

    Status: 0 all steps measured and met and no violation, 1 something fails, 3 something is open, 2 bad input.
    """
    from clauseway.case.open import read_openings
    from clauseway.handover.data import measured_data
    from clauseway.handover.results import measure
    from clauseway.handover.results_in import read_results

    node = read_openings(file)
    rulebook, _ = _law(node, code, rules, layer, Where(place, day(on), choose=choose))
    found = measure(rulebook, node, read_results(results), accept_memory=accept_memory)
    if output is not None:
        from clauseway_cli.files import write_over

        write_over(output, description_text(found.data, output))
    if written is Format.json:
        typer.echo(json.dumps(measured_data(found, rulebook), ensure_ascii=False, indent=2))
    else:
        typer.echo(_text(found, output), nl=False)
    raise typer.Exit(found.status)


def _law(
    node: Node, code: list[str] | None, rules: list[Path] | None, layer: list[str] | None, where: Where
) -> tuple[Rulebook, Under | None]:
    """The rulebook that governs, and what it comes from where a place is named."""
    from clauseway.answers.governing import the_only

    shelf = shelf_of(rules)
    found = governing_for(node, code, shelf, where, layer)
    if not found:
        return rulebook_for(node, code, shelf, layer), None
    only = the_only(found, where.choose)
    return only.rulebook, only.under


def _text(found: Measurements, output: Path | None) -> str:
    from clauseway.answers.report import CAUTION
    from clauseway_cli.text import WIDTH

    marks = {"met": "met", "unmet": "NOT MET", "undetermined": "not decided"}
    lines = [f"{found.opening}: {len(found.readings)} values read back"]
    for reading in found.readings:
        said = f"{reading.step.id}: {reading.value}; accepted: {reading.step.accepted.words}: {marks[reading.verdict]}"
        lines += textwrap.wrap(said, WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False)
        if reading.verdict != "met":
            for says in reading.says:
                lines += textwrap.wrap(says, WIDTH, initial_indent="      ", subsequent_indent="      ")
    if found.not_measured:
        lines.append(f"Not measured yet: {len(found.not_measured)} steps, which stay open")
        for step in found.not_measured:
            said = f"{step.id}: accepted: {step.accepted.words}"
            lines += textwrap.wrap(said, WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False)
    lines.append(f"As described the opening was: {found.before}; as measured it is: {found.after}.")
    lines.append(f"{output} is written." if output is not None else "Nothing is written: name a file with -o.")
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDTH)]) + "\n"
