"""Two laws beside each other: what a name of a side means, what differs, and which doors answer otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from clauseway.answers.check import check
from clauseway.answers.contrast import Contrast, Step, contrast
from clauseway.answers.governing import governing, the_only
from clauseway.answers.swing import Swings, swings
from clauseway.case.project import read_project
from clauseway.law.adoption import Asked
from clauseway.law.jurisdictions import is_date
from clauseway.law.laying import Terms
from clauseway.law.library import Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import TODAY
from clauseway.text.nearest import nearest
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import Node

SCHEMA = "clauseway-compare/1"
SIDE = "ibc@2021, ibc@2021,ada@2010, US-CA@2024-05-01, US-MA/cmr-10@2025-01-01; each with +LAYER for a draft on top"


@dataclass(frozen=True)
class Side:
    """One side of a comparison: what was written, and the rulebook that it names."""

    written: str
    rulebook: Rulebook


@dataclass(frozen=True)
class Compared:
    """Two sides, what differs between them, and for each file of openings the doors that answer otherwise."""

    sides: tuple[Side, Side]
    found: Contrast
    shown: Contrast
    doors: tuple[tuple[str, Swings], ...]

    @property
    def status(self) -> int:
        """0 the same, 1 something differs; with files, whether a verdict changes."""
        changed = any(each.verdicts for _, each in self.doors) if self.doors else bool(self.found.steps)
        return 1 if changed else 0


def compared(
    library: Library,
    a: str,
    b: str,
    files: Sequence[tuple[str, Node]] = (),
    *,
    only: str = "",
    accept_memory: bool = False,
) -> Compared:
    """Two laws by what people write for them, and the doors of files by their names; `only` shows one provision.

    Raises:
        ClausewayError: for a side that names no law, an unknown provision, and openings that cannot be read.
    """
    sides = (side(library, a), side(library, b))
    books = [each.rulebook for each in sides]
    found = contrast(*books)
    shown = [name for name in found.steps if not only or only in (name, name.partition(".")[2])]
    if only and not shown:
        known = {name for book in books for name in _names(book)}
        if only not in known:
            raise ClausewayError(Problem(NOWHERE, f"no provision {only}", "a provision", nearest(only, known) or ""))
    doors = tuple((file, doors_of(node, books, found, accept_memory=accept_memory)) for file, node in files)
    kept = Contrast({name: found.steps[name] for name in shown}, found.titles, found.same, found.known)
    return Compared(sides, found, kept, doors)


def _names(book: Rulebook) -> list[str]:
    """The provisions, derivations and tables of a rulebook, with and without their code."""
    names = [*book.provisions, *book.derivations, *book.tables]
    return [*names, *(name.partition(".")[2] for name in names)]


def doors_of(node: Node, books: Sequence[Rulebook], found: Contrast, *, accept_memory: bool = False) -> Swings:
    """Which doors of a file of openings answer otherwise under the second rulebook."""
    reports = [check(book, read_project(node, book.vocabulary), accept_memory=accept_memory) for book in books]
    return swings(books, reports, found)


def side(library: Library, written: str) -> Side:
    """What one side of a comparison names.

    Raises:
        ClausewayError: for anything that names no rulebook, with the forms that do.
    """
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


def compared_data(made: Compared) -> dict[str, Any]:
    """A comparison as JSON data."""
    a, b = made.sides
    return {
        "schema": SCHEMA,
        "a": {"is": a.written, "digest": a.rulebook.digest},
        "b": {"is": b.written, "digest": b.rulebook.digest},
        "same": made.found.same,
        "differs": contrast_data(made.shown),
        "files": [swings_data(file, each) for file, each in made.doors],
    }


def contrast_data(found: Contrast) -> list[dict[str, Any]]:
    """All that differs, as JSON data."""
    return [
        {"id": name, "title": found.titles[name], "steps": [step_data(step) for step in steps]}
        for name, steps in sorted(found.steps.items())
    ]


def step_data(step: Step) -> dict[str, Any]:
    """One difference, as JSON data."""
    return {
        "id": step.id,
        "part": step.part,
        "kind": step.kind,
        "was": step.was,
        "now": step.now,
        "by": list(step.why),
        "declared": step.declared,
    }


def swings_data(file: str, found: Swings) -> dict[str, Any]:
    """What answers otherwise, as JSON data."""
    return {
        "file": file,
        "openings": found.openings,
        "changed": [
            {
                "kind": each.kind,
                "id": each.id,
                "was": each.was or None,
                "now": each.now or None,
                "findings": [
                    {
                        "id": turn.finding,
                        "subject": turn.subject.path,
                        "passage": turn.subject.passage or None,
                        "mode": turn.mode or None,
                        "was": turn.was or None,
                        "now": turn.now or None,
                        "says": turn.says,
                        "because": [step.id for step in turn.why],
                    }
                    for turn in each.turns
                ],
            }
            for each in found.found
        ],
    }
