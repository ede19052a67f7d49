"""What the command `check` does. It knows no command line and loads what a check needs and no more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import Where, day, governing_for, known_site, rulebook_for, shelf_of

if TYPE_CHECKING:
    from pathlib import Path

    from clauseway.answers.finding import Report
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook

MANY = 100
"""With more openings than these, somebody may wonder how long it takes."""


@dataclass(frozen=True)
class Asked:
    """What a command line asks of a check, as it is written there."""

    files: tuple[str, ...]
    code: tuple[str, ...] = ()
    place: str = ""
    on: str = ""
    known: str = ""
    choose: str = ""
    authority: tuple[str, ...] = ()
    rules: tuple[Path, ...] = ()
    layer: tuple[str, ...] = ()
    opening: tuple[str, ...] = ()
    as_json: bool = False
    show_all: bool = False
    accept_memory: bool = False
    strict: bool = False
    waivers: Path | None = None
    site: str = ""


def checked(asked: Asked) -> tuple[str, int]:
    """What to print, and the status: 0 no violation, 1 something fails, 3 something is open.

    Raises:
        ClausewayError: for all that is wrong with what is asked, with the files or with the rules.
    """
    from clauseway.answers.check import check as check_project
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    where = Where(asked.place, day(asked.on), day(asked.known, "--known"), asked.choose, asked.authority)
    if asked.strict and asked.accept_memory:
        raise ClausewayError(Problem(NOWHERE, "--strict and --accept-memory together", "one of them"))
    known_site(asked.site)
    shelf = shelf_of(list(asked.rules))
    code, layer = list(asked.code), list(asked.layer)
    reports = []
    for file in asked.files:
        node = read_openings(file)
        found = governing_for(node, code, shelf, where, layer)
        for rulebook, told in [(each.rulebook, each.told) for each in found] or [
            (rulebook_for(node, code, shelf, layer, where), _as_it_is)
        ]:
            project = read_project(node, rulebook.vocabulary)
            openings_named(project, asked.opening)
            if asked.opening or len(project.of_kind("opening")) <= MANY:
                report = check_project(
                    rulebook,
                    project,
                    on=where.on,
                    only=asked.opening,
                    accept_memory=asked.accept_memory,
                    strict=asked.strict,
                )
            else:
                report = _check_many(rulebook, project, where.on, asked.accept_memory, asked.strict)
            reports.append(told(report))
    kept = None
    if asked.waivers is not None:
        from clauseway.answers.waivers import read_waivers, under_current_names
        from clauseway.text.source import read_yaml

        kept = under_current_names(read_waivers(read_yaml(asked.waivers)), shelf.library.aliases)
    status = _worst([report.status for report in reports])
    if asked.as_json:
        from clauseway.answers.report import report_json

        return report_json(reports, kept), status
    from clauseway_cli.text import report_text

    text = "\n".join(report_text(report, everything=asked.show_all, site=asked.site) for report in reports)
    if kept is None:
        return text, status
    from clauseway_cli.audit_text import waivers_text

    return waivers_text(reports, kept) + text, status


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
