"""Every reader starts from the one parsed form: who changes that changes all of them alike, whatever the files say."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.explain import explain
from clauseway.answers.trace import trace
from clauseway.case.open import open_project
from clauseway.case.project import member_path
from clauseway.case.things import Given, Project
from clauseway.design.repair import least_changes
from clauseway.language.possible import Interval
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.readers import decide
from clauseway.readers.mutants import mutants_of
from clauseway.survey.plan import made_plan
from clauseway.survey.rows import Rows
from clauseway.survey.run import Survey
from support.rulebooks import rulebook, small_rules

NAME = "ibc.hardware-height"
FINDING = f"{NAME}/height"
KEY = (f"{member_path('', 'openings', 'd')}/locks/latch/by_hand/inside", "height")
INCHES = (33.9, 34.0, 40.0, 48.0, 48.1, 54.0, 60.0)
ROWS = [*(f"{inches:g} in" for inches in INCHES), "864 mm", "1220 mm", None]
Verdicts = list[list[str]]
TRUTHS = {(True, False): F.MET, (False, False): F.UNMET, (False, True): F.UNDETERMINED}


def latch() -> Project:
    return open_project(small_rules() / "examples" / "lever-latch.yaml", rulebook("ibc@2021"))


@cache
def rows() -> list[Project]:
    """The door of each row, with the height that its column has."""
    project, plan = latch(), made_plan(rulebook("ibc@2021"), latch(), "d", ["locks.latch.by_hand.inside.height"], False)
    column = plan.columns.all[KEY]
    found = []
    for written in ROWS:
        facts = {key: given for key, given in project.facts.items() if key != KEY}
        code = column.code(written)
        found.append(replace(project, facts={**facts, KEY: Given(column.values[code], "x")} if code else facts))
    return found


def by_check(book: Rulebook, _: pytest.MonkeyPatch) -> Verdicts:
    return [
        sorted(each.verdict for each in check(book, project).answers[0].findings if each.id == FINDING)
        for project in rows()
    ]


def by_functions(book: Rulebook, patch: pytest.MonkeyPatch) -> Verdicts:
    with patch.context() as often:
        often.setattr(decide, "OFTEN", 0)
        return by_check(book, patch)


def by_trace(book: Rulebook, _: pytest.MonkeyPatch) -> Verdicts:
    found = []
    for project in rows():
        findings = [each for each in check(book, project).answers[0].findings if each.id == FINDING]
        found.append(sorted(_traced(book, project, each) for each in findings))
    return found


def _traced(book: Rulebook, project: Project, finding: F.Finding) -> str:
    """What the steps of a trace come to, not what its heading says; of what is not asked there are none."""
    steps = trace(book, project, finding).children
    if finding.verdict not in TRUTHS.values():
        return finding.verdict
    return TRUTHS[steps[0].result is True, steps[0].result is None]


def by_survey(book: Rulebook, _: pytest.MonkeyPatch) -> Verdicts:
    plan = made_plan(book, latch(), "d", ["locks.latch.by_hand.inside.height"], False)
    block = plan.columns.block({"locks.latch.by_hand.inside.height": ROWS}, len(ROWS))
    every = frozenset((F.MET, F.UNMET, F.UNDETERMINED, F.NEEDS_APPROVAL, F.NOT_APPLICABLE))
    found: Verdicts = [[] for _ in ROWS]
    for each in Survey(plan, settle=True).block(block, details=every).found:
        if each.cell.finding == FINDING:
            for row in each.rows:
                found[row].append(each.verdict)
    return [sorted(verdicts) for verdicts in found]


def by_rows(book: Rulebook, _: pytest.MonkeyPatch) -> Verdicts:
    answers = Rows(book, latch(), "d", ["locks.latch.by_hand.inside.height"])
    found = []
    for written in ROWS:
        verdicts = answers.answer({"locks.latch.by_hand.inside.height": written}).verdicts
        told = zip(answers.cells, verdicts, strict=True)
        found.append(sorted(verdict for cell, verdict in told if cell.finding == FINDING))
    return found


READERS = (by_check, by_functions, by_trace, by_survey, by_rows)


def test_every_mutation_changes_all_readers_alike(monkeypatch: pytest.MonkeyPatch) -> None:
    book = rulebook("ibc@2021")
    plain = by_check(book, monkeypatch)
    changed = 0
    # As it is kept in a file, and sent to a worker.
    assert from_json(book.json) == book
    for mutant in [None, *list(mutants_of(book, NAME))[::2]]:
        other = book if mutant is None else mutant.rulebook()
        first, *others = (reader(other, monkeypatch) for reader in READERS)
        for reader, found in zip(READERS[1:], others, strict=True):
            assert found == first, (mutant.id if mutant else "unchanged", reader.__name__)
        changed += first != plain
    assert changed >= 8


def test_a_changed_limit_is_told_and_designed_to() -> None:
    book, key = rulebook("ibc@2021"), f"{NAME}/height_max"
    limit = Interval(38 * 0.0254, 38 * 0.0254, "us", 0.965, "si")
    printed = replace(book.parameters[key], value=limit, printed=("38 in", "965 mm"))
    other = replace(book, parameters={**book.parameters, key: printed})
    project = rows()[ROWS.index("40 in")]
    kept = least_changes(book, project, "openings/d").designs[0]
    design = least_changes(other, project, "openings/d").designs[0]
    assert not kept.changes
    assert check(other, project).answers[0].verdict == F.FAILS
    assert check(other, design.project).answers[0].verdict == F.COMPLIES
    assert "38 in" in str(explain(other, key))
    assert "38 in" not in str(explain(book, key))
    finding = next(each for each in check(other, project).answers[0].findings if each.id == FINDING)
    assert "38 in" in finding.says
