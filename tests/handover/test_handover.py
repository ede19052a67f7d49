"""What an installer takes away: each expected value is a resolved parameter, nothing asked is lost or taken as fine."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.case.open import read_openings
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.handover.build import handover_of
from clauseway.handover.sheet import Handover, Step
from clauseway.language import core
from clauseway.language.possible import Interval, Value
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import ARRANGEMENT
from clauseway.model.vocabulary import PHASES
from clauseway.readers.decide import Decider
from clauseway.text.source import node_from_data

OPENINGS = ("d101", "d106", "d108", "d116")
BASES = ("sensor-magnet", "memory-care-door")


@cache
def library() -> Library:
    return load()


@cache
def book(*codes: str) -> Rulebook:
    return resolve(library(), codes or ("ibc@2021",))


@cache
def data_of(name: str) -> Any:
    return read_openings(name if name == "demo" else shipped_rules() / "examples" / f"{name}.yaml").plain()


def project_of(rulebook: Rulebook, data: Any) -> Project:
    return read_project(node_from_data(data, "doors.yaml"), rulebook.vocabulary)


@cache
def sheet(opening: str, base: str = "demo", *codes: str) -> Handover:
    rulebook = book(*codes)
    return handover_of(rulebook, project_of(rulebook, data_of(base)), f"openings/{opening}")


def every_sheet() -> Iterator[tuple[Rulebook, Project, Handover]]:
    for opening in OPENINGS:
        yield book(), project_of(book(), data_of("demo")), sheet(opening)
    for base in BASES:
        yield book(), project_of(book(), data_of(base)), sheet("d", base)


@pytest.mark.long
def test_the_same_of_every_door_of_the_demo_and_every_base(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(globals(), "OPENINGS", tuple(f"d{number}" for number in range(101, 117)))
    bases = (
        "sensor-magnet",
        "delayed-door",
        "memory-care-door",
        "bolted-pair",
        "stair-door",
        "panic-bar",
        "turnstile-lane",
    )
    monkeypatch.setitem(globals(), "BASES", bases)
    test_the_limits_of_a_step_are_resolved_parameters()
    test_at_its_limits_a_step_holds_and_one_step_outside_it_does_not()
    test_what_is_accepted_of_a_list_is_what_the_conditions_accept()
    test_a_step_stands_as_the_described_value_does()
    test_every_condition_that_is_asked_stands_somewhere()
    test_the_sequence_goes_through_its_phases_in_order()


def verdict_with(rulebook: Rulebook, project: Project, step: Step, value: Value) -> set[bool | None]:
    """The truths of all that is surely asked in a step, with another value of its fact."""
    mode = step.demands[0].mode
    trial = Decider(rulebook, project, mode, {(step.path, step.fact): value})
    return {d.term.truth(trial) for d in step.demands if d.mode == mode and not d.term.only_if}


# --- expected values ----------------------------------------------------------------------------------------


def test_the_limits_of_a_step_are_resolved_parameters() -> None:
    named = 0
    for rulebook, _, found in every_sheet():
        for step in found.acceptance:
            for limit in (end for span in step.accepted.spans for end in span if end is not None):
                if not limit.parameter:
                    continue
                named += 1
                parameter = rulebook.parameters[limit.parameter]
                assert isinstance(parameter.value, Interval)
                assert limit.value.low == parameter.value.low
                assert limit.words.startswith(parameter.printed[0])
                assert limit.words in step.accepted.words
    assert named > 50


def test_at_its_limits_a_step_holds_and_one_step_outside_it_does_not() -> None:
    tried = 0
    for rulebook, project, found in every_sheet():
        for step in found.acceptance:
            fact = rulebook.vocabulary.kinds[step.kind].facts[step.fact]
            if step.accepted.provisional or not step.surely_asked:
                continue
            for low, high in step.accepted.spans:
                for end, outward in ((low, -1.0), (high, 1.0)):
                    if end is None:
                        continue
                    beyond = 1.0 if fact.sort == "count" else max(abs(end.value.low) * 1e-3, 1e-4)
                    at = Interval(end.value.low, end.value.low, end.value.system)
                    out = end.value.low + outward * beyond
                    outside = verdict_with(rulebook, project, step, Interval(out, out, end.value.system))
                    tried += 1
                    assert (verdict_with(rulebook, project, step, at) == {True}) is end.included, step.id
                    assert outside != {True}, step.id
    assert tried > 50


def test_what_is_accepted_of_a_list_is_what_the_conditions_accept() -> None:
    tried = 0
    for rulebook, project, found in every_sheet():
        for step in found.acceptance:
            fact = rulebook.vocabulary.kinds[step.kind].facts[step.fact]
            if fact.sort != "yes-no" or step.accepted.provisional or not step.surely_asked:
                continue
            kept = {word for word, value in (("yes", True), ("no", False))
                    if verdict_with(rulebook, project, step, value) == {True}}  # fmt: skip
            tried += 1
            assert kept == set(step.accepted.values), step.id
    assert tried > 70


def test_a_step_stands_as_the_described_value_does() -> None:
    for _, _, found in every_sheet():
        for step in found.acceptance:
            assert step.reasons
            if step.verdict == F.MET:
                assert step.described, step.id
            if not step.described:
                assert step.verdict == F.UNDETERMINED, step.id


LAYER = """
layer: XX-A
title: An invented city
code: ibc
basis: published
changes:
  - {at: sensor-release/parameters/height_max, set: 46 in, was: 48 in, cite: "XX 12-3", direction: stricter}
  - {at: sensor-release/parameters/sign, set: PRESS TO LEAVE, was: PUSH TO EXIT, cite: "XX 12-3", direction: neutral}
