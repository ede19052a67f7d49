"""The list of what rests on memory: everything that does, each once, with its place."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.answers.coverage import BASES
from clauseway.answers.resting import counted, resting
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.clause_code import clause_library


def test_what_rests_on_memory_is_told_with_its_place(tmp_path: Path) -> None:
    library = clause_library(tmp_path)
    clauses = {name: code.clauses for name, code in library.codes.items()}
    found = resting(resolve(library, ["xx@2024"]), "memory", clauses)
    assert [(each.id, each.kind, str(each.place).rpartition("/")[2]) for each in found] == [
        ("xx.tall", "scope", "tall.yaml:1:1"),
        ("xx.tall/height", "condition", "tall.yaml:13:3"),
        ("xx.tall/least", "value", "tall.yaml:11:3"),
        ("xx.wide", "number", "wide.yaml:1:1"),
        ("xx.colour", "clause number", "clauses.yaml:10:3"),
    ]
    assert {kind: count for kind, count in counted(found).items() if count} == {
        "number": 1, "scope": 1, "condition": 1, "value": 1, "clause number": 1,
    }  # fmt: skip
    older = resting(resolve(library, ["xx@2021"]), "memory", clauses)
    assert [each.id for each in older] == ["xx.colour"]


@cache
def shipped() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def test_every_condition_and_value_is_known_in_exactly_one_way() -> None:
    rulebook = shipped()
    found = [each for basis in BASES for each in resting(rulebook, basis)]
    conditions = [each.id for each in found if each.kind == "condition"]
    assert sorted(conditions) == sorted(
        f"{p.name}/{c.label}" for p in rulebook.provisions.values() for c in p.permitted + p.conditions
    )
    assert sorted(each.id for each in found if each.kind == "value") == sorted(rulebook.parameters)
    assert sum(each.kind == "table" for each in found) == len(rulebook.tables)
    assert sum(each.kind == "derivation" for each in found) == len(rulebook.derivations)


def run(*arguments: str) -> str:
    done = CliRunner().invoke(app, ["rules", "list", *arguments])
    assert done.exit_code == 0, done.output
    return done.output


def test_the_list_ends_with_its_counts_within_80_columns() -> None:
    text = run("sensor-release", "--basis", "memory", "--code", "ibc@2024")
    assert "ibc.sensor-release/hold_min\n    value, IBC 2024 1010.2.11 item 4: 30 s\n    rules/codes/ibc/" in text
    assert "known from memory:" in text.splitlines()[-1] + text.splitlines()[-2]
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "ibc.delayed-egress" not in text
    assert "0 known as published." in run("sensor-release", "--basis", "published")


def test_the_json_fits_its_schema() -> None:
    data = json.loads(run("--basis", "memory", "--code", "ada@2010", "--format", "json"))
    schema = json.loads((shipped_rules() / "schemas" / "resting.schema.json").read_text(encoding="utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(data)) == []
    assert sum(data["counts"].values()) == len(data["rests"]) > 5
    data["surprise"] = 1
    assert list(Draft202012Validator(schema).iter_errors(data))


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--basis", "memry"], "did you mean: memory?"),
        (["--kind", "requirements"], "did you mean: requirement?"),
        (["--format", "json"], "without --basis"),
    ],
)
def test_what_is_refused(arguments: list[str], message: str) -> None:
    done = CliRunner().invoke(app, ["rules", "list", *arguments])
    assert isinstance(done.exception, ClausewayError)
    assert message in str(done.exception)
