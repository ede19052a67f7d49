"""clauseway cite: what it prints, its statuses, its JSON and what it refuses."""

from __future__ import annotations

import json
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app


def run(*arguments: str, given: str | None = None) -> Any:
    return CliRunner().invoke(app, ["cite", *arguments], input=given)


@pytest.mark.parametrize(
    ("text", "status", "said"),
    [
        ("IBC 2021 1010.2.11", 0, "The same in 2018: 1010.1.9.10"),
        ("IBC 2021 1010.2.11", 0, "Take care: in 2024 the number 1010.2.11 is Sensor release"),
        ("IBC 2021 1010.1.9.9", 1, "in 2021 it is 1010.2.12."),
        ("IBC 2021 1010.2.12 item 4", 0, "sensor-release/manual-release"),
        ("IBC 2021 1010.2.12 item 9", 1, "Nothing is encoded of item 9"),
        ("IBC 1010.2.12", 3, "No edition is named; the number is known in:"),
        ("1010.2.12", 3, "No code and no edition is named"),
        ("ADA 404.2.9", 0, "Edition 2010, the only one among the rules"),
        ("IBC 2012 1008.1.9", 1, "No edition 2012 is among the rules"),
        ("IBX 2021 1010.2.12", 1, "Did you mean ibc?"),
        ("IBC 2021 1010.2.12.3", 1, "It would lie in 1010.2.12"),
        ("IBC 2021 1010.2.11, see 2018 IBC", 3, "Not understood, or without a section: 2018 IBC."),
    ],
)
def test_an_answer(text: str, status: int, said: str) -> None:
    done = run(text)
    assert done.exit_code == status, done.output
    assert said in " ".join(done.output.split())
    assert max(len(line) for line in done.output.splitlines()) <= 80
    assert done.output == run(text).output


def test_a_text_is_read_from_standard_input() -> None:
    done = run("-", given="First IBC 2021 1010.2.11,\nthen 1010.2.12.")
    assert done.exit_code == 0
    assert "IBC 2021 1010.2.12\n" in done.output


def schema() -> dict[str, Any]:
    path = shipped_rules() / "schemas" / "citations.schema.json"
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(data)
    return data


@pytest.mark.parametrize(
    "text",
    ["IBC 2021 1010.1.9.9; IFC 2021 1010.2 and ADA 404.2.9", "1010.2.12", "IBC 2021 1010.2.12.3", "IBC 2012 1008.1.9"],
)
def test_the_json_fits_its_schema(text: str) -> None:
    data = json.loads(run(text, "--format", "json").output)
    validator = Draft202012Validator(schema())
    assert list(validator.iter_errors(data)) == []
    data["citations"][0]["surprise"] = 1
    assert list(validator.iter_errors(data))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no section is cited"),
        ("IBC 2021", "no section is cited, though IBC 2021 is named"),
        ("x" * 4001, "at most 4000 are read"),
    ],
)
def test_what_is_refused(text: str, message: str) -> None:
    done = run(text)
    assert isinstance(done.exception, ClausewayError)
    assert message in str(done.exception)
