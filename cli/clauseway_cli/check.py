"""The command that checks files of openings. It loads what a check needs and no more, since it is the one most used."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.options import (
    Authorities,
    Choose,
    Codes,
    In,
    Known,
    Layers,
    Memory,
    On,
    Rules,
    Strict,
    Where,
    day,
    governing_for,
    known_site,
    rulebook_for,
    shelf_of,
)

if TYPE_CHECKING:
    from clauseway.answers.finding import Report
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook


MANY = 100
"""With more openings than these, somebody may wonder how long it takes."""


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
    from clauseway.answers.check import check as check_project
    from clauseway.answers.report import report_json
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    where = Where(place, day(on), day(known, "--known"), choose, tuple(authority or ()))
    if strict and accept_memory:
        raise ClausewayError(Problem(NOWHERE, "--strict and --accept-memory together", "one of them"))
    known_site(site)
    shelf = shelf_of(rules)
    reports = []
    for file in files:
        node = read_openings(file)
        found = governing_for(node, code, shelf, where, layer)
        for rulebook, told in [(each.rulebook, each.told) for each in found] or [
            (rulebook_for(node, code, shelf, layer, where), _as_it_is)
        ]:
            project = read_project(node, rulebook.vocabulary)
            openings_named(project, opening or ())
            only = tuple(opening or ())
            if only or len(project.of_kind("opening")) <= MANY:
                report = check_project(
                    rulebook, project, on=where.on, only=only, accept_memory=accept_memory, strict=strict
                )
            else:
                report = _check_many(rulebook, project, where.on, accept_memory, strict)
            reports.append(told(report))
    kept = None
    if waivers is not None:
        from clauseway.answers.waivers import read_waivers, under_current_names
        from clauseway.text.source import read_yaml

        kept = under_current_names(read_waivers(read_yaml(waivers)), shelf.library.aliases)
    if output is Format.json:
        typer.echo(report_json(reports, kept), nl=False)
    else:
        from clauseway_cli.text import report_text

        if kept is not None:
            from clauseway_cli.audit_text import waivers_text

            typer.echo(waivers_text(reports, kept), nl=False)
        typer.echo("\n".join(report_text(report, everything=show_all, site=site) for report in reports), nl=False)
    raise typer.Exit(_worst([report.status for report in reports]))


def _check_many(rulebook: Rulebook, project: Project, on: str, accept_memory: bool, strict: bool) -> Report:
    """The same report, while a bar on the terminal tells how far it has come."""
    from clauseway.answers.check import report_of
    from clauseway.answers.many import Work, made_of_each
    from clauseway_cli.progress import progress

    work = Work(rulebook, project, lambda answer: answer, accept_memory=accept_memory, strict=strict)
    with progress("Checking") as tell:
        answers = [each.of for each in made_of_each(work, processes=1, tell=tell)]
    return report_of(rulebook, project, answers, on=on, strict=strict)


def _as_it_is(report: Report) -> Report:
    return report


def _worst(statuses: list[int]) -> int:
    return next((status for status in (1, 3) if status in statuses), 0)
