"""A question as a worker gets it, the file of openings in it, and an answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clauseway.answers.asked_law import Where
from clauseway.answers.sheet_data import as_json
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import Limits, Node, parse_yaml
from clauseway_serve.books import Books


@dataclass(frozen=True)
class Question:
    """What is asked, with its parameters by name, and the text of a file of openings where there is one."""

    operation: str
    asked: Mapping[str, Any]
    text: str = ""
    depth: int = 30
    nodes: int = 50_000
    openings: int = 200


@dataclass(frozen=True)
class Answer:
    """JSON text; `rests_on` is the digest of the rulebook, empty where all rules were asked.

    `status` is what the command ends with: 0 all is well, 1 something fails, 3 something is open.
    """

    text: str
    rests_on: str = ""
    status: int = 0


class NoSuchName(ClausewayError):
    """A name that is a part of the address and that nothing has."""


def where_of(asked: Mapping[str, Any]) -> Where:
    """The law that is asked for by place and date; what a question has no parameter for is not said."""
    for name in ("on", "known"):
        day_of(asked, name)
    place, on, known, choose = (str(asked.get(name, "")) for name in ("in", "on", "known", "choose"))
    return Where(place, on, known, choose, tuple(asked.get("authority", ())))


def day_of(asked: Mapping[str, Any], name: str = "on") -> str:
    """A date among the parameters, or nothing.

    Raises:
        ClausewayError: for a day that is in no calendar.
    """
    written = str(asked.get(name, ""))
    try:
        return date.fromisoformat(written).isoformat() if written else ""
    except ValueError:
        raise ClausewayError(Problem(NOWHERE, f"{name} {written}", "a date such as 2026-05-01")) from None


def parsed(question: Question) -> Node:
    """What was sent, under the name it was sent with.

    Raises:
        ClausewayError: for text that is no YAML, or has more levels or values than are taken.
    """
    limits = Limits(bytes=len(question.text) + 1, depth=question.depth, nodes=question.nodes)
    return parse_yaml(question.text, question.asked["name"], limits=limits)


def described(question: Question) -> Node:
    """The file of openings that was sent."""
    return bounded(parsed(question), question)


def described_beside(question: Question, name: str) -> tuple[Node, Node]:
    """The file of openings that was sent under `description`, and what was sent beside it.

    Raises:
        ClausewayError: where one of them is missing, or there is more.
    """
    node = parsed(question)
    known = ("description", name)
    found = dict(node.items()) if node.is_map else {}
    for key, inner in found.items():
        if key not in known:
            place = inner.key_place or inner.place
            raise ClausewayError(Problem(place, f"unknown name: {key}", one_of(known), nearest(key, known) or ""))
    for key in known:
        if key not in found:
            raise ClausewayError(Problem(node.place, f"no {key}", f"a map with {known[0]} and {known[1]}"))
    return bounded(found["description"], question), found[name]


def bounded(node: Node, question: Question) -> Node:
    """A file of openings that has no more of them than one request may.

    Raises:
        ClausewayError: for more.
    """
    openings = node.get("openings")
    count = len(openings.value) if openings is not None and isinstance(openings.value, dict | list) else 0
    if count > question.openings:
        where = openings.key_place or openings.place if openings is not None else node.place
        raise ClausewayError(Problem(where, f"{count} openings", f"{question.openings} at most in one request"))
    return node


def opened(books: Books, question: Question) -> tuple[Rulebook, Project]:
    """The one rulebook that governs what was sent, and what it describes."""
    node, asked = described(question), question.asked
    rulebook = books.only(node, asked["code"], asked["layer"], where_of(asked))
    return rulebook, read_project(node, rulebook.vocabulary)


def one_or_all(data: Sequence[Any]) -> str:
    """One answer as it is, several as a list."""
    return as_json(data[0] if len(data) == 1 else list(data))


def status_of(verdict: str) -> int:
    """What a command ends with for the verdict of one opening."""
    return {"complies": 0, "does-not-comply": 1}.get(verdict, 3)
