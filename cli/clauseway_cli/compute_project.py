"""`clauseway compute project`: a calculation sheet of every door and supply of a project, as text or JSON."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem

if TYPE_CHECKING:
    from clauseway.answers.project_sheet import Item, Page, ProjectSheet, Step

SCHEMA = "clauseway-project-sheet/1"
_WIDTH = 80
_NOTE = "Engineering, not code: this decides nothing about what a code allows."
_WORKS = {"yes": "works", "no": "DOES NOT WORK", "undetermined": "not known yet", "not-described": "not described"}
_MARKS = {"met": "sound", "unmet": "NOT", "undetermined": "not known", "computed": ""}


def answer_project(files: list[str], openings: list[str], *, as_data: bool) -> None:
    """Print the sheets of some files; only the practice that ships, no code, is asked."""
    from clauseway.answers.project_sheet import project_sheet
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.law.library import load
    from clauseway.law.resolve import resolve
    from clauseway.law.rulebook import PRACTICE
    from clauseway.text.nearest import nearest, one_of
    from clauseway_cli.compute_text import as_json

    if not files:
        raise ClausewayError(Problem(NOWHERE, "no file", "clauseway compute project FILE; demo is the one that ships"))
    library = load()
    practice = [f"{code.id}@{code.editions[-1]}" for code in library.codes.values() if code.force == PRACTICE]
    rulebook = resolve(library, practice)
    sheets = []
    for file in files:
        node = read_openings(file)
        project = read_project(node, rulebook.vocabulary)
        known = [thing.id for thing in project.of_kind("opening")]
        for name in openings:
            if name not in known:
                found = f"no opening {name}"
                raise ClausewayError(Problem(node.place, found, one_of(known, 12), nearest(name, known) or ""))
        sheets.append(project_sheet(rulebook, project, openings))
    if as_data:
        data = [sheet_data(sheet) for sheet in sheets]
        typer.echo(as_json(data[0] if len(data) == 1 else data), nl=False)
    else:
        typer.echo("\n".join(sheet_text(sheet) for sheet in sheets), nl=False)


# --- text -------------------------------------------------------------------------------------------------


def sheet_text(sheet: ProjectSheet) -> str:
    """The sheet for reading."""
    lines = [sheet.project, *_wrapped(_NOTE, 0)]
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


# --- data -------------------------------------------------------------------------------------------------


def sheet_data(sheet: ProjectSheet) -> dict[str, Any]:
    """The sheet as JSON data; its schema is project-sheet.schema.json."""
    return {
        "schema": SCHEMA,
        "note": _NOTE,
        "project": sheet.project,
        "file": sheet.file,
        "rulebook": sheet.digest,
        "pages": [
            {
                "kind": page.kind,
                "id": page.id,
                "location": page.title,
                "works": page.works,
                "items": [_item_data(item) for item in page.items],
            }
            for page in sheet.pages
        ],
    }


def _item_data(item: Item) -> dict[str, Any]:
    return {
        "id": item.id,
        "subject": {"kind": item.subject.kind, "id": item.subject.path}
        | ({"passage": item.subject.passage} if item.subject.passage else {}),
        "title": item.title,
        "verdict": item.verdict,
        "says": item.says,
        "remedy": item.remedy or None,
        "missing": list(item.missing),
        "computations": [_step_data(step) for step in item.steps],
    }


def _step_data(step: Step) -> dict[str, Any]:
    return {
        "name": step.name,
        "formula": step.formula,
        "numbers": step.numbers or None,
        "result": step.result,
        "least": step.low if math.isfinite(step.low) else None,
        "most": step.high if math.isfinite(step.high) else None,
        "unit": step.unit,
        "sources": list(step.sources),
    }