"""


def test_an_amendment_of_a_parameter_changes_the_step(tmp_path: Path) -> None:
    place = tmp_path / "jurisdictions" / "XX-A"
    place.mkdir(parents=True)
    (place / "heights.yaml").write_text(LAYER, encoding="utf-8")
    amended = resolve(load([tmp_path]), ["ibc@2021"], ["XX-A"])
    found = handover_of(amended, project_of(amended, data_of("demo")), "openings/d101")
    before, after = sheet("d101").step("devices.button.height"), found.step("devices.button.height")
    assert before is not None
    assert after is not None
    assert before.accepted.words == "40 in (1016 mm) to 48 in (1219 mm)"
    assert after.accepted.words == "40 in (1016 mm) to 46 in"
    wording = found.step("devices.button.sign_text")
    assert wording is not None
    assert (wording.accepted.words, wording.verdict) == ("PRESS TO LEAVE", F.UNMET)


def test_two_codes_that_ask_of_one_fact_make_one_step() -> None:
    found = sheet("d101", "demo", "ibc@2021", "ada@2010")
    force = found.step("leaves.leaf.opening_force")
    assert force is not None
    assert {reason.citation.code for reason in force.reasons} == {"ibc", "ada"}
    assert len({step.id for step in found.acceptance}) == len(found.acceptance)


# --- what is not known, and what must not be lost -----------------------------------------------------------


def at(data: Any, path: str) -> tuple[Any, str]:
    *way, last = path.split(".")
    for step in way:
        data = data[step]
    return data, last


def test_a_fact_that_is_missing_is_never_fine() -> None:
    base = sheet("d", "sensor-magnet")
    tried = 0
    for step in base.acceptance[::3]:
        data = copy.deepcopy(data_of("sensor-magnet"))
        place = "openings.d." + step.id if not step.id.startswith("supplies.") else step.id
        try:
            holder, name = at(data, place)
            del holder[name]
        except (KeyError, TypeError):
            continue
        tried += 1
        found = handover_of(book(), project_of(book(), data), "openings/d")
        missing = found.step(step.id)
        assert missing is not None, step.id
        assert (missing.described, missing.verdict) == ("", F.UNDETERMINED), step.id
        assert missing.accepted.words == step.accepted.words, step.id
        if step.phase:
            lines = [line for line in found.sequence if line.verdict == F.UNDETERMINED]
            assert {reason.id for line in lines for reason in line.reasons} >= {r.id for r in step.reasons}, step.id
    assert tried > 7


def test_every_condition_that_is_asked_stands_somewhere() -> None:
    """The steps, the things to confirm and those to provide are all that a designer or installer can do."""
    for rulebook, project, found in every_sheet():
        shown = {reason.id for step in found.acceptance for reason in step.reasons}
        shown |= {each.reason.id for each in (*found.confirm, *found.provide)}
        report = check(rulebook, project, only=[found.opening])
        for finding in report.answers[0].findings:
            name, _, label = finding.id.rpartition("/")
            provision = rulebook.provisions.get(name)
            if provision is None or finding.verdict == F.NOT_APPLICABLE or finding.code in rulebook.practice:
                continue
            if provision.kind != ARRANGEMENT or finding.excused_by or finding.members:
                continue
            condition = next(c for c in provision.permitted + provision.conditions if c.label == label)
            facts = {node.fact for node in core.walk(condition.own) if isinstance(node, core.Get)}
            chosen = [rulebook.vocabulary.fact(dotted) for dotted in facts]
            if any(fact is not None and fact.chosen_by == "designer" and fact.name != "kind" for fact in chosen):
                assert any(each.startswith(finding.id) for each in shown) or _by_given(rulebook, finding), finding.id


def _by_given(rulebook: Rulebook, finding: F.Finding) -> bool:
    """Whether a finding came about by what is given alone, so that nobody at the door can change it."""
    designers = 0
    for key in finding.facts:
        fact = rulebook.vocabulary.fact(key.rpartition(": ")[2])
        designers += fact is not None and fact.chosen_by == "designer"
    return finding.verdict == F.MET and designers < len(finding.facts)


def test_a_group_without_any_member_is_to_be_provided() -> None:
    found = sheet("d103")
    assert [each.reason.id for each in found.provide] == ["ibc.sensor-release/manual-release"]
    assert found.provide[0].verdict == F.UNMET


def test_what_may_not_be_asked_is_told_apart() -> None:
    width = sheet("d106").step("clear_width")
    assert width is not None
    beds = next(reason for reason in width.reasons if reason.id == "ibc.door-clear-width/beds")
    assert "passage.beds_moved" in beds.only_if
    # The lower end is that of width_min; the upper one leaves the other exits their half (loss-of-one-exit).
    assert width.accepted.words == "about 32 in to about 12 ft 3.6 in"
    assert width.verdict == F.UNDETERMINED


def test_an_arrangement_that_is_not_met_still_asks_its_own_and_not_ordinary_hardware() -> None:
    ids = {step.id for step in sheet("d102").acceptance}
    assert "devices.button.acts.magnet.how" in ids
    assert "locks.magnet.by_hand.inside.always_opens" not in ids


# --- phases, signs, inspection ------------------------------------------------------------------------------


def test_the_sequence_goes_through_its_phases_in_order() -> None:
    for _, _, found in every_sheet():
        phases = [PHASES.index(line.phase) for line in found.sequence]
        assert phases == sorted(phases)
        for line in found.sequence:
            assert line.reasons or line.verdict in ("described", F.UNDETERMINED)
    assert {line.phase for line in sheet("d101").sequence} == set(PHASES)


def test_events_of_which_nobody_spoke_are_not_known() -> None:
    said = [line for line in sheet("d106").sequence if line.when == "Any of: manual-box."]
    assert [line.verdict for line in said] == [F.UNDETERMINED]


def test_the_sign_schedule_has_the_exact_wording_and_the_sizes() -> None:
    rows = {row.path.rpartition("/")[2]: row for row in sheet("d116").signs}
    settings = {each.fact: each for each in rows["notice"].settings}
    assert settings["text"].accepted == "PUSH UNTIL ALARM SOUNDS. DOOR CAN BE OPENED IN 15 SECONDS."
    assert settings["distance_above_hardware"].accepted == "0 in to 12 in (305 mm)"


def test_a_fire_door_is_inspected_once_it_is_in_use() -> None:
    data = copy.deepcopy(data_of("fire-door-strike"))
    data["openings"]["d"]["work"] = "new"
    rulebook = book("nfpa80@2016")
    found = handover_of(rulebook, project_of(rulebook, data), "openings/d")
    labels = {reason.id for step in found.inspection for reason in step.reasons}
    assert {"nfpa80.inspection/yearly", "nfpa80.inspection/no-holes", "nfpa80.closing-and-latching/latches"} <= labels
    assert not any(r.id.startswith("nfpa80.inspection/") for step in found.acceptance for r in step.reasons)
    often = next(step for step in found.inspection if step.fact == "since_inspection")
    assert often.accepted.spans[0][1] is not None
    assert often.accepted.spans[0][1].parameter == "nfpa80.inspection/interval_max"


def test_values_that_hold_in_one_mode_have_steps_of_their_own() -> None:
    data = copy.deepcopy(data_of("sensor-magnet"))
    data["modes"] = ["open", "closed-occupied"]
    action = data["openings"]["d"]["devices"]["button"]["acts"]["magnet"]
    del action["hold_time"]
    action["modes"] = {"open": {"hold_time": "30 s"}, "closed-occupied": {"hold_time": "20 s"}}
    found = handover_of(book(), project_of(book(), data), "openings/d")
    steps = {step.mode: step for step in found.acceptance if step.fact == "hold_time"}
    assert {mode: step.verdict for mode, step in steps.items()} == {"open": F.MET, "closed-occupied": F.UNMET}
    assert steps["open"].id == "devices.button.acts.magnet.hold_time@open"
    assert len([step for step in found.acceptance if step.fact == "height" and step.kind == "device"]) == 1


def test_the_vocabulary_tells_the_phase_of_every_event() -> None:
    assert all(listed.phase in PHASES for listed in book().vocabulary.lists["event"].values.values())
