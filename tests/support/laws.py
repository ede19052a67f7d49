"""The shipped law of a place on a day, and one door checked under it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from clauseway.answers.check import check
from clauseway.answers.examples import changed
from clauseway.answers.governing import Governing, governing
from clauseway.answers.report import report_data
from clauseway.case.project import read_project
from clauseway.law.adoption import Asked, Reading, jurisdiction_called, readings
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.text.source import Node, node_from_data, read_yaml


@cache
def shipped() -> Library:
    """The rules that come with the package, read once."""
    return load()


@cache
def law(place: str, on: str, choose: str = "", known: str = "", site: str = "", issue: str = "") -> Governing:
    """The one reading of the law of a place on a day; `issue` is the day of the permit's issue."""
    dates = {"today": on, **({"permit-issue": issue} if issue else {})}
    (found,) = governing(shipped(), place, Asked(dates, known, choose, site=site))
    return found


def reading(place: str, on: str, known: str = "") -> Reading:
    """Which codes and layers that is, without resolving them."""
    (found,) = readings(shipped(), jurisdiction_called(shipped(), place), Asked({"today": on}, known))
    return found


@cache
def _base(name: str) -> Node:
    return read_yaml(shipped_rules() / "examples" / f"{name}.yaml")


@dataclass(frozen=True)
class Answered:
    """What a condition came to for a door: verdict, sentence, citations, and the layers and texts that amended it."""

    verdict: str
    says: str
    cites: tuple[str, ...]
    amended: tuple[tuple[str, str], ...]


def told(place: Governing, base: str, changes: Mapping[str, object]) -> dict[str, Any]:
    """The report on an example door under a law, as data; `unknown` takes the fact at a path away."""
    described = changed(_base(base), node_from_data(dict(changes), "changes"))
    without = Node({name: node for name, node in described.items() if name != "codes"}, described.place)
    project = read_project(without, place.rulebook.vocabulary)
    return report_data(place.told(check(place.rulebook, project)))


def answer(place: Governing, base: str, changes: Mapping[str, object], condition: str) -> Answered | None:
    """The finding on opening d; nothing where the law has no such condition."""
    findings = told(place, base, changes)["openings"][0]["findings"]
    for finding in findings:
        if finding["id"] == condition:
            return Answered(
                finding["verdict"],
                finding["says"],
                tuple(f"{c['code']} {c['edition']} {c['section']}" for c in finding["citations"]),
                tuple((c["layer"], c["cite"]) for c in finding["amended_by"]),
            )
    return None
