"""Computations inside rules: refused where they do not fit, undetermined where they have no result."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from clauseway.answers.affects import affected
from clauseway.answers.check import check
from clauseway.answers.explain import explain
from clauseway.answers.finding import Finding
from clauseway.answers.trace import trace
from clauseway.answers.trace_node import nodes_of
from clauseway.case.project import read_project
from clauseway.compute.registry import computations
from clauseway.language.possible import ANY_NUMBER, Interval, point
from clauseway.law.computations import dimension_of, printed_form
from clauseway.law.library import load
from clauseway.law.reach import around, reach
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import from_json
from clauseway.readers.computed import computed
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import node_from_data, read_yaml
from support.rulebooks import rulebook, small_rules

CODE = """\
code: mine
title: Mine
publisher: nobody
editions: [2023]
force: test
about: A code for tests.
"""
RULE = """\
id: one
code: mine
kind: requirement
title: A rule
about: A rule for tests.
subject: lock
sections: {2023: "1"}
basis: memory
parameters:
  thick: {value: 0.82 mm2}
  most: {value: 2 V}
  current_max: {value: 2 A}
  locks_max: {value: 3 locks}
  share: {value: 80 %}
conditions:
  so:
    require: REQUIRE
    says: {asks: it is so, met: It is so., unmet: It is not so.}
    remedy: Change it.
