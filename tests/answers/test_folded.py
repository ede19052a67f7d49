"""What findings share is written once, and nothing is lost by it."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest

from clauseway.answers import folded
from clauseway.answers.check import check
from clauseway.answers.folded import fold, unfold
from clauseway.answers.report import report_data
from clauseway.case.open import DEMO, open_project
from clauseway.law.library import load
from clauseway.law.resolve import resolve


@pytest.fixture(scope="module")
def report() -> dict[str, Any]:
    rulebook = resolve(load(), ["ibc@2021"])
    return report_data(check(rulebook, open_project(DEMO, rulebook)))


def test_a_folded_report_unfolds_to_itself_and_is_less_than_half(report: dict[str, Any]) -> None:
    before = json.dumps(report, sort_keys=True)
    small = fold(report)
    assert json.dumps(unfold(small), sort_keys=True) == before
    assert json.dumps(report, sort_keys=True) == before, "folding changed what it was given"
    assert len(json.dumps(small)) < len(before) / 2


@pytest.mark.parametrize("number", [-1, 10**9, True, "0", None, [0]])
def test_a_number_under_which_nothing_is_shared_is_refused(report: dict[str, Any], number: object) -> None:
    small = copy.deepcopy(fold(report))
    small["openings"][0]["findings"][0]["citations"] = [number]
    with pytest.raises(ValueError, match="nothing is shared"):
        unfold(small)


def test_a_fact_must_have_a_name(report: dict[str, Any]) -> None:
    small = copy.deepcopy(fold(report))
    finding = small["openings"][0]["findings"][0]
    finding["facts"] = [finding["subject"]]
    with pytest.raises(ValueError, match="no name and value"):
        unfold(small)


def test_a_report_that_unfolds_to_too_much_is_refused(report: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    small = fold(report)
    monkeypatch.setattr(folded, "MOST_UNFOLDED", 10_000)
    with pytest.raises(ValueError, match="too much"):
        unfold(small)


def test_what_is_shared_must_be_there(report: dict[str, Any]) -> None:
    small = fold(report)
    del small["shared"]
    with pytest.raises(ValueError, match="no list"):
        unfold(small)
