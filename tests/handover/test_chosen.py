"""An arrangement chosen for locks without one: its needs are proposed, what is described stays, a refusal says why."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.answers import finding as F
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.handover.build import handover_of
from clauseway.handover.chosen import with_arrangement
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data
from clauseway_cli.app import app
from clauseway_cli.handover_page import page_of
from clauseway_cli.handover_write import markdown


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def office(**button: Any) -> Project:
    data: dict[str, Any] = {
        "project": "An office",
        "building": {"sprinklers": "none", "fire_alarm": True, "automatic_detection": "none"},
        "rooms": {
            "office": {"group": "B", "use": "office", "occupant_load": 20, "outdoors": False},
            "way": {"use": "corridor"},
        },
        "openings": {
            "d": {
                "kind": "swinging",
                "sides": {"inside": {"space": "office", "stair": "none"}, "outside": {"space": "way", "stair": "none"}},
                "passages": {
                    "out": {"from_side": "inside", "to_side": "outside", "role": "required", "serves": ["office"],
                            "complete": ["serves"]},
                },
                "leaves": {"leaf": {"panic_hardware": "none"}},
                "locks": {"magnet": {"kind": "electromagnetic-direct-pull", "leaf": "leaf", "secures": ["out"]}},
                "devices": {"button": {"kind": "push-button", "side": "inside", **button}},
            }
        },
    }  # fmt: skip
    return read_project(node_from_data(data, "office.yaml"), book().vocabulary)


def test_what_the_arrangement_needs_is_proposed_and_meets_it() -> None:
    project = with_arrangement(book(), office(), "openings/d", "sensor-release")
    found = handover_of(book(), project, "openings/d")
    assert [(each.id, each.verdict) for each in found.arrangements] == [("ibc.sensor-release", F.MET)]
    height = found.step("devices.button.height")
    assert height is not None
    assert (height.known_by, height.verdict) == ("proposed", F.MET)
    assert height.described == "within what is accepted (proposed)"
    assert height.accepted.words == "40 in (1016 mm) to 48 in (1219 mm)"
    text = markdown(page_of(found, book(), "P"))
    assert "nobody has chosen or built it yet" in text
    assert found.verdict != F.COMPLIES, "that nothing else is there was not said"


def test_what_is_described_stays_though_it_fails() -> None:
    project = with_arrangement(book(), office(height="50 in"), "openings/d", "sensor-release")
    found = handover_of(book(), project, "openings/d")
    height = found.step("devices.button.height")
    assert height is not None
    assert (height.described, height.verdict) == ("50 in", F.UNMET)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("controlled-egress", "not permitted for lock magnet: The door serves a space that is not of Group I"),
        ("sensor-relase", "sensor-release"),
    ],
)
def test_an_arrangement_that_cannot_be_is_refused(name: str, said: str) -> None:
    with pytest.raises(ClausewayError, match=said):
        with_arrangement(book(), office(), "openings/d", name)


def test_locks_that_have_an_arrangement_are_left_alone() -> None:
    run = CliRunner().invoke(app, ["handover", "demo", "d101", "--arrangement", "door-hardware-release"])
    assert "has an arrangement already" in str(run.exception)


def test_the_law_of_a_place_stands_on_the_sheet(tmp_path: Path) -> None:
    out = tmp_path / "d.json"
    place = ["--in", "USSEA", "--on", "2026-05-01"]
    run = CliRunner().invoke(app, ["handover", "demo", "d101", *place, "--format", "json", "-o", str(out)])
    assert run.exit_code == 0, run.output
    data = json.loads(out.read_text(encoding="utf-8"))
    schema = json.loads((shipped_rules() / "schemas" / "handover.schema.json").read_text(encoding="utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(data)) == []
    assert data["law"]["in"] == "USSEA"
    assert data["law"]["not_encoded"]
    assert data["layers"]