"""
PROBE = "probe.computing/"


def refused(tmp_path: Path, require: str) -> Problem:
    folder = tmp_path / "codes" / "mine"
    folder.mkdir(parents=True)
    (folder / "code.yaml").write_text(CODE, encoding="utf-8")
    (folder / "one.yaml").write_text(RULE.replace("REQUIRE", f">-\n      {require}"), encoding="utf-8")
    with pytest.raises(ClausewayError) as error:
        resolve(load([tmp_path], shipped=small_rules()), ["mine@2023"])
    return error.value.problems[0]


DROP = 'compute("wire.voltage-drop", length=lock.hardware_height, current=lock.current, area=thick'


@pytest.mark.parametrize(
    ("require", "found", "expected", "near"),
    [
        ('compute("wire.voltage-dorp", length=lock.delay) <= most', "is called wire.voltage-dorp", "a name",
         "wire.voltage-drop"),
        (DROP.replace("length=", "lenght=") + ") <= most", "takes no lenght", "length", "length"),
        (DROP.replace("=lock.current", "=lock.voltage") + ") <= most", "a voltage as current", "a current", ""),
        (DROP.replace("=lock.hardware_height", "=thick") + ") <= most", "an area as length", "a length", ""),
        (DROP.replace(", area=thick", "") + ") <= most", "without area", "no default", ""),
        (DROP + ") <= current_max", "a voltage compared with a current", "one dimension", ""),
        (DROP.replace("length=", "") + ") <= most", "an unnamed argument", "wire.voltage-drop", ""),
        ("compute(lock.kind) <= most", "without a name in quotes", "wire.voltage-drop", ""),
        (DROP + ", **lock) <= most", "a double star", "wire.voltage-drop", ""),
        ('compute("supply.standing-current", currents=lock.current) <= current_max', "where a list is taken",
         "for x in a list", ""),
        ('compute("supply.standing-current", currents=(l.voltage for l in opening.locks)) <= current_max',
         "a voltage as currents", "a current", ""),
        ('compute("supply.load-resistance", resistance=lock.voltage / lock.current, in_series=share)'
         " <= lock.voltage / lock.current", "as in_series", "a count with a noun", ""),
        ('max(lock.delay, x=lock.delay) <= most', "an argument with a name", "without names", ""),
    ],
)  # fmt: skip
def test_a_computation_that_does_not_fit(tmp_path: Path, require: str, found: str, expected: str, near: str) -> None:
    problem = refused(tmp_path, require)
    assert found in problem.found
    assert expected in problem.expected
    assert problem.nearest == near
    assert problem.place.line in (16, 17)


def test_every_computation_can_be_spoken_of_in_rules() -> None:
    for record in computations().values():
        for dimension in (record.result.dimension, *(argument.dimension for argument in record.arguments)):
            dimension_of(dimension)
        assert printed_form(record.name)


# --- deciding ---------------------------------------------------------------------------------------------


def found(**changes: object) -> dict[str, Finding]:
    """The findings of the probe on the magnet of an example, with some facts of it changed."""
    data = read_yaml(small_rules() / "examples" / "sensor-magnet.yaml").plain()
    data["openings"]["d"]["locks"]["magnet"] |= changes  # type: ignore[index, call-overload]
    book = rulebook()
    report = check(book, read_project(node_from_data(data, "doors"), book.vocabulary))
    return {
        finding.id.removeprefix(PROBE): finding
        for finding in report.answers[0].findings
        if finding.id.startswith(PROBE) and finding.subject.path.endswith("/magnet")
    }


@pytest.mark.parametrize(
    ("height", "current", "verdict"),
    [
        ("80 in", "1 A", "met"),
        ("80 in", "30 A", "unmet"),
        ("80 in", {"at_least": "0.1 A", "at_most": "1 A"}, "met"),
        ("80 in", {"at_least": "25 A", "at_most": "90 A"}, "unmet"),
        ("80 in", {"at_least": "1 A", "at_most": "90 A"}, "undetermined"),
        ("80 in", None, "undetermined"),
        (None, "1 A", "undetermined"),
        ("0 in", "1 A", "undetermined"),
        ({"at_least": "0 in", "at_most": "80 in"}, "1 A", "undetermined"),
        ("90 km", "1 A", "undetermined"),
    ],
)  # fmt: skip
def test_ranges_go_through_and_what_has_no_result_is_never_met(height: object, current: object, verdict: str) -> None:
    assert found(head_clearance=height, current=current)["drop"].verdict == verdict


def test_why_there_is_no_result_is_said() -> None:
    finding = found(head_clearance="0 in", current="1 A")["drop"]
    assert [asked.missing.kind for asked in finding.missing] == ["computation"]
    assert "wire.voltage-drop" in finding.says
    assert "length: 0 m is outside 0.01 m to 10000 m" in finding.missing[0].ask


def test_a_list_is_unknown_until_it_is_known_which_members_it_has() -> None:
    one = {"security_only": True, "current": "2 A"}
    assert found(**one)["together"].verdict == "met"
    assert found(**one | {"current": "4 A"})["together"].verdict == "unmet"
    assert found(**one | {"security_only": "unknown"})["together"].verdict == "undetermined"


def test_temperatures_are_degrees_celsius_in_rules() -> None:
    spans = {"length": point(61.0), "current": point(0.5), "area": point(8.23e-7)}
    warm, _ = computed("wire.voltage-drop", {**spans, "temperature": point(75.0)})
    cool, _ = computed("wire.voltage-drop", {**spans, "temperature": point(20.0)})
    assert warm.low / cool.low == pytest.approx(1 + 0.00393 * 55)
    assert computed("wire.voltage-drop", {**spans, "temperature": point(-300.0)})[0] == ANY_NUMBER


def test_printed_units_follow_those_that_were_typed() -> None:
    typed = {"clear_height": Interval(2.0, 2.0, "us"), "body_height": Interval(0.05, 0.05, "us")}
    assert computed("door.head-clearance", typed)[0].system == "us"


# --- seen from outside ------------------------------------------------------------------------------------


def test_the_graph_explain_and_affects_see_the_computation() -> None:
    book = rulebook()
    graph = reach(book)
    assert graph.nodes["wire.voltage-drop"]["kind"] == "computation"
    assert {f"{PROBE}drop", f"{PROBE}drop-least", "probe.computing"} <= set(around(graph, "wire.voltage-drop")[1])
    touched = affected(book, "wire.voltage-drop")
    assert touched.kind == "computation"
    assert touched.conditions == (f"{PROBE}drop", f"{PROBE}drop-least")
    assert f"{PROBE}together" in affected(book, "lock.current").conditions
    assert any(s.heading == "Computations it uses" for s in explain(book, f"{PROBE}drop").sections)
    explained = explain(book, "wire.voltage-drop")
    assert explained.kind == "computation"
    assert f"{PROBE}drop" in next(s.lines for s in explained.sections if s.heading == "Used by")


def test_the_trace_shows_the_formula_and_the_numbers_put_in() -> None:
    data = read_yaml(small_rules() / "examples" / "sensor-magnet.yaml").plain()
    magnet = data["openings"]["d"]["locks"]["magnet"]  # type: ignore[index, call-overload]
    magnet |= {"head_clearance": "2 m", "current": "30 A", "security_only": True}
    book = rulebook()
    project = read_project(node_from_data(data, "doors"), book.vocabulary)
    findings = {f.id: f for f in check(book, project).answers[0].findings if f.subject.path.endswith("/magnet")}
    steps = {node.op: node for node in nodes_of(trace(book, project, findings[f"{PROBE}drop"]))}
    step = steps["compute wire.voltage-drop"]
    assert "ΔV = 2·L·I·R'(A, T, s)" in step.note
    assert "2·2 m·30 A·R'(0.82 mm²" in step.note.replace("8.2e-07 m²", "0.82 mm²")
    assert step.value == "2.52 V"
    assert [child.what.partition(" = ")[0] for child in step.children] == ["area", "current", "length", "temperature"]
    listed = {node.op: node for node in nodes_of(trace(book, project, findings[f"{PROBE}together"]))}
    assert len(listed["listing"].children) == 1
    assert "Σ [30 A]" in listed["compute supply.standing-current"].note


def test_a_rulebook_with_computations_comes_back_from_its_text() -> None:
    assert from_json(rulebook().json) == rulebook()


LAZY = """\
import json, sys
sys.path.insert(0, sys.argv[1])
from clauseway.law.rulebook import from_json
from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.text.source import node_from_data
rulebook = from_json(open(sys.argv[2], encoding="utf-8").read())
data = json.load(open(sys.argv[3], encoding="utf-8"))
check(rulebook, read_project(node_from_data(data, "doors.json"), rulebook.vocabulary))
print("clauseway.compute.registry" in sys.modules)
"""


@pytest.mark.parametrize(("codes", "loaded"), [(("ibc@2021",), "False"), ((), "True")])
def test_computations_are_loaded_only_for_rules_that_compute(
    tmp_path: Path, codes: tuple[str, ...], loaded: str
) -> None:
    import clauseway

    (tmp_path / "rulebook.json").write_text(rulebook(*codes).json, encoding="utf-8")
    doors = read_yaml(small_rules() / "examples" / "sensor-magnet.yaml").plain()
    (tmp_path / "doors.json").write_text(json.dumps(doors), encoding="utf-8")
    files = [str(tmp_path / name) for name in ("rulebook.json", "doors.json")]
    engine = str(Path(clauseway.__file__).parents[1])
    done = subprocess.run(
        [sys.executable, "-I", "-c", LAZY, engine, *files], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == loaded
