"""`clauseway compute project`: a calculation sheet of every door and supply of a project."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

import typer

from clauseway.answers.sheet_data import NOTE, as_json
from clauseway.text.problems import NOWHERE, ClausewayError, Problem

if TYPE_CHECKING:
    from clauseway.answers.project_sheet import Item, Page, ProjectSheet

_WIDTH = 80
_WORKS = {"yes": "works", "no": "DOES NOT WORK", "undetermined": "not known yet", "not-described": "not described"}
_MARKS = {"met": "sound", "unmet": "NOT", "undetermined": "not known", "computed": ""}


def answer_project(files: list[str], openings: list[str], *, as_data: bool) -> None:
    """Print the sheets of some files; only the practice that ships, no code, is asked."""
    from clauseway.answers.project_sheet import project_sheet
    from clauseway.answers.project_sheet_data import sheet_data
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.law.library import load
    from clauseway.law.resolve import resolve
    from clauseway.law.rulebook import PRACTICE

    if not files:
        raise ClausewayError(Problem(NOWHERE, "no file", "clauseway compute project FILE; demo is the one that ships"))
    library = load()
    practice = [f"{code.id}@{code.editions[-1]}" for code in library.codes.values() if code.force == PRACTICE]
    rulebook = resolve(library, practice)
    sheets = []
    for file in files:
        node = read_openings(file)
        project = read_project(node, rulebook.vocabulary)
        openings_named(project, openings, node.place)
        sheets.append(project_sheet(rulebook, project, openings))
    if as_data:
        data = [sheet_data(sheet) for sheet in sheets]
        typer.echo(as_json(data[0] if len(data) == 1 else data), nl=False)
    else:
        typer.echo("\n".join(sheet_text(sheet) for sheet in sheets), nl=False)


# --- text -------------------------------------------------------------------------------------------------


def sheet_text(sheet: ProjectSheet) -> str:
    """The sheet for reading."""
    lines = [sheet.project, *_wrapped(NOTE, 0)]
    for page in sheet.pages:
        lines += ["", *_page(page)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _page(page: Page) -> Iterator[str]:
    name = page.id if page.kind == "opening" else f"{page.kind} {page.id}"
    head, mark = f"{name}  {page.title}".rstrip(), _WORKS[page.works]
    if len(head) + len(mark) + 2 <= _WIDTH:
        yield head + mark.rjust(_WIDTH - len(head))
    else:
        yield from _wrapped(head, 0)
        yield mark.rjust(_WIDTH)
    yield "-" * _WIDTH
    for subject, items in groupby(page.items, key=lambda item: item.subject):
        steps = subject.path.split("/")
        passage = subject.passage.rpartition("/")[2]
        yield f"{subject.kind} {steps[-1]}" + (f" ({passage})" if passage else "")
        for item in items:
            yield from _item(item)


def _item(item: Item) -> Iterator[str]:
    mark = _MARKS[item.verdict]
    if item.verdict == "undetermined":
        label = item.id.partition("/")[2]
        of = f"{item.title} ({label})" if label else item.title
        yield from _wrapped(f"{mark}: {of}; not described: {', '.join(item.missing)}", 2)
        for step in item.steps:
            if step.result != "not known":
                yield from _wrapped(f"{step.title}: {step.result}", 4)
        return
    yield from _wrapped(f"{mark}: {item.says}" if mark else item.says, 2)
    for step in item.steps:
        yield from _wrapped(f"{step.title}: {step.formula}", 4)
        yield from _wrapped(f"= {step.numbers} = {step.result}" if step.numbers else f"= {step.result}", 6)
    if item.remedy:
        yield from _wrapped(f"To do: {item.remedy}", 4)


def _wrapped(text: str, indent: int) -> list[str]:
    return textwrap.wrap(
        text, _WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2), break_on_hyphens=False
    )
