"""The whole chain with an amendment in it: finding, trace, what it reaches, and what a record says of it."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.answers import finding as F
from clauseway.answers.affects import affected
from clauseway.answers.check import check
from clauseway.answers.record import Input, Settings, make_record, read_record
from clauseway.answers.trace import trace
from clauseway.answers.trace_node import TraceNode, nodes_of
from clauseway.answers.verify import compare, verify
from clauseway.case.open import DEMO, open_project, openings_path
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway_cli.app import app

LAYER = """
layer: XX-A
title: An invented city
code: ibc
basis: published
changes:
  - {at: sensor-release/parameters/height_max, set: 41 in, was: 48 in, cite: "XX 12-3", direction: stricter,
    from: 2020-01-01}
"""
HEIGHT = "ibc.sensor-release/manual-release"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("mine")
    place = root / "jurisdictions" / "XX-A"
    place.mkdir(parents=True)
    (place / "heights.yaml").write_text(LAYER, encoding="utf-8")
    return root


@cache
def plain() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


@pytest.fixture(scope="module")
def amended(folder: Path) -> Rulebook:
    return resolve(load([folder]), ["ibc@2021"], ["XX-A"])


def finding(rulebook: Rulebook, opening: str, identity: str) -> F.Finding:
    report = check(rulebook, open_project(DEMO, rulebook), only=[opening])
    return next(f for f in report.answers[0].findings if f.id == identity)


def test_the_amendment_makes_the_door_fail_and_is_named(amended: Rulebook) -> None:
    assert finding(plain(), "d101", HEIGHT).verdict == F.MET
    found = finding(amended, "d101", HEIGHT)
    assert found.verdict == F.UNMET
    change = found.parameters["height_max"].history[0]
    assert (change.layer, change.was, change.now, change.cite) == ("XX-A", "48 in", "41 in", "XX 12-3")
    assert change.place.line == 7


def test_the_trace_reaches_the_line_of_the_amendment(amended: Rulebook) -> None:
    found = finding(amended, "d101", HEIGHT)
    tree = trace(amended, open_project(DEMO, amended), found)
    steps = [change for node in nodes_of(tree) for change in node.history]
    assert {(change.layer, change.place.line, change.since) for change in steps} == {("XX-A", 7, "2020-01-01")}


def test_what_an_amendment_reaches(amended: Rulebook) -> None:
    project = open_project(DEMO, amended)
    found = affected(amended, "XX-A", check(amended, project))
    assert found.kind == "amendment"
    assert HEIGHT in found.conditions
    assert "ibc.free-egress/always-free" in found.conditions
    assert ("d101", HEIGHT) in {(opening, finding.id) for opening, finding in found.findings}
    assert not any(condition.startswith("ibc.threshold") for condition in found.conditions)


def test_a_record_names_the_amendment_as_the_cause(amended: Rulebook, folder: Path) -> None:
    given = Input("demo", openings_path(DEMO).read_text(encoding="utf-8"))
    settings = Settings(codes=("ibc@2021",))
    old = read_record(make_record(given, plain(), settings, "1.0"), "old")
    new = read_record(make_record(given, amended, Settings(codes=("ibc@2021",), layers=("XX-A",)), "1.0"), "new")
    causes = {cause for each in compare(old, new) if each.opening == "d101" for cause in each.causes}
    assert "amendment XX-A added" in causes
    assert any(each.opening == "d101" and (each.was, each.now) == ("met", "unmet") for each in compare(old, new))
    again = verify(new, "1.0", lambda codes, layers: resolve(load([folder]), codes, layers))
    assert again.status == 0


def test_the_traces_of_what_decides_are_in_the_record(amended: Rulebook) -> None:
    given = Input("demo", openings_path(DEMO).read_text(encoding="utf-8"))
    record = read_record(make_record(given, amended, Settings(codes=("ibc@2021",)), "1.0"), "r")
    report = record.report()
    nodes, roots = record.data["traces"]["nodes"], record.data["traces"]["roots"]
    wanted = {
        (answer["id"], f["id"], f["subject"]["id"], f["subject"].get("passage", ""))
        for section in ("openings", "others")
        for answer in report[section]
        for f in answer["findings"]
        if f["verdict"] not in ("met", "not-applicable") or f["excused_by"]
    }
    assert {(r["opening"], r["finding"], r["subject"] or "building", r["passage"]) for r in roots} == wanted
    reached, waiting = set(), [root["root"] for root in roots]
    while waiting:
        key = waiting.pop()
        if key not in reached:
            reached.add(key)
            waiting += nodes[key].get("children", [])
    assert reached == set(nodes)
    assert any(change["layer"] == "XX-A" for node in nodes.values() for change in node.get("amended_by", []))


def test_the_trace_of_what_waits_for_an_approval() -> None:
    rulebook = plain()
    project = open_project(shipped_rules() / "examples" / "delayed-door.yaml", rulebook)
    delay = ("openings/d/locks/delayed", "delay")
    facts = {**project.facts, delay: project.facts[delay].__class__(value_of("20 s", rulebook), "20 s")}
    waiting = project.__class__(**{name: getattr(project, name) for name in fields_of(project)} | {"facts": facts})
    report = check(rulebook, waiting, only=["d"])
    found = next(f for f in report.answers[0].findings if f.id == "ibc.delayed-egress/delay")
    assert found.verdict == F.NEEDS_APPROVAL
    tree = trace(rulebook, waiting, found)
    assert tree.value == F.NEEDS_APPROVAL
    open_ones = [node for node in nodes_of(tree) if node.op == "fact" and node.known_by == "unknown"]
    assert [node.fact for node in open_ones] == ["lock.approved_longer_delay"]
    assert "approved_longer_delay" in root_note(tree)


def value_of(text: str, rulebook: Rulebook) -> object:
    from clauseway.case.read_value import read_value
    from clauseway.text.source import node_from_data

    fact = rulebook.vocabulary.kinds["lock"].facts["delay"]
    given = read_value(node_from_data(text, "x"), fact, "lock.delay", rulebook.vocabulary)
    assert given is not None
    return given.value


def fields_of(project: object) -> list[str]:
    return list(type(project).__dataclass_fields__)  # type: ignore[attr-defined]


def root_note(tree: TraceNode) -> str:
    return tree.note


# --- waivers on a check, and a trace out of a record --------------------------------------------------------


def test_waivers_stand_on_top_of_a_check(tmp_path: Path) -> None:
    waivers = tmp_path / "waivers.yaml"
    waivers.write_text(
        "waivers:\n"
        f"  - {{finding: {HEIGHT}, opening: d102, granted_by: an official, evidence: a letter, until: 2026-12-31}}\n"
        f"  - {{finding: {HEIGHT}, opening: d103, granted_by: an official, evidence: a letter, until: 2026-01-31}}\n"
        f"  - {{finding: {HEIGHT}, opening: d101, granted_by: an official, evidence: a letter, until: 2026-12-31}}\n"
    )
    run = CliRunner().invoke(app, ["check", "demo", "--on", "2026-06-01", "--waivers", str(waivers)])
    assert run.exit_code == 1
    assert run.output.startswith("Waivers")
    assert "EXPIRED" in run.output
    assert "MATCHES NOTHING" in run.output
    shown = CliRunner().invoke(
        app, ["check", "demo", "--on", "2026-06-01", "--waivers", str(waivers), "--format", "json"]
    )
    data = json.loads(shown.output)
    assert [each["state"] for each in data["waivers"]] == ["stands", "EXPIRED", "MATCHES NOTHING"]
    assert next(o for o in data["openings"] if o["id"] == "d102")["verdict"] == "does-not-comply"
    schema = json.loads((shipped_rules() / "schemas" / "report.schema.json").read_text(encoding="utf-8"))
    assert list(Draft202012Validator(schema).iter_errors(data)) == []


def test_a_trace_out_of_a_record_needs_the_record_alone(tmp_path: Path, folder: Path) -> None:
    kept = tmp_path / "r.json"
    layers = ["--rules", str(folder), "--layer", "XX-A"]
    assert CliRunner().invoke(app, ["record", "demo", "-o", str(kept), *layers]).exit_code == 0
    shown = CliRunner().invoke(app, ["trace", str(kept), "d101", HEIGHT])
    assert shown.exit_code == 0, shown.output
    assert "XX 12-3" in shown.output
