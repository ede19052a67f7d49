"""Does it work: engineering practice answers beside the codes, changes none of their verdicts, and decides no more
than is described."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.answers.check import check
from clauseway.answers.finding import COMPLIES, NOT_APPLICABLE, UNMET, Answer, Report
from clauseway.answers.report import report_data
from clauseway.case.blank import blank_file
from clauseway.case.project import read_project
from clauseway.compute import wire
from clauseway.compute.units import FOOT
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Decider
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data, read_yaml

BASE = "wired-magnet"


@cache
def book(*codes: str) -> Rulebook:
    return resolve(load(), codes or ("ibc@2021",))


def described(name: str = BASE) -> Any:
    return read_yaml(shipped_rules() / "examples" / f"{name}.yaml").plain()


def put(data: Any, path: str, value: object) -> Any:
    *above, last = path.split(".")
    at = data
    for step in above:
        at = at.setdefault(step, {})
    if value is None:
        at.pop(last, None)
    else:
        at[last] = value
    return data


def report(data: Any, *codes: str) -> Report:
    rulebook = book(*codes)
    return check(rulebook, read_project(node_from_data(data, "doors"), rulebook.vocabulary))


def door(found: Report) -> Answer:
    return next(answer for answer in found.answers if answer.kind == "opening")


def supply(found: Report) -> Answer:
    return next(answer for answer in found.answers if answer.kind == "supply")


def codes_alone(found: Answer) -> list[Any]:
    return [finding for finding in found.findings if finding.code != "engineering"]


def test_engineering_never_changes_what_the_codes_say() -> None:
    good = door(report(described()))
    for path, value in (
        ("supplies.psu.voltage", "12 V"),
        ("openings.d.locks.magnet.cable_length", "3000 ft"),
        ("openings.d.holding_force_needed", "5000 lbf"),
        ("openings.d.locks.magnet.cable_length", None),
        ("supplies.psu.current_rating", None),
    ):
        changed = door(report(put(described(), path, value)))
        assert changed.verdict == good.verdict
        assert codes_alone(changed) == codes_alone(good) or path.endswith("voltage")
    assert good.works == "yes"


def test_an_opening_without_wiring_is_not_opened_to_doubt_by_engineering() -> None:
    """The lever latch complies and has no electric part; the sensor magnet complies and its wire is not described."""
    for name, works in (("lever-latch", "not-described"), ("sensor-magnet", "not-described")):
        found = report(described(name))
        assert door(found).verdict == COMPLIES
        assert door(found).works == works
        assert found.status == 0


@pytest.mark.parametrize(
    ("path", "value", "finding"),
    [
        ("openings.d.locks.magnet.voltage", "12 V", "lock-voltage/same-voltage"),
        ("openings.d.locks.magnet.cable_length", "900 ft", "lock-voltage/wire"),
        ("openings.d.locks.second.current", "3 A", "lock-voltage/at-the-lock"),
        ("openings.d.holding_force_needed", "601 lbf", "holding-force/enough"),
        ("openings.d.pressure_difference", "150 Pa", "released-door/opens"),
        ("openings.d.locks.magnet.on.loss-of-mains.within", "4 h", "not-held-by-battery/lets-go"),
    ],
)
def test_what_surely_does_not_work_is_said_and_ends_in_status_1(path: str, value: str, finding: str) -> None:
    found = report(put(described(), path, value))
    assert door(found).works == "no"
    unmet = [f for f in door(found).findings if f.id == f"engineering.{finding}" and f.verdict == UNMET]
    assert unmet
    assert all(f.remedy and f.says for f in unmet)
    assert found.status == 1


def test_a_supply_answers_for_itself_and_no_code_speaks_of_it() -> None:
    found = report(put(described(), "supplies.psu.current_rating", "1 A"))
    assert supply(found).verdict == NOT_APPLICABLE
    assert supply(found).works == "no"
    assert found.status == 1


def test_a_battery_that_is_too_small_and_one_whose_load_is_not_known() -> None:
    assert supply(report(put(described(), "supplies.psu.battery_capacity", "4 Ah"))).works == "no"
    assert supply(report(put(described(), "supplies.psu.other_load", None))).works == "undetermined"


def test_a_magnet_at_the_head_lowers_the_clearance_that_the_code_asks_about() -> None:
    """80 in clear less 2.5 in of magnet are 77.5 in: the code fails it by what engineering computed."""
    data = put(described(), "openings.d.locks.magnet.hangs_below_head", "2.5 in")
    finding = next(f for f in door(report(data)).findings if f.id == "ibc.projections/head-clearance")
    assert finding.verdict == UNMET
    assert "77.5 in" in finding.says
    stated = put(data, "openings.d.locks.magnet.head_clearance", "80 in")
    assert any(f.id == "described.head-clearance/agrees" for f in door(report(stated)).findings)


def test_the_drop_on_a_shared_cable_is_that_of_the_chain() -> None:
    """Locks at 100 and 150 ft on one pair; segment by segment it is the same number."""
    expected = wire.chain_drop((100 * FOOT, 50 * FOOT), (0.25, 0.25), 0.82309e-6)
    rulebook = book()
    project = read_project(node_from_data(described(), "doors"), rulebook.vocabulary)
    decider = Decider(rulebook, project)
    finding = next(
        f
        for f in door(check(rulebook, project)).findings
        if f.id == "engineering.lock-voltage/wire" and f.subject.path.endswith("/magnet")
    )
    assert f"{expected:.3f} V" in finding.says
    assert decider.project is project


def test_a_derived_value_is_a_share_of_the_rated_voltage_unless_the_data_sheet_says_otherwise() -> None:
    low = put(described(), "supplies.psu.voltage", "22 V")
    assert door(report(low)).works == "no"
    for lock in ("magnet", "second"):
        put(low, f"openings.d.locks.{lock}.least_voltage", "20 V")
    assert door(report(low)).works == "yes"
    high = put(described(), "openings.d.locks.magnet.least_voltage", "23.5 V")
    assert door(report(high)).works == "no"
    assert not [f for f in door(report(high)).findings if f.id.startswith("described.least-voltage")]


def test_the_report_marks_engineering_as_practice() -> None:
    data = report_data(report(described()))
    assert data["rulebook"]["codes"] == ["ibc@2021"]
    assert data["rulebook"]["practice"] == ["engineering"]
    own = [f for f in data["openings"][0]["findings"] if f["id"].startswith("engineering.")]
    assert own
    assert {f["of"] for f in own} == {"practice"}
    assert data["openings"][0]["works"] == "yes"
    assert data["others"][0]["verdict"] == "not-applicable"


def test_where_sources_differ_the_parameter_shows_every_reading() -> None:
    readings = {
        key: [reading.value for reading in parameter.readings]
        for key, parameter in book().parameters.items()
        if parameter.readings
    }
    assert readings["engineering.supply-loading/margin"] == ["120 %", "125 %", "133 %", "150 %"]
    for key, values in readings.items():
        assert book().parameters[key].printed[0] in values, key
        assert len(values) >= 2, key


# --- whatever is decided stays so -------------------------------------------------------------------------

QUANTITIES = {
    "supplies.psu.voltage": ("V", (5, 12, 20.4, 22, 24, 27.6, 30)),
    "supplies.psu.current_rating": ("A", (0.5, 1, 1.625, 2, 5)),
    "supplies.psu.other_load": ("A", (0, 0.4, 0.7, 1.1, 3)),
    "supplies.psu.battery_capacity": ("Ah", (1, 4, 4.5, 7, 30)),
    "openings.d.locks.magnet.voltage": ("V", (12, 24)),
    "openings.d.locks.magnet.current": ("A", (0.1, 0.25, 0.5, 2)),
    "openings.d.locks.second.current": ("A", (0.1, 0.25, 3)),
    "openings.d.locks.magnet.cable_length": ("ft", (0, 1, 100, 150, 500, 751, 2000)),
    "openings.d.locks.second.cable_length": ("ft", (1, 100, 900)),
    "openings.d.locks.magnet.holding_force": ("lbf", (300, 500, 600)),
    "openings.d.holding_force_needed": ("lbf", (250, 500, 600, 601)),
    "openings.d.pressure_difference": ("Pa", (0, 12, 60, 90, 120)),
    "openings.d.leaves.leaf.closer_force": ("lbf", (0, 5, 8, 22, 30)),
    "openings.d.leaves.leaf.width": ("in", (1, 32, 36, 48)),
}
CHOICES = {
    "cables.c1.conductor_size": ("AWG 24", "AWG 18", "AWG 12"),
    "supplies.psu.kind": ("dc", "ac", "poe"),
    "supplies.psu.rectifier": ("none", "bridge", "bridge-filtered"),
    "supplies.psu.standby_battery": (True, False),
    "supplies.psu.standby_as": ("ul-294-level-2", "ul-294-level-4", "fire-alarm"),
    "supplies.psu.class_2_marked": (True, False),
    "openings.d.locks.magnet.cable": ("c1", "none"),
    "openings.d.locks.magnet.kind": ("electromagnetic-shear", "electric-strike", "mechanical-lock"),
}


def drawn(rng: Random) -> tuple[Any, Any]:
    """A description with unknowns and ranges, and one of its completions."""
    partial, whole = described(), described()
    for path, (unit, values) in QUANTITIES.items():
        if rng.random() < 0.5:
            continue
        value = rng.choice(values)
        low = rng.choice([v for v in values if v <= value])
        high = rng.choice([v for v in values if v >= value])
        spread = {"at_least": f"{low} {unit}", "at_most": f"{high} {unit}"}
        said = rng.choice([None, f"{value} {unit}", f"{value} {unit}", spread, spread])
        put(whole, path, f"{value} {unit}")
        put(partial, path, said)
    for path, options in CHOICES.items():
        if rng.random() < 0.8:
            continue
        option = rng.choice(options)
        put(whole, path, option)
        put(partial, path, rng.choice([None, option]))
    if rng.random() < 0.15:
        put(partial, "supplies.psu.complete", "false")
    if rng.random() < 0.15:
        put(partial, "cables.c1.complete", "false")
    return partial, whole


def verdicts(found: Report) -> dict[tuple[str, str, str], str]:
    return {
        (f.id, f.subject.path, f.subject.passage): f.verdict
        for answer in found.answers
        for f in answer.findings
        if f.code == "engineering"
    }


WORDS = {"met": "met", "not-applicable": "met", "unmet": "unmet", "undetermined": "undetermined"}


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_what_engineering_decides_holds_on_every_completion(seed: int) -> None:
    partial, whole = drawn(Random(seed))
    before, after = verdicts(report(partial, "ada@2010")), verdicts(report(whole, "ada@2010"))
    assert before.keys() == after.keys()
    for key, verdict in before.items():
        if verdict in ("met", "unmet", "not-applicable"):
            assert WORDS[after[key]] == WORDS[verdict], key


def test_the_drawn_descriptions_decide_much_and_leave_much_open() -> None:
    seen = [v for seed in range(40) for v in verdicts(report(drawn(Random(seed))[0], "ada@2010")).values()]
    for verdict in ("met", "unmet", "undetermined", "not-applicable"):
        assert seen.count(verdict) > len(seen) / 20, verdict


# --- a person's own figures -------------------------------------------------------------------------------

LAYER = """\
layer: HOUSE
title: The house rules of an invented owner
code: engineering
changes:
  - {at: lock-voltage/parameters/drop_share, set: SHARE, was: 10 %, cite: "H 1", direction: stricter}
