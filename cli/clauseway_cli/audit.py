"""The commands of an auditor: trace a finding, write and verify records, see what rests on what."""

from __future__ import annotations

import json
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem

if TYPE_CHECKING:
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook
    from clauseway.text.source import Node


class TraceFormat(StrEnum):
    text = "text"
    json = "json"


File = Annotated[str, typer.Argument(help="A file of openings (YAML or JSON); demo is the one that ships.")]
Codes = Annotated[
    list[str] | None, typer.Option("--code", help="A code and edition, such as ibc@2021; may be repeated.")
]
Rules = Annotated[
    list[Path] | None, typer.Option("--rules", help="A folder of your own rules, on top of the shipped ones.")
]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="A layer of amendments by name; may be repeated, applied in order.")
]
Memory = Annotated[
    bool, typer.Option("--accept-memory", help="Let permissions excuse that nobody has verified.")
]
Day = Annotated[str, typer.Option("--on", help="The date of the answer, recorded in it.", metavar="YYYY-MM-DD")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("trace")(trace)


def _day(written: str) -> str:
    try:
        return date.fromisoformat(written).isoformat() if written else ""
    except ValueError:
        raise ClausewayError(Problem(NOWHERE, f"--on {written}", "a date such as 2026-05-01")) from None


def _rulebook_for(node: Node, code: list[str] | None, rules: list[Path] | None, layer: list[str] | None) -> Rulebook:
    from clauseway.case.open import codes_named_in
    from clauseway.law.library import load
    from clauseway.law.resolve import parse_code, resolve

    library = load(tuple(rules or ()))
    named = codes_named_in(node)
    if not code:
        for element in named:
            parse_code(element.text or "", library, element.place)
    codes = code or [element.text or "" for element in named]
    if not codes:
        raise ClausewayError(
            Problem(node.place, "it is not said which code governs", "--code, or codes: in the file; such as ibc@2021")
        )
    return resolve(library, codes, layer or ())


def _opened(
    file: str, code: list[str] | None, rules: list[Path] | None, layer: list[str] | None
) -> tuple[Rulebook, Project]:
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    node = read_openings(file)
    rulebook = _rulebook_for(node, code, rules, layer)
    return rulebook, read_project(node, rulebook.vocabulary)


def trace(
    file: File,
    opening: Annotated[str, typer.Argument(help="The opening, or a room, stair or other space with findings.")],
    finding: Annotated[str, typer.Argument(help="The finding, such as ibc.free-egress/always-free.")],
    subject: Annotated[str, typer.Argument(help="The lock or other subject, where several have the finding.")] = "",
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[TraceFormat, typer.Option("--format", help="How the trace is written.")] = TraceFormat.text,
    picture: Annotated[
        Path | None, typer.Option("--output", "-o", help="Write a picture (SVG) here; nothing is overwritten.")
    ] = None,
    depth: Annotated[int, typer.Option("--depth", min=0, help="How many levels to show; 0 shows all.")] = 0,
    accept_memory: Memory = False,
) -> None:
    """Walk from a finding down to the facts, values and clauses that it rests on."""
    from clauseway.answers.check import check
    from clauseway.answers.trace import findings_named
    from clauseway.answers.trace import trace as trace_of
    from clauseway.answers.trace_text import trace_data, trace_svg, trace_text

    rulebook, project = _opened(file, code, rules, layer)
    report = check(rulebook, project, accept_memory=accept_memory)
    found = findings_named(report, opening, finding, subject)
    trees = [trace_of(rulebook, project, each, accept_memory=accept_memory) for each in found]
    if picture is not None:
        from clauseway_cli.files import write_new

        if len(trees) > 1:
            names = ", ".join(f"{f.subject.path.rpartition('/')[2]}" for f in found)
            raise ClausewayError(Problem(NOWHERE, f"{len(trees)} findings of this name", f"one subject: {names}"))
        write_new(picture, trace_svg(trees[0], depth))
        typer.echo(f"{picture} written")
        return
    if output is TraceFormat.json:
        data = [trace_data(tree, depth) for tree in trees]
        typer.echo(json.dumps(data[0] if len(data) == 1 else data, ensure_ascii=False, indent=2))
    else:
        typer.echo("\n".join(trace_text(tree, depth) for tree in trees), nl=False)
