"""An interview as separate questions: what to ask next of a description, and the description with an answer in it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from clauseway.answers.check import check
from clauseway.answers.finding import COMPLIES, FAILS
from clauseway.answers.report import headed
from clauseway.case.named import openings_named
from clauseway.case.project import read_project
from clauseway.case.things import Missing
from clauseway.design.interview import Question, answered, questions
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node, node_from_data

SCHEMA = "clauseway-interview/1"


@dataclass(frozen=True, slots=True)
class Step:
    """Where an interview stands: the verdict, the next question if one can matter, and how many are left.

    `description` is the one that was asked about, with the answer in it where one was given.
    """

    opening: str
    verdict: str
    question: Question | None
    open: int
    description: Mapping[str, Any] | None


def question_id(missing: Missing) -> str:
    """What names a question: the thing, the fact or list, and whether it is asked if the list is complete."""
    return f"{missing.path or 'building'}:{missing.name}" + (":all" if missing.whole else "")


def next_question(
    rulebook: Rulebook,
    node: Node,
    opening: str,
    *,
    left: Collection[str] = (),
    question: str = "",
    answer: str = "",
) -> Step:
    """What to ask next of an opening; with `question` and `answer`, after that answer.

    `left` names questions that nobody could answer; they are not asked again.

    Raises:
        ClausewayError: for an opening that is not there, a question that is not open, and an answer it cannot have.
    """
    given: dict[str, Any] | None = None
    if question or answer:
        asked = _asked(rulebook, node, opening)[1]
        found = next((each for each in asked if question_id(each.missing) == question), None)
        if found is None:
            known = [question_id(each.missing) for each in asked]
            expected = one_of(known, 6) if known else "no question is open"
            said = f"no question {question} is open" if question else "an answer without its question"
            raise ClausewayError(Problem(NOWHERE, said, expected, nearest(question, known) or ""))
        plain = node.plain()
        given = answered(rulebook, plain if isinstance(plain, dict) else {}, found, answer)
        node = node_from_data(given, node.place.file)
    verdict, asked = _asked(rulebook, node, opening)
    rest = [each for each in asked if question_id(each.missing) not in left]
    decided = verdict in (COMPLIES, FAILS)
    return Step(opening, verdict, rest[0] if rest and not decided else None, 0 if decided else len(rest), given)


def _asked(rulebook: Rulebook, node: Node, opening: str) -> tuple[str, tuple[Question, ...]]:
    project = read_project(node, rulebook.vocabulary)
    openings_named(project, [opening], Place(node.place.file))
    found = check(rulebook, project, only=[opening]).answers[0]
    return found.verdict, questions(rulebook, project, found)


def interview_data(step: Step, rulebook: Rulebook) -> dict[str, Any]:
    """Where an interview stands, as JSON data."""
    return {
        **headed(SCHEMA, rulebook, step.opening),
        "verdict": step.verdict,
        "question": _question_data(step.question) if step.question is not None else None,
        "open": step.open,
        "description": step.description,
    }


def _question_data(question: Question) -> dict[str, Any]:
    missing = question.missing
    return {
        "id": question_id(missing),
        "path": missing.path,
        "kind": missing.kind,
        "name": missing.name,
        "whole": missing.whole,
        "ask": question.ask,
        "about": question.about,
        "knows": question.knows,
        "waiting": list(question.waiting),
        "may_be": list(question.may_be),
    }
