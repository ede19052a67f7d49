"""What a verdict proves about its clause stands in the citation: of findings, of traces, of explanations."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from clauseway.answers.check import check
from clauseway.answers.explain import explain
from clauseway.answers.report import report_data
from clauseway.answers.trace import trace
from clauseway.answers.trace_text import trace_data
from clauseway.case.project import Project, read_project
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.text.source import read_yaml
from support.small_code import SAYS, small_library

PROVISION = f"""\
proves: {{if_met: satisfies}}
parameters:
  least: {{value: 32 in}}
conditions:
  whole: {{require: opening.clear_width >= least, {SAYS}}}
  part: {{require: opening.clear_width >= least, proves: {{if_met: contributes}}, {SAYS}}}
"""


@pytest.fixture
def case(tmp_path: Path) -> tuple[Rulebook, Project]:
    rulebook = from_json(resolve(small_library(tmp_path, PROVISION), ["xx@2021"]).json)
    return rulebook, read_project(read_yaml(tmp_path / "examples" / "door.yaml"), rulebook.vocabulary)


def test_a_finding_says_what_it_proves(case: tuple[Rulebook, Project]) -> None:
    data = report_data(check(*case))
    proven = {
        finding["id"]: (citation["if_met"], citation["if_unmet"])
        for finding in data["openings"][0]["findings"]
        for citation in finding["citations"]
    }
    assert proven == {"xx.matter/whole": ("satisfies", "violates"), "xx.matter/part": ("contributes", "violates")}
    schema = json.loads((shipped_rules() / "schemas" / "report.schema.json").read_text(encoding="utf-8"))
    validator = Draft202012Validator(schema)
    assert list(validator.iter_errors(data)) == []
    data["openings"][0]["findings"][0]["citations"][0]["if_met"] = "proves"
    assert list(validator.iter_errors(data))


def test_a_value_proves_nothing_by_itself(case: tuple[Rulebook, Project]) -> None:
    data = report_data(check(*case))
    values = [value for finding in data["openings"][0]["findings"] for value in finding["parameters"].values()]
    assert values
    assert all("if_met" not in value["citation"] for value in values)


def test_a_trace_says_it_as_well(case: tuple[Rulebook, Project]) -> None:
    rulebook, project = case
    finding = next(f for f in check(rulebook, project).answers[0].findings if f.id == "xx.matter/whole")
    data = trace_data(trace(rulebook, project, finding))
    assert data["tree"]["citation"]["if_met"] == "satisfies"
    assert data["tree"]["citation"]["if_unmet"] == "violates"


@pytest.mark.parametrize(("label", "words"), [("whole", "asks no more"), ("part", "asks other things as well")])
def test_an_explanation_says_it_in_words(case: tuple[Rulebook, Project], label: str, words: str) -> None:
    found = explain(case[0], f"xx.matter/{label}")
    (section,) = [each for each in found.sections if each.heading == "What a verdict proves"]
    assert words in section.lines[0]
    assert section.lines[1].startswith("if_unmet: violates")


def test_every_finding_of_the_shipped_rules_has_it() -> None:
    rulebook = resolve(load(), ["ibc@2021"])
    for provision in rulebook.provisions.values():
        for condition in provision.permitted + provision.conditions:
            assert condition.line.citation.if_met in ("satisfies", "contributes")
            assert condition.line.citation.if_unmet == "violates"
