"""The examples of a provision as worked cases: what was changed, and what the engine answers."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.examples import Example, answers_to, examples_of, expected_in, own_verdict, summary
from clauseway.law.library import Code, Library
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node


@dataclass(frozen=True, slots=True)
class Case:
    """One example with its answer in the newest edition that it speaks of.

    `changes` are pairs of what is changed in the base and how; `base` names the base.
    """

    verdict: str
    changes: tuple[tuple[str, str], ...]
    base: str
    edition: str
    only: tuple[str, ...]
    says: str


def cases_of(library: Library, code: Code, provision: str, books: Mapping[str, Rulebook]) -> dict[str, list[Case]]:
    """The worked cases of a provision by condition.

    Raises:
        ClausewayError: for an example that the engine answers otherwise than it says.
    """
    found: dict[str, list[Case]] = {}
    for example in examples_of(library, code, provision):
        editions = [edition for edition, book in books.items() if expected_in(example, code, book)]
        if not editions:
            continue
        edition = editions[-1]
        case = _case(example, code, edition, books[edition])
        found.setdefault(example.condition, []).append(case)
    return found


def _case(example: Example, code: Code, edition: str, book: Rulebook) -> Case:
    answers = answers_to(example, book, code.id)
    verdict = summary([own_verdict(each) for each in answers])
    if verdict != example.verdict:
        raise ClausewayError(
            Problem(example.changes.place, f"the example {example.name} is {verdict} in {edition}", example.verdict)
        )
    telling = [_said(each) for each in answers if own_verdict(each) == verdict]
    return Case(
        verdict,
        tuple((path, shown(value)) for path, value in example.changes.items()),
        example.base.place.file,
        edition,
        example.editions,
        telling[0] if telling else "",
    )


def _said(finding: F.Finding) -> str:
    """The sentence of a finding, with those of the members that fail or are open."""
    parts = [
        f"{row.path.rpartition('/')[2]}: {part.says}"
        for row in finding.members
        for part in row.parts
        if part.says and part.verdict in (F.UNMET, F.UNDETERMINED)
    ]
    return " ".join([finding.says, *parts]) if finding.verdict != F.MET else finding.says


def shown(value: Node) -> str:
    """A value of a file as one line."""
    return _line(value.plain())


def _line(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_line(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_line(inner) for inner in value) + "]"
    if value is None or value == "":
        return "(blank)"
    return value if isinstance(value, str) else json.dumps(value)
