"""Days of the calendar in rules: a lock or door of before a day is judged otherwise, and a day is no quantity."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError
from clauseway.text.source import parse_yaml
from support.small_code import OPENING, small_library

RULE = """\
parameters: {{before: {{of: date, value: {day}}}}}
conditions:
  old:
    require: {test}
    says:
      asks: "the door is from before {{before}}"
      met: "The door is of {{opening.door_installed_on}}, before {{before}}."
      unmet: "The door is of {{opening.door_installed_on}}; before {{before}} is asked."
    remedy: None.
"""
OLD = "opening.door_installed_on < before"


def found(tmp_path: Path, installed: str, day: str = "2019-07-01") -> tuple[str, str]:
    rulebook = resolve(small_library(tmp_path, RULE.format(day=day, test=OLD)), ["xx@2021"])
    said = f"  d: {{door_installed_on: {installed}, " if installed else "  d: {"
    project = read_project(parse_yaml(OPENING.replace("  d: {", said), "door.yaml"), rulebook.vocabulary)
    (finding,) = check(rulebook, project).answers[0].findings
    return finding.verdict, finding.says


@pytest.mark.parametrize(
    ("installed", "verdict"),
    [("2019-06-30", "met"), ("2019-07-01", "unmet"), ("2020-02-29", "unmet"), ("", "undetermined")],
)
def test_a_day_decides(tmp_path: Path, installed: str, verdict: str) -> None:
    assert found(tmp_path, installed)[0] == verdict


def test_days_are_printed_as_days(tmp_path: Path) -> None:
    assert found(tmp_path, "2019-07-01")[1] == "The door is of 2019-07-01; before 2019-07-01 is asked."


@pytest.mark.parametrize("day", ["2019-02-30", "July 2019", "30 s"])
def test_what_is_no_day_is_refused(tmp_path: Path, day: str) -> None:
    with pytest.raises(ClausewayError, match="a date such as 2002-07-01") as caught:
        resolve(small_library(tmp_path, RULE.format(day=day, test=OLD)), ["xx@2021"])
    assert "matter.yaml" in str(caught.value)


@pytest.mark.parametrize("test", ["opening.clear_width < before", "opening.door_installed_on < opening.viewing_area"])
def test_a_day_is_compared_with_a_day_alone(tmp_path: Path, test: str) -> None:
    with pytest.raises(ClausewayError, match="a date"):
        resolve(small_library(tmp_path, RULE.format(day="2019-07-01", test=test)), ["xx@2021"])
