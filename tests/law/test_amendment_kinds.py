"""What the language of amendments can say, kind by kind, where no adopted text in the rules says it yet."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from clauseway.answers.check import check
from clauseway.case.project import read_project
from clauseway.law.folders import shipped_rules
from clauseway.law.laying import Terms
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data, parse_yaml, read_yaml

SAYS = "says: {asks: it is so, met: It is so., unmet: It is not so.}, remedy: Make it so."
READ = "cite: X 1, basis: published"


@cache
def library() -> Library:
    return load()


def lay(*changes: str, head: str = "", on: str = "", edition: str = "2021", **dates: str) -> Rulebook:
    """The code with one layer of changes, as it stands on a day."""
    lines = "\n".join(f"  - {{{change}}}" for change in changes)
    node = parse_yaml(f"layer: mine\ncode: ibc\n{head}\nchanges:\n{lines}\n", "mine/jurisdictions/XX/a.yaml")
    known = {"today": on, **{name.replace("_", "-"): day for name, day in dates.items()}}
    terms = Terms({name: day for name, day in known.items() if day})
    return resolve(replace(library(), layers=(node,)), [f"ibc@{edition}"], ["mine"], terms)


@cache
def door() -> dict[str, object]:
    data = read_yaml(shipped_rules() / "examples" / "sensor-magnet.yaml").plain()
    assert isinstance(data, dict)
    return data


def verdicts(book: Rulebook, condition: str, **lock: object) -> set[str]:
    """What a condition comes to for the magnet of the base door, with facts of the lock changed."""
    import copy

    data = copy.deepcopy(door())
    data["openings"]["d"]["locks"]["magnet"].update(lock)  # type: ignore[index]
    report = check(book, read_project(node_from_data(data, "door"), book.vocabulary))
    found = {
        f.verdict for answer in report.answers for f in answer.findings if f.id == f"ibc.sensor-release/{condition}"
    }
    return found or {"not asked"}


def add(name: str, body: str, more: str = "") -> str:
    return f"at: sensor-release/conditions, add: {{{name}: {{{body}, {SAYS}}}}}, {READ}{more}"


def test_parts_of_one_law_start_on_different_days() -> None:
    """Kind 5."""
    first = f"at: sensor-release/parameters/hold_min, set: 40 s, was: 30 s, {READ}, from: 2022-01-01"
    second = f"at: sensor-release/parameters/height_max, set: 46 in, was: 48 in, {READ}, from: 2022-11-07"
    between = lay(first, second, on="2022-06-01")
    assert between.parameters["ibc.sensor-release/hold_min"].printed == ("40 s",)
    assert between.parameters["ibc.sensor-release/height_max"].printed[0] == "48 in"


def test_an_interim_rule_ends_on_its_day() -> None:
    """Kind 11."""
    interim = f"at: sensor-release/parameters/height_max, set: 46 in, was: 48 in, {READ}, until: 2023-01-01"
    assert lay(interim, on="2022-12-31").parameters["ibc.sensor-release/height_max"].printed[0] == "46 in"
    assert lay(interim, on="2023-01-01").parameters["ibc.sensor-release/height_max"].printed[0] == "48 in"
    with pytest.raises(ClausewayError, match="depends on the date of today"):
        lay(interim)


def test_a_repeal_within_days_says_what_it_repeals() -> None:
    """Kind 12."""
    made = f"at: sensor-release/parameters/height_max, set: 46 in, was: 48 in, {READ}, from: 2023-11-05"
    undone = f"at: sensor-release/parameters/height_max, set: 47 in, was: 46 in, {READ}, from: 2023-11-12"
    book = lay(undone, made, on="2023-12-01")
    history = book.parameters["ibc.sensor-release/height_max"].history
    assert [(change.was, change.now) for change in history] == [("48 in", "46 in"), ("46 in", "47 in")]


def test_a_condition_is_waived_with_a_proviso() -> None:
    """Kind 17."""
    waived = (
        f'at: sensor-release/conditions/listing, remove: true, was: {{item: "7"}}, scope: lock.staff_can_unlock, {READ}'
    )
    book = lay(waived)
    bad = {"listings": []}
    assert verdicts(book, "listing", staff_can_unlock=True, **bad) == {"not-applicable"}
    assert verdicts(book, "listing", staff_can_unlock=False, **bad) == {"unmet"}
    assert verdicts(book, "listing", **bad) == {"undetermined"}, "a missing fact waives nothing"


def test_applicability_is_narrowed_and_widened() -> None:
    """Kinds 23 and 24."""
    added = add("battery", "require: not lock.standby_battery", ", scope: building.high_rise")
    book = lay(added)
    provision = book.provisions["ibc.sensor-release"]
    condition = next(c for c in provision.conditions if c.label == "battery")
    assert type(condition.own).__name__ == "When"
    assert verdicts(book, "battery", standby_battery=True) == {"not-applicable"}
    wider = lay(f"at: sensor-release/parameters/listings, put_in: [UL 1034], was: [UL 294], {READ}")
    assert verdicts(wider, "listing", listings=["UL 1034"]) == {"met"}
    assert verdicts(resolve(library(), ["ibc@2021"]), "listing", listings=["UL 1034"]) == {"unmet"}


def test_a_chapter_goes_and_what_refers_to_it_must_be_redirected() -> None:
    """Kind 29: a reference to what is gone is an error until it is changed as well."""
    gone = f"at: hardware-height, remove: true, was: {{id: hardware-height}}, {READ}"
    assert "ibc.hardware-height" not in lay(gone).provisions
    needed = f"at: sensor-release, remove: true, was: {{id: sensor-release}}, {READ}"
    with pytest.raises(ClausewayError, match='no locking arrangement "sensor-release"'):
        lay(needed)


def test_a_definition_changes_with_all_that_depends_on_it() -> None:
    """Kind 30."""
    book = lay(f"at: occupant-load/parameters/gross_uses, take_out: [office], was: [{', '.join(gross())}], {READ}")
    assert "office" not in book.parameters["ibc.occupant-load/gross_uses"].printed
    assert book.parameters["ibc.occupant-load/gross_uses"].history


def gross() -> tuple[str, ...]:
    return resolve(library(), ["ibc@2021"]).parameters["ibc.occupant-load/gross_uses"].printed


def test_a_retroactive_duty_binds_from_its_deadline_whenever_the_permit_was() -> None:
    """Kind 36."""
    duty = add("battery", "require: not lock.standby_battery", ", comply_by: 2026-01-01")
    before = lay(duty, on="2025-12-31", permit_application="1990-05-01")
    after = lay(duty, on="2026-01-01", permit_application="1990-05-01")
    assert verdicts(before, "battery", standby_battery=True) == {"not asked"}
    assert verdicts(after, "battery", standby_battery=True) == {"unmet"}
    with pytest.raises(ClausewayError, match="depends on the date of today"):
        lay(duty, permit_application="1990-05-01")


GRANDFATHERED = (
    f"at: sensor-release/parameters, add: {{old_before: {{of: date, value: 2002-07-01}}}}, {READ}",
    add("battery", "where: not lock.installed_on < old_before, require: not lock.standby_battery"),
)


@pytest.mark.parametrize(
    ("installed", "verdict"),
    [("2002-06-30", "not-applicable"), ("2002-07-01", "unmet"), (None, "undetermined")],
)
def test_a_device_is_grandfathered_by_the_day_it_was_installed(installed: str | None, verdict: str) -> None:
    """Kinds 37 and 38."""
    facts = {"standby_battery": True, **({"installed_on": installed} if installed else {})}
    assert verdicts(lay(*GRANDFATHERED), "battery", **facts) == {verdict}


def test_one_of_several_options_is_enough() -> None:
    """Kind 40."""
    first, second = "{item: a, require: lock.staff_can_unlock}", "{item: b, require: not lock.standby_battery}"
    options = add("option", f"any_of: {{first: {first}, second: {second}}}")
    book = lay(options)
    assert verdicts(book, "option", staff_can_unlock=True, standby_battery=True) == {"met"}
    assert verdicts(book, "option", staff_can_unlock=False, standby_battery=True) == {"unmet"}
    assert verdicts(book, "option", staff_can_unlock=False) == {"undetermined"}


def test_guidance_may_not_change_law() -> None:
    """Kind 55."""
    with pytest.raises(ClausewayError, match="guidance cannot change ibc"):
        lay(f"at: sensor-release/parameters/hold_min, set: 40 s, was: 30 s, {READ}", head="binding: guidance")


def test_zero_false_and_empty_are_values() -> None:
    none = lay(f"at: sensor-release/parameters/barred_groups, set: [], was: [H], {READ}")
    assert none.parameters["ibc.sensor-release/barred_groups"].printed == ()
    zero = lay(f"at: sensor-release/parameters/hold_min, set: 0 s, was: 30 s, {READ}")
    assert zero.parameters["ibc.sensor-release/hold_min"].printed == ("0 s",)
    assert zero.parameters["ibc.sensor-release/hold_min"].history[0].was == "30 s"
