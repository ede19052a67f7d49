"""What an auditor can ask of a worker: what rests on what, citations, waivers, records."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from clauseway import __version__
from clauseway.answers.sheet_data import as_json
from clauseway.case.project import read_project
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import node_from_data
from clauseway_serve.books import NEWEST, Books
from clauseway_serve.question import (
    Answer,
    NoSuchName,
    Question,
    day_of,
    described,
    described_beside,
    opened,
    where_of,
)


def _affects(books: Books, question: Question) -> Answer:
    from clauseway.answers.affects import affected, affected_data
    from clauseway.answers.check import check

    rulebook, project = opened(books, question)
    found = affected(rulebook, question.asked["id"], check(rulebook, project))
    return Answer(as_json(affected_data(found, rulebook)), rulebook.digest)


def _rules_affected(books: Books, question: Question) -> Answer:
    from clauseway.answers.affects import affected, affected_data

    asked = question.asked
    rulebook = _named(books, asked)
    try:
        found = affected(rulebook, asked["id"])
    except ClausewayError as error:
        raise NoSuchName(error.problems) from None
    return Answer(as_json(affected_data(found, rulebook)), rulebook.digest)


def _named(books: Books, asked: Mapping[str, Any]) -> Rulebook:
    """The rulebook of the codes or of the place that is named, or of the newest code."""
    codes = list(asked["code"]) or ([] if asked["in"] else [NEWEST])
    return books.only(node_from_data({}, "the request"), codes, asked["layer"], where_of(asked))


def _cite(books: Books, question: Question) -> Answer:
    from clauseway.answers.cited import cite, cited_data

    found = cite(books.library, question.asked["text"], lambda edition: books.named([edition], ()))
    return Answer(as_json(cited_data(found)), status=found.status)


def _waivers(books: Books, question: Question) -> Answer:
    from clauseway.answers.check import check
    from clauseway.answers.report import report_data
    from clauseway.answers.waivers import STANDS, read_waivers, under_current_names, waived, waived_data

    asked, day = question.asked, day_of(question.asked)
    node, listed = described_beside(question, "waivers")
    kept = read_waivers(listed)
    rulebook = books.only(node, asked["code"], asked["layer"], where_of(asked))
    data = report_data(check(rulebook, read_project(node, rulebook.vocabulary), on=day))
    found = waived(data, under_current_names(kept, rulebook.aliases), day)
    status = 0 if all(each.state == STANDS for each in found) else 1
    return Answer(as_json(waived_data(data, found, day)), rulebook.digest, status)


def _record(books: Books, question: Question) -> Answer:
    from clauseway.answers.record import Input, Settings, make_record

    asked = question.asked
    if asked["strict"] and asked["accept_memory"]:
        raise ClausewayError(Problem(NOWHERE, "strict and accept_memory together", "one of them"))
    rulebook = books.only(described(question), asked["code"], asked["layer"], where_of(asked))
    codes = tuple(str(each) for each in rulebook.adopted)
    settings = Settings(day_of(asked), asked["accept_memory"], asked["strict"], codes, tuple(asked["layer"]))
    text = question.text.removeprefix("\ufeff")
    return Answer(make_record(Input(asked["name"], text), rulebook, settings, __version__), rulebook.digest)


def _verify(books: Books, question: Question) -> Answer:
    from clauseway.answers.record import read_record
    from clauseway.answers.verify import by_rules_of, verification_data, verify

    asked = question.asked
    record = read_record(question.text, asked["name"])
    found = verify(record, __version__, None if asked["inside"] else by_rules_of(books.library, record))
    return Answer(as_json(verification_data(found)), found.rules_today, found.status)


AUDITING: Mapping[str, Callable[[Books, Question], Answer]] = {
    "affects": _affects,
    "rules-affected": _rules_affected,
    "cite": _cite,
    "waivers": _waivers,
    "record": _record,
    "verify": _verify,
}
