"""`clauseway report`: answers for meetings, as a page, a table or issues for a building model."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, TypeVar

import typer

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_cli.asked import Where, day, known_site, rulebook_for, shelf_of
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules

if TYPE_CHECKING:
    from clauseway.answers.finding import Answer
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook
    from clauseway_reports.page import Part

T = TypeVar("T")
Bytes = Iterable[bytes]

KINDS = {
    ".html": "a page with everything",
    ".pdf": "the same on paper",
    ".csv": "every finding, a row each",
    ".json": "the report as check --format json writes it",
    ".bcfzip": "issues for a building model",
}


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("report")(report)


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
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    asked = Asked(output, since, matrix, bcf_version, site, day(on), accept_memory)
    shelf = shelf_of(rules)
    cases = []
    for file in files:
        node = read_openings(file)
        rulebook = rulebook_for(node, code, shelf, layer, Where(place, day(on), choose=choose))
        cases.append((rulebook, read_project(node, rulebook.vocabulary)))
    raise typer.Exit(write_report(cases, asked))


class Asked:
    """What report is asked for; refuses what cannot be written before anything is checked.

    Raises:
        ClausewayError: for another kind of file, one that is there already, and what does not go with the kind.
    """

    def __init__(
        self,
        output: Path,
        since: Path | None = None,
        matrix: bool = False,
        bcf_version: str = "3.0",
        site: str = "",
        on: str = "",
        accept_memory: bool = False,
    ) -> None:
        from clauseway_cli.files import refuse_existing

        known_site(site)
        self.output, self.matrix, self.bcf_version, self.site = output, matrix, bcf_version, site
        self.on, self.accept_memory = on, accept_memory
        self.ending = output.suffix.casefold()
        if self.ending not in KINDS:
            expected = ", ".join(f"{name} ({words})" for name, words in KINDS.items())
            raise ClausewayError(
                Problem(Place(str(output)), f"a file that ends in {self.ending or 'nothing'}", expected)
            )
        refuse_existing(output)
        self.before: dict[str, Any] | None = None
        if since is not None:
            from clauseway_cli.audit import record_of

            if self.ending not in (".html", ".pdf"):
                raise ClausewayError(Problem(Place(str(output)), "--changed-since", "with .html or .pdf"))
            self.before = record_of(since).report()
        if self.ending == ".bcfzip":
            from clauseway_reports.bcf import check_asked

            check_asked(bcf_version, on)


def write_report(cases: Iterable[tuple[Rulebook, Project]], asked: Asked) -> int:
    """Check each project against its rulebook, write the report on all of them, and say what they come to: a status."""
    from clauseway_cli.files import write_new_parts

    run = _Run(list(cases), asked)
    write_new_parts(asked.output, run.written())
    for (_, project), counts in zip(run.cases, run.counts, strict=True):
        typer.echo(f"{project.file}: " + ", ".join(f"{number} {verdict}" for verdict, number in sorted(counts.items())))
    typer.echo(f"{asked.output} is written.")
    return run.status


class _Run:
    """One report as it is made: door by door, so that what is found on one is gone when the next is looked at."""

    def __init__(self, cases: list[tuple[Rulebook, Project]], asked: Asked) -> None:
        self.cases, self.asked = cases, asked
        self.counts: list[Counter[str]] = [Counter() for _ in cases]
        self.status = 0

    def each(self, number: int, made: Callable[[Answer], T]) -> Iterator[tuple[str, T]]:
        """The kind of each thing of a project, and what is made of the answer on it."""
        from clauseway.answers.finding import status_of, worst
        from clauseway.answers.many import Work, made_of_each
        from clauseway_cli.progress import progress

        rulebook, project = self.cases[number]
        with progress("Checking") as tell:
            work = Work(rulebook, project, made, accept_memory=self.asked.accept_memory)
            for each in made_of_each(work, tell=tell):
                self.status = worst((self.status, status_of(each.verdict, each.works)))
                if each.kind == "opening":
                    self.counts[number][each.verdict] += 1
                yield each.kind, each.of

    def head(self, number: int) -> dict[str, Any]:
        """The report without its answers."""
        from clauseway.answers.check import report_of
        from clauseway.answers.report import report_data

        return report_data(report_of(*self.cases[number], [], on=self.asked.on))

    def written(self) -> Bytes:
        """The file, part by part."""
        kinds: Mapping[str, Callable[[], Bytes]] = {
            ".json": self.json,
            ".bcfzip": self.bcf,
            ".csv": self.matrix if self.asked.matrix else self.csv,
            ".html": self.html,
            ".pdf": self.pdf,
        }
        return kinds[self.asked.ending]()

    def json(self) -> Bytes:
        from clauseway.answers.report import answer_text, report_parts

        several = len(self.cases) > 1
        for number, (rulebook, _) in enumerate(self.cases):
            if several:
                yield b",\n  " if number else b"[\n  "
            answers = self.each(number, partial(answer_text, practice=rulebook.practice))
            for text in report_parts(self.head(number), answers):
                yield (text.replace("\n", "\n  ") if several else text).encode()
        yield b"\n]\n" if several else b"\n"

    def csv(self) -> Bytes:
        from clauseway.answers.report import CAUTION, answer_data
        from clauseway_reports.tables import FINDING_COLUMNS, csv_rows, findings_rows

        yield csv_rows([FINDING_COLUMNS]).encode()
        for number, (rulebook, _) in enumerate(self.cases):

            def rows(answer: Answer, practice: frozenset[str] = rulebook.practice) -> str:
                return csv_rows(findings_rows(answer_data(answer, practice))) if answer.kind == "opening" else ""

            for _, text in self.each(number, rows):
                yield text.encode()
        yield csv_rows([[CAUTION]]).encode()

    def matrix(self) -> Bytes:
        from clauseway.answers.report import answer_data
        from clauseway_reports.summary import Line, line_of
        from clauseway_reports.tables import arrangement_matrix, as_csv

        lines: list[Line] = []
        for number, (rulebook, _) in enumerate(self.cases):

            def line(answer: Answer, practice: frozenset[str] = rulebook.practice) -> Line:
                return line_of(answer_data(answer, practice))

            lines += [each for kind, each in self.each(number, line) if kind == "opening"]
        titles, rows = arrangement_matrix(lines)
        yield as_csv(["door", *titles], rows).encode()

    def bcf(self) -> Bytes:
        from clauseway.answers.report import answer_data
        from clauseway_reports.bcf import Topic, archive, topic_of

        topics: list[Topic] = []
        for number, (rulebook, project) in enumerate(self.cases):

            def topic(answer: Answer, rulebook: Rulebook = rulebook, project: Project = project) -> Topic | None:
                if answer.kind != "opening":
                    return None
                given = project.given(f"openings/{answer.id}", "model_id", "")
                source, model_id = (project.name, project.file), given.typed if given is not None else ""
                door = answer_data(answer, rulebook.practice)
                return topic_of(door, source, model_id, self.asked.bcf_version, self.asked.on)

            topics += [each for _, each in self.each(number, topic) if each is not None]
        yield archive(topics, self.asked.bcf_version)

    def html(self) -> Bytes:
        from clauseway_reports.page import page_of

        yield page_of(self.parts(), before=self.asked.before, site=self.asked.site).encode()

    def pdf(self) -> Bytes:
        from clauseway_reports.page import page_of
        from clauseway_reports.paper import pdf

        yield pdf(page_of(self.parts(), before=self.asked.before, site=self.asked.site, many=0))

    def parts(self) -> list[Part]:
        """What a page tells of each project."""
        from clauseway.answers.report import answer_data
        from clauseway_reports.door import Other, Shown, other, shown
        from clauseway_reports.page import Part
        from clauseway_reports.summary import storeys_of

        parts = []
        for number, (rulebook, project) in enumerate(self.cases):

            def told(answer: Answer, rulebook: Rulebook = rulebook) -> Shown | Other:
                data = answer_data(answer, rulebook.practice)
                return shown(data, self.asked.site) if answer.kind == "opening" else other(data)

            doors: list[Shown] = []
            others: list[Other] = []
            for _, each in self.each(number, told):
                if isinstance(each, Shown):
                    doors.append(each)
                else:
                    others.append(each)
            parts.append(Part(self.head(number), doors, others, storeys_of(project)))
        return parts
