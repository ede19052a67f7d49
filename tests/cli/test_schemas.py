"""What the commands write as JSON is what the published schemas say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

import clauseway
from clauseway.answers.record import Input, Settings, make_record
from clauseway.law.folders import shipped_rules
from clauseway_cli.app import app
from support.laws import shipped

COMMANDS = {
    "trace": ["trace", "demo", "d102", "ibc.sensor-release/manual-release", "--format", "json"],
    "needs": ["needs", "demo", "d102", "--format", "json"],
    "repair": ["repair", "demo", "d102", "--format", "json"],
    "handover": ["handover", "demo", "d106", "--format", "json"],
    "affects": ["affects", "IBC 2021 1010.2.12", "demo", "--format", "json"],
    "citations": ["cite", "IBC 2021 1010.2.11", "--format", "json"],
    "interview": ["interview", "demo", "d105", "--next"],
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


def test_waivers_fit_their_schema(tmp_path: Path) -> None:
    waivers = tmp_path / "w.yaml"
    waived = "finding: ibc.free-egress/always-free, opening: d102, granted_by: Official, evidence: letter"
    waivers.write_text(f"waivers: [{{{waived}, until: 2027-06-30}}, {{{waived}, until: 2025-06-30}}]\n", "utf-8")
    run = CliRunner().invoke(app, ["waivers", "demo", str(waivers), "--on", "2026-05-01", "--format", "json"])
    data = json.loads(run.output)
    assert list(Draft202012Validator(schema("waivers")).iter_errors(data)) == []
    assert (run.exit_code, [each["state"] for each in data["waivers"]]) == (1, ["stands", "expired"])


def test_a_verification_fits_its_schema(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read = shipped()
    monkeypatch.setattr("clauseway.law.library.load", lambda *_: read)
    kept = tmp_path / "r.json"
    kept.write_text(record_of("openings: {a: {}}"), encoding="utf-8")
    validator = Draft202012Validator(schema("verification"))
    for harm, status in ((("", ""), 0), (("a: {}", "b: {}"), 1)):
        kept.write_text(kept.read_text("utf-8").replace(*harm) if harm[0] else kept.read_text("utf-8"), "utf-8")
        run = CliRunner().invoke(app, ["verify", str(kept), "--format", "json"])
        data = json.loads(run.output)
        assert list(validator.iter_errors(data)) == []
        assert (run.exit_code, data["status"]) == (status, status)


def record_of(text: str) -> str:
    rulebook = clauseway.resolve(shipped(), ["ibc@2021"])
    return make_record(Input("a.yaml", text), rulebook, Settings(codes=("ibc@2021",)), clauseway.__version__)


def test_an_interview_needs_a_file_or_asks_only_what_is_next() -> None:
    run = CliRunner().invoke(app, ["interview", "demo", "d105"])
    assert isinstance(run.exception, clauseway.ClausewayError)
    assert "--next" in run.exception.problems[0].expected


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
