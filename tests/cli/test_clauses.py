"""clauseway clauses: the table, its counts, its JSON, and what it refuses."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.clause_code import clause_rules


def run(*arguments: str) -> str:
    done = CliRunner().invoke(app, list(arguments))
    assert done.exit_code == 0, done.output
    return done.output


def refused(*arguments: str) -> str:
    done = CliRunner().invoke(app, list(arguments))
    assert isinstance(done.exception, ClausewayError), done.output
    return str(done.exception)


@pytest.fixture
def own(tmp_path: Path) -> str:
    """A folder of one's own rules with an invented code."""
    folder = clause_rules(tmp_path)
    for name in ("facts", "schemas"):
        shutil.rmtree(folder / name)
    return str(folder)


def test_the_table_in_80_columns(own: str) -> None:
    text = run("clauses", "xx@2021", "--rules", own)
    assert text == run("clauses", "xx@2021", "--rules", own)
    assert max(len(line) for line in text.splitlines()) <= 80
    assert text.splitlines()[3:6] == [
        "10.1.9              encoded       Width of a door",
        "                    by wide (item 1)",
        "10.1.9.1            encoded       Width of a door",
    ]
    assert "10.2                needs-human   Colour of a door [memory]\n" in text
    assert "Sections: 5; 2 encoded, 1 partly, 2 needs-human." in text


def test_only_what_a_person_must_look_at(own: str) -> None:
    text = run("clauses", "xx@2021", "--standing", "needs-human", "--rules", own)
    assert "Colour of a door" in text
    assert "Width of a door" not in text
    assert "Sections: 5;" in text


def test_a_code_alone_is_all_its_editions(own: str) -> None:
    text = run("clauses", "xx", "--rules", own)
    assert "An invented code 2021\n" in text
    assert "An invented code 2024\n" in text


def schema() -> dict[str, Any]:
    data: dict[str, Any] = json.loads(
        (shipped_rules() / "schemas" / "coverage.schema.json").read_text(encoding="utf-8")
    )
    Draft202012Validator.check_schema(data)
    return data


@pytest.mark.parametrize("arguments", [["ada@2010"], ["ibc"], ["--all"], ["nbcc@2020", "--standing", "partly"]])
def test_the_json_fits_its_schema(arguments: list[str]) -> None:
    data = json.loads(run("clauses", *arguments, "--format", "json"))
    validator = Draft202012Validator(schema())
    assert list(validator.iter_errors(data)) == []
    data["codes"][0]["surprise"] = 1
    assert list(validator.iter_errors(data))


def test_the_counts_of_every_code(own: str) -> None:
    text = run("clauses", "--all", "--rules", own)
    assert max(len(line) for line in text.splitlines()) <= 80
    row = next(line for line in text.splitlines() if line.startswith("xx@2021"))
    assert row.split() == ["xx@2021", "2", "1", "2", "0", "5"]
    data = json.loads(run("clauses", "--all", "--rules", own, "--format", "json"))
    assert {(each["code"], each["edition"]) for each in data["codes"]} >= {("ibc", "2015"), ("xx", "2024")}
    assert all("clauses" not in each for each in data["codes"])


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["ibc@2022"], "did you mean: 2021?"),
        (["icb@2021"], "did you mean: ibc?"),
        (["ibc@2021", "--standing", "need-human"], "did you mean: needs-human?"),
        ([], "no code is named"),
        (["ibc", "--all"], "--all alone"),
    ],
)
def test_what_is_refused(arguments: list[str], message: str) -> None:
    assert message in refused("clauses", *arguments)
