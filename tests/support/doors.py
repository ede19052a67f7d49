"""Whole doors for the scenarios: an example base of the rules with a few facts changed, and what codes say of it."""

from __future__ import annotations

from functools import cache, reduce
from pathlib import Path
from typing import Any

import yaml

from clauseway.answers.check import check
from clauseway.answers.finding import NOT_APPLICABLE, Answer, Report
from clauseway.case.open import project_from_data
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook

EXAMPLES = Path(__file__).parents[2] / "rules" / "examples"


@cache
def rulebook(*codes: str) -> Rulebook:
    return resolve(load(), codes)


def opening(base: str, *changes: dict[str, Any]) -> dict[str, Any]:
    """A base as plain data, with values at dotted paths set; a value of None is taken away."""
    text = (EXAMPLES / f"{base}.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.load(text, Loader=yaml.BaseLoader)  # `on` is a key, not a yes
    for path, value in {k: v for change in changes for k, v in change.items()}.items():
        *steps, last = path.split(".")
        node = reduce(lambda inner, step: inner.setdefault(step, {}), steps, data)
        if value is None:
            del node[last]
        else:
            node[last] = value
    return data


def report(data: dict[str, Any], *codes: str, accept_memory: bool = False) -> Report:
    book = rulebook(*codes)
    return check(book, project_from_data(data, book), accept_memory=accept_memory)


def answer(data: dict[str, Any], *codes: str, accept_memory: bool = False) -> Answer:
    """The answer on the opening `d`."""
    answers = report(data, *codes, accept_memory=accept_memory).answers
    (found,) = [each for each in answers if each.kind == "opening" and each.id == "d"]
    return found


def with_verdict(found: Answer, verdict: str) -> set[str]:
    """The conditions of the codes that have a verdict, engineering practice left out."""
    return {finding.id for finding in found.findings if finding.code != "engineering" and finding.verdict == verdict}


def verdict_of(found: Answer, condition: str) -> str:
    """The one verdict of a condition, wherever it asks something."""
    (verdict,) = {finding.verdict for finding in found.findings if finding.id == condition} - {NOT_APPLICABLE}
    return verdict
