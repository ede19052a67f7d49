"""What the commands write as JSON is what the published schemas say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.law.folders import shipped_rules
from clauseway_cli.app import app

COMMANDS = {
    "trace": ["trace", "demo", "d102", "ibc.sensor-release/manual-release", "--format", "json"],
    "needs": ["needs", "demo", "d102", "--format", "json"],
    "repair": ["repair", "demo", "d102", "--format", "json"],
    "handover": ["handover", "demo", "d106", "--format", "json"],
}


def schema(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((shipped_rules() / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(data)
    return data


@pytest.mark.parametrize("name", COMMANDS)
def test_what_a_command_writes_fits_its_schema(name: str) -> None:
    run = CliRunner().invoke(app, COMMANDS[name])
    assert run.exit_code in (0, 1, 3), run.output
    data = json.loads(run.output)
    validator = Draft202012Validator(schema(name))
    assert list(validator.iter_errors(data)) == []
    data["surprise"] = 1
    assert list(validator.iter_errors(data))


def test_measured_values_fit_their_schema(tmp_path: Path) -> None:
    results = tmp_path / "r.yaml"
    results.write_text("opening: d101\nresults: {devices.button.height: {value: 49 in, by: AB}}\n", encoding="utf-8")
    run = CliRunner().invoke(app, ["measured", "demo", str(results), "--format", "json"])
    assert run.exit_code == 1, run.output
    data = json.loads(run.output)
    validator = Draft202012Validator(schema("measured"))
    assert list(validator.iter_errors(data)) == []
    data["readings"][0]["verdict"] = "fine"
    assert list(validator.iter_errors(data))


def test_a_list_of_openings_fits_as_well() -> None:
    run = CliRunner().invoke(app, ["repair", "demo", "--format", "json", "--most", "1"])
    assert list(Draft202012Validator(schema("repair")).iter_errors(json.loads(run.output))) == []


def test_a_record_fits_its_schema(tmp_path: Path) -> None:
    kept = tmp_path / "r.json"
    assert CliRunner().invoke(app, ["record", "demo", "-o", str(kept)]).exit_code == 0
    data = json.loads(kept.read_text(encoding="utf-8"))
    validator = Draft202012Validator(schema("record"))
    assert list(validator.iter_errors(data)) == []
    for name in list(data):
        part = data.pop(name)
        assert list(validator.iter_errors(data)), name
        data[name] = part
