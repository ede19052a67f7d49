"""Generated openings: no unmet finding is missing from the sheet, and no verdict of a step turns when more is known."""

from __future__ import annotations

from functools import cache
from random import Random

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check, modes_of
from clauseway.case.things import Project
from clauseway.handover.build import handover_of
from clauseway.handover.sheet import Handover
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider
from support.openings import Impossible, know, made_case


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def readers(project: Project) -> dict[str, Decider]:
    return {mode: Decider(book(), project, mode) for mode in modes_of(book(), project)}


def missing_from(sheet: Handover, project: Project) -> list[str]:
    """The unmet findings that a designer's choice could change and that the sheet does not show as unmet."""
    unmet = {r.id for step in sheet.acceptance for r in step.reasons if r.verdict == F.UNMET}
    unmet |= {each.reason.id for each in (*sheet.confirm, *sheet.provide) if each.verdict == F.UNMET}
    left = []
    for finding in check(book(), project, only=[sheet.opening]).answers[0].findings:
        provision = book().provisions.get(finding.id.rpartition("/")[0])
        if finding.verdict != F.UNMET or provision is None or finding.code in book().practice:
            continue
        condition = next(c for c in provision.permitted + provision.conditions if finding.id.endswith(f"/{c.label}"))
        arranged = condition.excused_by or "arranged" in condition.label
        facts = [book().vocabulary.fact(key.rpartition(": ")[2]) for key in finding.facts]
        designed = any(fact is not None and fact.chosen_by == "designer" for fact in facts)
        if designed and not arranged and not any(each.startswith(finding.id) for each in unmet):
            left.append(finding.id)
    return left


def tried(seed: int) -> int:
    try:
        case = made_case(know(book()), Random(seed), 1)
    except Impossible:
        return 0
    sheet = handover_of(book(), case.partial, "openings/d")
    assert missing_from(sheet, case.partial) == [], seed
    before = readers(case.partial)
    for whole in (case.whole, *case.completions):
        after = readers(whole)
        for step in sheet.acceptance:
            for demand in step.demands:
                truth = demand.term.truth(before[demand.mode])
                if truth is not None and demand.mode in after:
                    assert demand.term.truth(after[demand.mode]) is truth, (seed, step.id, demand.id)
    return len(sheet.acceptance)


def test_a_few_generated_openings() -> None:
    assert sum(tried(seed) for seed in range(3)) > 30


@pytest.mark.long
def test_many_generated_openings() -> None:
    assert sum(tried(seed) for seed in range(3, 300)) > 4000
