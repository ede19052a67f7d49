"""`clauseway report`: answers for meetings, as a page, a table or issues for a building model."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated
from urllib.parse import urlsplit

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules, Where, day, rulebook_for, shelf_of

if TYPE_CHECKING:
    from clauseway.answers.finding import Report
    from clauseway.case.things import Project
    from clauseway.law.shelf import Shelf

KINDS = {
    ".html": "a page with everything",
    ".pdf": "the same on paper",
    ".csv": "every finding, a row each",
    ".json": "the report as check --format json writes it",
    ".bcfzip": "issues for a building model",
}


def report(
    files: Annotated[list[str], typer.Argument(help="Files of openings; demo is the one that ships.")],
    output: Annotated[
        Path, typer.Option("--output", "-o", help="The file to write: .html, .pdf, .csv, .json, .bcfzip.")
    ],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    accept_memory: Memory = False,
    since: Annotated[
        Path | None, typer.Option("--changed-since", help="A record; the page shows what is not as it was.")
    ] = None,
    site: Annotated[
        str, typer.Option("--site", help="Where a built site is: the findings of a page link to theirs there.")
    ] = "",
    bcf_version: Annotated[str, typer.Option("--bcf-version", help="As .bcfzip: 2.1 or 3.0.")] = "3.0",
    matrix: Annotated[bool, typer.Option("--matrix", help="As .csv: doors by arrangement, not findings.")] = False,
) -> None:
    """Write a report for people. Status as for check."""
    _known_address(site)
    ending = output.suffix.casefold()
    if ending not in KINDS:
        expected = ", ".join(f"{name} ({words})" for name, words in KINDS.items())
        raise ClausewayError(Problem(Place(str(output)), f"a file that ends in {ending or 'nothing'}", expected))
    where = Where(place, day(on), choose=choose)
    shelf = shelf_of(rules)
    answered = [_answered(file, code, shelf, layer, where, accept_memory) for file in files]
    text = _text(answered, ending, since, matrix, bcf_version, site)
    from clauseway_cli.files import write_new_bytes

    write_new_bytes(output, text)
    for made, _ in answered:
        counts: dict[str, int] = {}
        for answer in made.answers:
            if answer.kind == "opening":
                counts[answer.verdict] = counts.get(answer.verdict, 0) + 1
        typer.echo(f"{made.file}: " + ", ".join(f"{number} {verdict}" for verdict, number in sorted(counts.items())))
    typer.echo(f"{output} is written.")
    statuses = [made.status for made, _ in answered]
    raise typer.Exit(next((status for status in (1, 3) if status in statuses), 0))


def _answered(
    file: str, code: list[str] | None, shelf: Shelf, layer: list[str] | None, where: Where, accept_memory: bool
) -> tuple[Report, Project]:
    from clauseway.answers.check import check
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    node = read_openings(file)
    rulebook = rulebook_for(node, code, shelf, layer, where)
    project = read_project(node, rulebook.vocabulary)
    return check(rulebook, project, on=where.on, accept_memory=accept_memory), project


def _known_address(site: str) -> None:
    """Refuse an address that a browser would run."""
    scheme = urlsplit(site).scheme
    if scheme not in ("", "http", "https", "file"):
        raise ClausewayError(Problem(NOWHERE, f"--site {site}", "a folder, or an address that begins with https://"))


def _text(
    answered: list[tuple[Report, Project]], ending: str, since: Path | None, matrix: bool, bcf: str, site: str
) -> bytes:
    from clauseway.answers.report import report_data, report_json
    from clauseway_reports.summary import storeys_of
    from clauseway_reports.tables import FINDING_COLUMNS, arrangement_matrix, as_csv, findings_table

    if ending == ".json":
        return report_json([made for made, _ in answered]).encode()
    data = [(report_data(made), storeys_of(project)) for made, project in answered]
    if ending == ".bcfzip":
        from clauseway_reports.bcf import bcf as issues

        ids = {
            thing.id: given.typed
            for _, project in answered
            for thing in project.of_kind("opening")
            if (given := project.given(thing.path, "model_id", "")) is not None
        }
        return issues([each for each, _ in data], ids, bcf, answered[0][0].on)
    if ending == ".csv":
        if matrix:
            titles, rows = arrangement_matrix(data[0][0])
            return as_csv(["door", *titles], rows).encode()
        return as_csv(FINDING_COLUMNS, [row for each, _ in data for row in findings_table(each)]).encode()
    before = None
    if since is not None:
        from clauseway_cli.audit import record_of

        before = record_of(since).report()
    from clauseway_reports.page import page

    shown = page(data, before=before, site=site)
    if ending == ".pdf":
        from clauseway_reports.paper import pdf

        return pdf(shown)
    return shown.encode()