"""


@pytest.mark.parametrize(("share", "verdict"), [("5 %", "met"), ("3 %", UNMET)])
def test_common_figures_are_overridden_by_a_layer_and_the_finding_says_so(
    tmp_path: Path, share: str, verdict: str
) -> None:
    """The wire takes 0.798 V of 24 V, which is 3.3 %."""
    (tmp_path / "jurisdictions" / "house").mkdir(parents=True)
    layer = tmp_path / "jurisdictions" / "house" / "house.yaml"
    layer.write_text(LAYER.replace("SHARE", share), encoding="utf-8")
    rulebook = resolve(load([tmp_path]), ["ibc@2021"], ["HOUSE"])
    project = read_project(node_from_data(described(), "doors"), rulebook.vocabulary)
    findings = door(check(rulebook, project)).findings
    wires = [f for f in findings if f.id == "engineering.lock-voltage/wire" and f.subject.path.endswith("magnet")]
    assert [f.verdict for f in wires] == [verdict]
    used = wires[0].parameters["drop_share"]
    assert (used.value, [change.layer for change in used.history]) == (share, ["HOUSE"])


def test_a_reading_rests_on_a_source_that_is_listed(tmp_path: Path) -> None:
    folder = tmp_path / "codes" / "engineering"
    folder.mkdir(parents=True)
    text = (shipped_rules() / "codes" / "engineering" / "least-voltage.yaml").read_text(encoding="utf-8")
    wrong = text.replace("id: least-voltage", "id: hearsay").replace(
        "gives: lock.least_voltage", "gives: supply.voltage"
    )
    wrong = wrong.replace("less ten per cent, basis: practice", "x, basis: y")
    (folder / "hearsay.yaml").write_text(wrong, encoding="utf-8")
    with pytest.raises(ClausewayError, match="no source y"):
        resolve(load([tmp_path]), ["ibc@2021"])


def test_a_file_to_fill_in_asks_what_engineering_needs() -> None:
    text = blank_file(book(), "electromagnetic-direct-pull", "", "ibc@2021")
    for asked in ("supplies:", "battery_capacity:", "cable_length:", "hangs_below_head:", "closer_force:"):
        assert asked in text
