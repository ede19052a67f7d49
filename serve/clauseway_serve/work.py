"""What a worker can be asked: each question as the command of the same name answers it, to the byte."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from clauseway.answers.asked_law import Where
from clauseway.answers.sheet_data import as_json
from clauseway.case.named import openings_named
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
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


def answer(books: Books, question: Question) -> Answer:
    """The answer to a question.

    Raises:
        NoSuchName: for an id or a computation that is not there.
        ClausewayError: with all that is wrong with what was sent.
    """
    return OPERATIONS[question.operation](books, question)


# --- about a file of openings -----------------------------------------------------------------------------------


def _where(asked: Mapping[str, Any]) -> Where:
    for name in ("on", "known"):
        try:
            if asked[name]:
                date.fromisoformat(asked[name])
        except ValueError:
            raise ClausewayError(Problem(NOWHERE, f"{name} {asked[name]}", "a date such as 2026-05-01")) from None
    return Where(asked["in"], asked["on"], asked["known"], asked["choose"], tuple(asked["authority"]))


def _described(question: Question) -> Node:
    """The file of openings that was sent, under the name it was sent with."""
    name = question.asked["name"]
    limits = Limits(bytes=len(question.text) + 1, depth=question.depth, nodes=question.nodes)
    node = parse_yaml(question.text, name, limits=limits)
    openings = node.get("openings")
    count = len(openings.value) if openings is not None and isinstance(openings.value, dict | list) else 0
    if count > question.openings:
        where = openings.key_place or openings.place if openings is not None else Place(name)
        raise ClausewayError(Problem(where, f"{count} openings", f"{question.openings} at most in one request"))
    return node


def _opened(books: Books, question: Question) -> tuple[Rulebook, Project]:
    node, asked = _described(question), question.asked
    rulebook = books.only(node, asked["code"], asked["layer"], _where(asked))
    return rulebook, read_project(node, rulebook.vocabulary)


def _check(books: Books, question: Question) -> Answer:
    from clauseway.answers.check import check
    from clauseway.answers.report import report_json

    asked, node = question.asked, _described(question)
    if asked["strict"] and asked["accept_memory"]:
        raise ClausewayError(Problem(NOWHERE, "strict and accept_memory together", "one of them"))
    reports = []
    governing = books.governing(node, asked["code"], asked["layer"], _where(asked))
    for rulebook, told in governing:
        project = read_project(node, rulebook.vocabulary)
        openings_named(project, asked["opening"])
        made = check(
            rulebook,
            project,
            on=asked["on"],
            only=tuple(asked["opening"]),
            accept_memory=asked["accept_memory"],
            strict=asked["strict"],
        )
        reports.append(told(made))
    statuses = {report.status for report in reports}
    digests = " ".join(rulebook.digest for rulebook, _ in governing)
    return Answer(report_json(reports), digests, next((each for each in (1, 3) if each in statuses), 0))


def _one_or_all(data: Sequence[Any]) -> str:
    return as_json(data[0] if len(data) == 1 else list(data))


def _needs(books: Books, question: Question) -> Answer:
    from clauseway.design.data import needs_data
    from clauseway.design.needs import needs

    asked = question.asked
    rulebook, project = _opened(books, question)
    found = [
        needs(rulebook, project, thing.path, accept_memory=asked["accept_memory"], only=asked["arrangement"])
        for thing in openings_named(project, asked["opening"])
    ]
    return Answer(_one_or_all([needs_data(each, rulebook) for each in found]), rulebook.digest)


def _repair(books: Books, question: Question) -> Answer:
    from clauseway.design.data import repair_data
    from clauseway.design.repair import least_changes

    asked = question.asked
    rulebook, project = _opened(books, question)
    found = [
        least_changes(rulebook, project, thing.path, most=asked["most"], accept_memory=asked["accept_memory"])
        for thing in openings_named(project, asked["opening"])
    ]
    status = 0 if all(each.designs for each in found) else 1
    return Answer(_one_or_all([repair_data(each, rulebook) for each in found]), rulebook.digest, status)


def _trace(books: Books, question: Question) -> Answer:
    from clauseway.answers.check import check
    from clauseway.answers.trace import trace
    from clauseway.answers.trace_node import findings_named
    from clauseway.answers.trace_text import trace_data

    asked = question.asked
    rulebook, project = _opened(books, question)
    report = check(rulebook, project, accept_memory=asked["accept_memory"])
    found = findings_named(report, asked["opening"], rulebook.current(asked["finding"]), asked["subject"])
    trees = [trace(rulebook, project, each, accept_memory=asked["accept_memory"]) for each in found]
    return Answer(_one_or_all([trace_data(tree, asked["depth"]) for tree in trees]), rulebook.digest)


def _compare(books: Books, question: Question) -> Answer:
    asked = question.asked
    return _compared(books, question, [(asked["name"], _described(question))], accept_memory=asked["accept_memory"])


def _laws(books: Books, question: Question) -> Answer:
    return _compared(books, question, [])


def _compared(
    books: Books, question: Question, files: Sequence[tuple[str, Node]], *, accept_memory: bool = False
) -> Answer:
    from clauseway.answers.compared import compared, compared_data

    asked = question.asked
    made = compared(books.library, asked["a"], asked["b"], files, only=asked["only"], accept_memory=accept_memory)
    digests = " ".join(each.rulebook.digest for each in made.sides)
    return Answer(as_json(compared_data(made)), digests, made.status)


def _sheet(books: Books, question: Question) -> Answer:
    from clauseway.answers.project_sheet import project_sheet
    from clauseway.answers.project_sheet_data import sheet_data
    from clauseway.law.rulebook import PRACTICE

    practice = [f"{code.id}@{code.editions[-1]}" for code in books.library.codes.values() if code.force == PRACTICE]
    rulebook = books.named(practice, ())
    project = read_project(_described(question), rulebook.vocabulary)
    wanted = [thing.id for thing in openings_named(project, question.asked["opening"])]
    made = project_sheet(rulebook, project, wanted if question.asked["opening"] else ())
    return Answer(as_json(sheet_data(made)), rulebook.digest)


# --- about the rules --------------------------------------------------------------------------------------------


def _explain(books: Books, question: Question) -> Answer:
    from clauseway.answers.explain import explain
    from clauseway.answers.listed_data import explanation_data

    asked = question.asked
    rulebook = books.named(asked["code"], asked["layer"])
    try:
        explanation = explain(rulebook, asked["id"])
    except ClausewayError as error:
        raise NoSuchName(error.problems) from None
    return Answer(as_json(explanation_data(explanation, rulebook)), rulebook.digest)


def _facts(books: Books, question: Question) -> Answer:
    from clauseway.answers.listed_data import facts_data, facts_found

    asked = question.asked
    rulebook = books.named(asked["code"], ())
    found = facts_found(rulebook.vocabulary, asked["search"], asked["chosen_by"])
    return Answer(as_json(facts_data(found, rulebook)), rulebook.digest)


def _rulebook(books: Books, question: Question) -> Answer:
    from clauseway.answers.listed_data import rulebook_data

    rulebook = books.named(question.asked["code"], question.asked["layer"])
    return Answer(as_json(rulebook_data(rulebook)), rulebook.digest)


def _codes(books: Books, _: Question) -> Answer:
    from clauseway.answers.listed_data import code_list_data

    return Answer(as_json(code_list_data(books.library)))


def _clauses(books: Books, question: Question) -> Answer:
    from clauseway.answers.clause_tables import clause_tables, clauses_data

    asked = question.asked
    tables = clause_tables(books.library, asked["code"], asked["layer"])
    return Answer(as_json(clauses_data(tables, asked["standing"], counts=not asked["code"])))


def _computations(_: Books, question: Question) -> Answer:
    from clauseway.answers.sheet_data import computations_data, computations_found

    return Answer(as_json(computations_data(computations_found(question.asked["search"]))))


def _compute(_: Books, question: Question) -> Answer:
    from clauseway.answers.sheet_data import computed_data, named_computation

    try:
        record = named_computation(question.asked["name"])
    except ClausewayError as error:
        raise NoSuchName(error.problems) from None
    return Answer(as_json(computed_data(record.name, question.asked["words"])))


OPERATIONS: Mapping[str, Callable[[Books, Question], Answer]] = {
    "check": _check,
    "needs": _needs,
    "repair": _repair,
    "trace": _trace,
    "compare": _compare,
    "laws": _laws,
    "sheet": _sheet,
    "explain": _explain,
    "facts": _facts,
    "rulebook": _rulebook,
    "codes": _codes,
    "clauses": _clauses,
    "computations": _computations,
    "compute": _compute,
}
