"""`clauseway compare`: what differs between two laws, and which doors answer otherwise."""

from __future__ import annotations

import json
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.nearest import nearest
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.options import Memory, Rules, library_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from clauseway.answers.contrast import Contrast
    from clauseway.answers.swing import Swings
    from clauseway.law.library import Library
    from clauseway.law.rulebook import Rulebook


class Format(StrEnum):
    text = "text"
    json = "json"


SIDE = "ibc@2021, ibc@2021,ada@2010, US-CA@2024-05-01, US-MA/cmr-10@2025-01-01; each with +LAYER for a draft on top"


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("compare")(compare)


@dataclass(frozen=True)
class Side:
    """One side of a comparison: what was written, and the rulebook that it names."""

    written: str
    rulebook: Rulebook


def compare(
    a: Annotated[str, typer.Argument(metavar="A", help=f"What is compared: {SIDE}.")],
    b: Annotated[str, typer.Argument(metavar="B", help="What it is compared with, written alike.")],
    files: Annotated[
        list[str] | None, typer.Argument(metavar="[FILE]...", help="Openings, to see which change.")
    ] = None,
    only: Annotated[str, typer.Option("--only", help="Only what belongs to this provision.")] = "",
    full: Annotated[bool, typer.Option("--full", help="Write long conditions out in full.")] = False,
    rules: Rules = None,
    accept_memory: Memory = False,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """Compare two editions, jurisdictions, dates, or a law before and after a draft: what differs, and for which doors.

    Status: 0 the same, 1 something differs (with files: a verdict changes), 2 bad input.
    """
    from clauseway.answers.contrast import contrast
    from clauseway_cli.compare_text import contrast_data, contrast_text, swings_data, swings_text

    library = library_of(rules)
    sides = [side(library, written) for written in (a, b)]
    books = [each.rulebook for each in sides]
    found = contrast(*books)
    shown = [name for name in found.steps if not only or only in (name, name.partition(".")[2])]
    if only and not shown and only not in {name for book in books for name in _names(book)}:
        known = sorted({name for book in books for name in _names(book)})
        raise ClausewayError(Problem(NOWHERE, f"no provision {only}", "a provision", nearest(only, known) or ""))
    doors = [(file, doors_of(file, books, found, accept_memory=accept_memory)) for file in files or ()]
    kept = type(found)({name: found.steps[name] for name in shown}, found.titles, found.same, found.known)
    if output is Format.json:
        data = {
            "schema": "clauseway-compare/1",
            "a": {"is": a, "digest": books[0].digest},
            "b": {"is": b, "digest": books[1].digest},
            "same": found.same,
            "differs": contrast_data(kept),
            "files": [swings_data(file, each) for file, each in doors],
        }
        typer.echo(json.dumps(data, ensure_ascii=False, indent=2))
    else:
        parts = [contrast_text(a, b, kept, full=full), *(swings_text(file, each, full=full) for file, each in doors)]
        typer.echo("\n".join(parts), nl=False)
    changed = any(each.verdicts for _, each in doors) if doors else bool(found.steps)
    raise typer.Exit(1 if changed else 0)


def _names(book: Rulebook) -> list[str]:
    """The provisions, derivations and tables of a rulebook, with and without their code."""
    names = [*book.provisions, *book.derivations, *book.tables]
    return [*names, *(name.partition(".")[2] for name in names)]


def doors_of(file: str, books: Sequence[Rulebook], found: Contrast, *, accept_memory: bool = False) -> Swings:
    """Which doors of a file answer otherwise under the second rulebook."""
    from clauseway.answers.check import check
    from clauseway.answers.swing import swings
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    node = read_openings(file)
    reports = [check(book, read_project(node, book.vocabulary), accept_memory=accept_memory) for book in books]
    return swings(books, reports, found)


def side(library: Library, written: str) -> Side:
    """What one side of a comparison names.

    Raises:
        ClausewayError: for anything that names no rulebook, with the forms that do.
    """
    from clauseway.answers.governing import governing, the_only
    from clauseway.law.adoption import Asked
    from clauseway.law.jurisdictions import is_date
    from clauseway.law.laying import Terms
    from clauseway.law.resolve import resolve
    from clauseway.model.jurisdiction import TODAY

    base, *layers = [part.strip() for part in written.split("+")]
    name, at, label = base.partition("@")
    if not name or not at or not label or not all(layers):
        raise ClausewayError(Problem(NOWHERE, f"{written or 'nothing'} names no law", SIDE))
    if "," in base or name in library.codes or not is_date(label):
        codes = [code.strip() for code in base.split(",")]
        return Side(written, resolve(library, codes, layers, Terms(drafts=True)))
    place, _, choose = name.partition("/")
    asked = Asked({TODAY: label}, choose=choose)
    found = governing(library, place, asked, layers, drafts=True)
    return Side(written, the_only(found, choose).rulebook)
