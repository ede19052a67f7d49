"""Openings that public sources describe: our answer against the verdict and the section that the source gives.

A description holds the source's words and leaves open what it leaves out. Where our answer says less than the
source, the case says why; what the source takes for granted without saying it stands apart under `granted`, and the
answer with it under `then`. A case that speaks of an edition or a clause that is not encoded is kept with the reason.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.coverage import coverage
from clauseway.case.open import project_from_data
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import read_yaml

HERE = Path(__file__).parent
CASES: list[dict[str, Any]] = [
    case
    for file in sorted(HERE.glob("*.yaml"))
    for case in read_yaml(file).plain()  # type: ignore[union-attr]
]
DECIDED = [case for case in CASES if "kept" not in case]
KEPT = [case for case in CASES if "kept" in case]
SAYS = ("compliant", "noncompliant", "permitted with conditions", "undetermined")
AGREES = {"compliant": F.COMPLIES, "noncompliant": F.FAILS, "undetermined": F.UNDETERMINED}


@cache
def library() -> Library:
    return load()


@cache
def rulebook(codes: tuple[str, ...]) -> Rulebook:
    return resolve(library(), codes)


def codes_of(case: dict[str, Any]) -> tuple[str, ...]:
    named = case["code"]
    return (named,) if isinstance(named, str) else tuple(named)


def granted(case: dict[str, Any]) -> dict[str, Any]:
    """The description together with what the source takes for granted."""
    described = copy.deepcopy(case["describe"])
    for path, value in case["granted"].items():
        *steps, last = path.split(".")
        node = described
        for step in steps:
            node = node.setdefault(step, {})
        assert node.get(last, "unknown") == "unknown", f"{case['id']}: {path} is said by the source"
        node[last] = value
    return described


def stages(case: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    """What is described and what is expected: by the source's words alone, and with what it takes for granted."""
    yield "said", case["describe"], case
    if "granted" in case:
        yield "granted", granted(case), case["then"]


STAGES = {
    (case["id"], name): (case, described, expected) for case in DECIDED for name, described, expected in stages(case)
}


@cache
def answer(identity: str, stage: str) -> F.Answer:
    case, described, _ = STAGES[identity, stage]
    book = rulebook(codes_of(case))
    report = check(book, project_from_data(described, book))
    (found,) = [each for each in report.answers if each.kind == case.get("of", "opening") and each.id == "d"]
    return found


@pytest.mark.parametrize(("identity", "stage"), list(STAGES))
def test_the_answer_agrees_with_the_source(identity: str, stage: str) -> None:
    found = answer(identity, stage)
    _, _, expected = STAGES[identity, stage]
    assert found.verdict == expected["ours"]
    verdicts: dict[str, set[str]] = {}
    for finding in found.findings:
        verdicts.setdefault(finding.id, set()).add(finding.verdict)
    for name, verdict in expected["findings"].items():
        assert verdict in verdicts.get(name, set()), (name, verdicts.get(name))
    for name in expected.get("absent", ()):
        assert not any(identity.startswith(f"{name}/") for identity in verdicts)
    options: dict[str, set[str]] = {}
    for option in found.arrangements:
        options.setdefault(option.id, set()).add(option.verdict)
    for name, verdict in expected.get("options", {}).items():
        assert options.get(name) == {verdict}, (name, options.get(name))


def sections(finding: F.Finding) -> Iterator[str]:
    """The sections that a finding cites, each by itself; with its item too, as sources print it."""
    for citation in finding.citations:
        for section in re.split(r", | and ", citation.section):
            yield section
            yield section + "".join(f"({part})" for part in re.findall(r"\w+", citation.item))


def cited(identity: str, stage: str) -> set[str]:
    _, _, expected = STAGES[identity, stage]
    named = set(expected["findings"])
    return {section for f in answer(identity, stage).findings if f.id in named for section in sections(f)}


@pytest.mark.parametrize("case", [c for c in DECIDED if c["cites"]], ids=[c["id"] for c in DECIDED if c["cites"]])
def test_the_section_is_the_one_that_the_source_names(case: dict[str, Any]) -> None:
    assert set(case["cites"]) <= {section for name, _, _ in stages(case) for section in cited(case["id"], name)}


def test_an_answer_that_says_less_than_its_source_says_why() -> None:
    for case in DECIDED:
        assert case["source_says"] in SAYS
        if AGREES.get(case["source_says"]) != case["ours"]:
            if "asks_nothing" not in case:
                assert case["ours"] in (F.UNDETERMINED, F.NEEDS_APPROVAL), case["id"]
            assert case["why"], case["id"]
        if "then" in case and case["source_says"] == "noncompliant":
            assert case["then"]["ours"] == F.FAILS, f"{case['id']}: what is granted should settle it"


@pytest.mark.parametrize(
    "case", [c for c in DECIDED if "asks_nothing" in c], ids=[c["id"] for c in DECIDED if "asks_nothing" in c]
)
def test_where_the_source_finds_a_code_silent_none_of_its_conditions_is_asked(case: dict[str, Any]) -> None:
    own = {code.split("@")[0] for code in codes_of(case)}
    asked = {f.verdict for f in answer(case["id"], "said").findings if f.code in own}
    assert asked == {F.NOT_APPLICABLE}


def test_a_finding_against_an_opening_is_never_against_one_that_the_source_lets_pass() -> None:
    for case in DECIDED:
        if case["source_says"] in ("compliant", "permitted with conditions"):
            assert F.UNMET not in case["findings"].values(), case["id"]


@pytest.mark.parametrize("case", KEPT, ids=[case["id"] for case in KEPT])
def test_what_is_kept_without_a_test_says_which_clause_is_not_encoded(case: dict[str, Any]) -> None:
    """Either the edition is older than all that are encoded, or the clause is listed as not wholly encoded."""
    assert case["source_says"] in SAYS
    code, edition = case["code"].split("@")
    editions = library().codes[code].editions
    if edition not in editions:
        assert edition < min(editions)
        assert "edition" in case["kept"]
        return
    rows = coverage(rulebook((case["code"],)), code, library().codes[code].clauses).rows
    (row,) = [row for row in rows if row.section == case["section"]]
    assert row.standing != "encoded"


def test_no_case_is_there_twice_and_each_names_its_source() -> None:
    names = [case["id"] for case in CASES]
    assert len(names) == len(set(names))
    assert len({name for name in names if re.fullmatch(r"P\d+", name)}) == 46, "46 cases were collected"
    assert all(case["source"] for case in CASES)
