"""What a worker can be asked: each question as the command of the same name answers it, to the byte."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from clauseway.answers.sheet_data import as_json
from clauseway.case.named import openings_named
from clauseway.case.project import read_project
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import Node
from clauseway_serve.audit import AUDITING
from clauseway_serve.books import Books, Governed, laws_of
from clauseway_serve.question import (
    Answer,
    NoSuchName,
    Question,
    described,
    described_beside,
    one_or_all,
    opened,
    status_of,
    where_of,
)


def answer(books: Books, question: Question) -> Answer:
    """The answer to a question.

    Raises:
        NoSuchName: for an id or a computation that is not there.
        ClausewayError: with all that is wrong with what was sent.
    """
    return OPERATIONS[question.operation](books, question)


# --- about a file of openings -----------------------------------------------------------------------------------


def _check(books: Books, question: Question) -> Answer:
    asked, node = question.asked, described(question)
    return _checked(node, question, books.governing(node, asked["code"], asked["layer"], where_of(asked)))


def _check_amended(books: Books, question: Question) -> Answer:
    from clauseway.law.library import with_layers

    asked = question.asked
    node, amendments = described_beside(question, "amendments")
    sent = list(amendments.elements()) if amendments.is_list else []
    if not sent:
        raise ClausewayError(Problem(amendments.place, "no list of amendments", "one layer or more"))
    library = with_layers(books.library, sent)
    names = [inner.text or "" for layer in sent if (inner := layer.get("layer")) is not None]
    layers = [*asked["layer"], *dict.fromkeys(names)]
    return _checked(node, question, laws_of(library, node, asked["code"], layers, where_of(asked)))


def _checked(node: Node, question: Question, governing: Governed) -> Answer:
    from clauseway.answers.check import check
    from clauseway.answers.report import report_json

    asked = question.asked
    if asked["strict"] and asked["accept_memory"]:
        raise ClausewayError(Problem(NOWHERE, "strict and accept_memory together", "one of them"))
    reports = []
    for law in governing:
        project = read_project(node, law.rulebook.vocabulary)
        openings_named(project, asked["opening"])
        made = check(
            law.rulebook,
            project,
            on=asked["on"],
            only=tuple(asked["opening"]),
            accept_memory=asked["accept_memory"],
            strict=asked["strict"],
        )
        reports.append(law.told(made))
    statuses = {report.status for report in reports}
    digests = " ".join(law.rulebook.digest for law in governing)
    return Answer(report_json(reports), digests, next((each for each in (1, 3) if each in statuses), 0))


def _needs(books: Books, question: Question) -> Answer:
    from clauseway.design.data import needs_data
    from clauseway.design.needs import needs

    asked = question.asked
    rulebook, project = opened(books, question)
    found = [
        needs(rulebook, project, thing.path, accept_memory=asked["accept_memory"], only=asked["arrangement"])
        for thing in openings_named(project, asked["opening"])
    ]
    return Answer(one_or_all([needs_data(each, rulebook) for each in found]), rulebook.digest)


def _repair(books: Books, question: Question) -> Answer:
    from clauseway.design.data import repair_data
    from clauseway.design.repair import least_changes

    asked = question.asked
    rulebook, project = opened(books, question)
    found = [
        least_changes(rulebook, project, thing.path, most=asked["most"], accept_memory=asked["accept_memory"])
        for thing in openings_named(project, asked["opening"])
    ]
    status = 0 if all(each.designs for each in found) else 1
    return Answer(one_or_all([repair_data(each, rulebook) for each in found]), rulebook.digest, status)


def _trace(books: Books, question: Question) -> Answer:
    from clauseway.answers.check import check
    from clauseway.answers.trace import trace
    from clauseway.answers.trace_node import findings_named
    from clauseway.answers.trace_text import trace_data

    asked = question.asked
    rulebook, project = opened(books, question)
    report = check(rulebook, project, accept_memory=asked["accept_memory"])
    found = findings_named(report, asked["opening"], rulebook.current(asked["finding"]), asked["subject"])
    trees = [trace(rulebook, project, each, accept_memory=asked["accept_memory"]) for each in found]
    return Answer(one_or_all([trace_data(tree, asked["depth"]) for tree in trees]), rulebook.digest)


def _interview(books: Books, question: Question) -> Answer:
    from clauseway.design.next_question import interview_data, next_question

    asked, node = question.asked, described(question)
    rulebook = books.only(node, asked["code"], asked["layer"], where_of(asked))
    step = next_question(
        rulebook,
        node,
        asked["opening"],
        left=asked["left"],
        question=asked["question"],
        answer=asked["answer"],
    )
    return Answer(as_json(interview_data(step, rulebook)), rulebook.digest, status_of(step.verdict))


def _handover(books: Books, question: Question) -> Answer:
    from clauseway.handover.build import handover_of
    from clauseway.handover.chosen import with_arrangement
    from clauseway.handover.data import handover_data

    asked, node = question.asked, described(question)
    law = books.law(node, asked["code"], asked["layer"], where_of(asked))
    project = read_project(node, law.rulebook.vocabulary)
    (door,) = openings_named(project, [asked["opening"]])
    accept = asked["accept_memory"]
    if asked["arrangement"]:
        project = with_arrangement(law.rulebook, project, door.path, asked["arrangement"], accept_memory=accept)
    found = handover_of(law.rulebook, project, door.path, accept_memory=accept)
    return Answer(as_json(handover_data(found, law.rulebook, project.name, law.under)), law.rulebook.digest)


def _compare(books: Books, question: Question) -> Answer:
    asked = question.asked
    return _compared(books, question, [(asked["name"], described(question))], accept_memory=asked["accept_memory"])


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
    project = read_project(described(question), rulebook.vocabulary)
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
    "check-amended": _check_amended,
    "needs": _needs,
    "repair": _repair,
    "trace": _trace,
    "interview": _interview,
    "handover": _handover,
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
    **AUDITING,
}
