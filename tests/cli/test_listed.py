"""Codes, facts, explanations and computations as JSON: of the published shape, and nothing passes that is misspelt."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

import clauseway
from clauseway.answers.explain import every_id, explain
from clauseway.answers.listed_data import (
    code_list_data,
    explanation_data,
    facts_data,
    facts_found,
    rulebook_data,
)
from clauseway.answers.sheet_data import computed_data
from clauseway.compute.registry import computations
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app


@cache
def library() -> Library:
    return clauseway.load()


def departures(name: str, data: Any) -> list[str]:
    schema = json.loads((shipped_rules() / "schemas" / f"{name}.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    whole = json.loads(json.dumps(data))
    return [f"{error.json_path}: {error.message}" for error in Draft202012Validator(schema).iter_errors(whole)]


def test_codes_have_the_published_shape() -> None:
    data = code_list_data(library())
    assert departures("code-list", data) == []
    (ibc,) = (code for code in data["codes"] if code["id"] == "ibc")
    assert ibc["editions"][-1] == "2024"
    assert departures("code-list", {**data, "surprise": 1})


def test_facts_have_the_published_shape() -> None:
    rulebook = clauseway.resolve(library(), ["ibc@2021"])
    data = facts_data(facts_found(rulebook.vocabulary), rulebook)
    assert departures("fact-list", data) == []
    assert len(data["facts"]) == len(rulebook.vocabulary.fact_names)
    heights = {fact["fact"]: fact for fact in data["facts"]}["device.height"]
    assert heights["unit"]
    assert facts_found(rulebook.vocabulary, "no fact has this in it") == []
    with pytest.raises(ValueError, match="desinger"):
        facts_found(rulebook.vocabulary, "", "desinger")


def test_every_explanation_has_the_published_shape() -> None:
    rulebook = clauseway.resolve(library(), ["ibc@2021"])
    ids = sorted(every_id(rulebook))[::40]
    assert len(ids) > 10
    for identity in ids:
        assert departures("explanation", explanation_data(explain(rulebook, identity), rulebook)) == [], identity


def test_a_rulebook_is_summed_up() -> None:
    rulebook = clauseway.resolve(library(), ["ibc@2021"])
    data = rulebook_data(rulebook)
    assert departures("rulebook-summary", data) == []
    assert data["digest"] == rulebook.digest
    assert "ibc.sensor-release" in data["arrangements"]


CALLS = [
    ("voltage-drop", ["length=50..150 ft", "current=0.5 A", "gauge=18"]),
    ("voltage-drop", ["length=?", "current=0.5 A", "gauge=18"]),
]


@pytest.mark.parametrize(("name", "words"), CALLS)
def test_a_sheet_has_the_published_shape(name: str, words: list[str]) -> None:
    data = computed_data(name, words)
    assert departures("computation", data) == []
    assert departures("computation", {**data, "surprise": 1})


def test_every_computation_that_can_be_tried_has_the_published_shape() -> None:
    tried = 0
    for name, record in computations().items():
        data = computed_data(name, [f"{argument.name}=?" for argument in record.arguments])
        assert departures("computation", data) == [], name
        tried += 1
    assert tried > 20


def test_a_computation_that_is_misspelt_is_refused_with_the_nearest() -> None:
    with pytest.raises(ClausewayError) as refused:
        computed_data("wire.voltage-dorp", [])
    assert refused.value.problems[0].nearest == "wire.voltage-drop"


@pytest.mark.parametrize(
    ("arguments", "schema"),
    [
        (["codes"], "clauseway-code-list/1"),
        (["facts", "sign"], "clauseway-facts/1"),
        (["explain", "lock.kind"], "clauseway-explanation/1"),
    ],
    ids=lambda each: each[0] if isinstance(each, list) else "",
)
def test_the_commands_write_it(arguments: list[str], schema: str, monkeypatch: pytest.MonkeyPatch) -> None:
    read = library()
    monkeypatch.setattr("clauseway.law.library.load", lambda *_: read)
    runs = [CliRunner().invoke(app, [*arguments, "--format", "json"]) for _ in range(2)]
    assert runs[0].exit_code == 0, runs[0].output
    assert runs[0].output == runs[1].output
    assert json.loads(runs[0].output)["schema"] == schema
    assert CliRunner().invoke(app, arguments).output != runs[0].output
