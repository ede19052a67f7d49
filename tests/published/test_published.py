"""Openings that public sources describe: our answer against the verdict and the section that the source gives.

A description holds the source's words and leaves open what it leaves out. Where our answer says less than the
source, the case says why; where the source speaks of an edition that is not encoded, it is kept with that reason.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.case.open import project_from_data
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.source import read_yaml

FILES = sorted(Path(__file__).parent.glob("*.yaml"))
CASES: list[dict[str, Any]] = [case for file in FILES for case in read_yaml(file).plain()]  # type: ignore[union-attr]
DECIDED = [case for case in CASES if "kept" not in case]
SAYS = ("compliant", "noncompliant", "permitted with conditions", "undetermined")


@cache
def library() -> Library:
    return load()


def answer(case: dict[str, Any]) -> F.Answer:
    rulebook = resolve(library(), [case["code"]])
    report = check(rulebook, project_from_data(case["describe"], rulebook), only=["d"])
    return report.answers[0]


@pytest.mark.parametrize("case", DECIDED, ids=[case["id"] for case in DECIDED])
def test_the_answer_agrees_with_the_source(case: dict[str, Any]) -> None:
    found = answer(case)
    assert found.verdict == case["ours"]
    verdicts: dict[str, set[str]] = {}
    for finding in found.findings:
        verdicts.setdefault(finding.id, set()).add(finding.verdict)
    for name, verdict in case["findings"].items():
        assert verdict in verdicts.get(name, set()), (name, verdicts.get(name))
    for name in case.get("absent", ()):
        assert not any(identity.startswith(f"{name}/") for identity in verdicts)


@pytest.mark.parametrize("case", [c for c in DECIDED if c["cites"]], ids=[c["id"] for c in DECIDED if c["cites"]])
def test_the_section_is_the_one_that_the_source_names(case: dict[str, Any]) -> None:
    named = set(case["findings"])
    cited = {c.section for f in answer(case).findings if f.id in named for c in f.citations}
    assert set(case["cites"]) <= cited


def test_an_answer_that_says_less_than_its_source_says_why() -> None:
    for case in DECIDED:
        assert case["source_says"] in SAYS
        agrees = {"compliant": F.COMPLIES, "noncompliant": F.FAILS, "undetermined": F.UNDETERMINED}
        if agrees.get(case["source_says"]) != case["ours"]:
            assert case["ours"] == F.UNDETERMINED, case["id"]
            assert case["why"], case["id"]


def test_no_case_is_there_twice_and_each_names_its_source() -> None:
    names = [case["id"] for case in CASES]
    assert len(names) == len(set(names))
    assert all(case["source"] for case in CASES)
