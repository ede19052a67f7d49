"""What differs between two rulebooks is named by what it does: harder, easier, new, gone, or only another number."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from clauseway.answers.check import check
from clauseway.answers.contrast import Contrast, Step, contrast
from clauseway.answers.swing import Swings, swings
from clauseway.case.project import read_project
from clauseway.language import core
from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.law.strictness import EASIER, HARDER, SAME, growth, order_of, pulls
from clauseway.text.source import Node, node_from_data, read_yaml
from support.places import write


@cache
def shipped() -> Library:
    return load()


@cache
def ibc(edition: str = "2021") -> Rulebook:
    return resolve(shipped(), [f"ibc@{edition}"])


def amended(root: Path, *changes: str) -> Rulebook:
    lines = "\n".join(f"  - {change}" for change in changes)
    write(root, {"XX/mine.yaml": f"layer: mine\ncode: ibc\nbasis: published\nchanges:\n{lines}\n"})
    return resolve(load([root]), ["ibc@2021"], ["mine"])


def steps(found: Contrast) -> list[tuple[str, str, str]]:
    return [(step.id, step.part, step.kind) for step in found.every]


HEIGHT = "sensor-release/parameters/height_max"
KEY = "ibc.sensor-release/height_max"


def test_a_rulebook_differs_in_nothing_from_itself() -> None:
    found = contrast(ibc(), ibc())
    assert found.every == found.known == ()
    assert found.same == len(ibc().provisions) + len(ibc().derivations) + len(ibc().tables)


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        (f"{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: X 1}}", "tightened"),
        (f"{{at: {HEIGHT}, set: 50 in, was: 48 in, cite: X 1}}", "loosened"),
        ("{at: sensor-release/parameters/height_min, set: 38 in, was: 40 in, cite: X 1}", "loosened"),
        ("{at: sensor-release/parameters/hold_min, set: 40 s, was: 30 s, cite: X 1}", "tightened"),
        ("{at: sensor-release/parameters/barred_groups, put_in: [B], was: [H], cite: X 1}", "tightened"),
        ("{at: sensor-release/parameters/listings, put_in: [UL 1034], was: [UL 294], cite: X 1}", "loosened"),
    ],
)
def test_a_value_tightens_or_loosens_by_where_it_stands(tmp_path: Path, change: str, kind: str) -> None:
    (step,) = contrast(ibc(), amended(tmp_path, change)).every
    assert (step.kind, step.declared, step.why) == (kind, False, ("mine, X 1",))
    (back,) = contrast(amended(tmp_path, change), ibc()).every
    assert (back.was, back.now) == (step.now, step.was)
    assert back.kind == {"tightened": "loosened", "loosened": "tightened"}[kind]


def test_conditions_come_and_go(tmp_path: Path) -> None:
    new = "{at: sensor-release/conditions, cite: X 1, add: {battery: {require: not lock.standby_battery,"
    new += " says: {asks: none, met: none, unmet: one}, remedy: none}}}"
    assert steps(contrast(ibc(), amended(tmp_path / "a", new))) == [
        ("ibc.sensor-release/battery", "condition", "added")
    ]
    gone = '{at: sensor-release/conditions/listing, remove: true, was: {item: "7"}, cite: X 1}'
    found = contrast(ibc(), amended(tmp_path / "b", gone))
    assert steps(found) == [("ibc.sensor-release/listing", "condition", "removed")]
    assert found.every[0].why == ("mine, X 1",)


def test_waived_in_part_is_looser(tmp_path: Path) -> None:
    gone = (
        '{at: sensor-release/conditions/listing, remove: true, was: {item: "7"}, scope: building.high_rise, cite: X 1}'
    )
    (step,) = contrast(ibc(), amended(tmp_path, gone)).every
    assert (step.id, step.kind) == ("ibc.sensor-release/listing", "loosened")


def test_what_cannot_be_proved_is_changed_or_what_the_amendment_says(tmp_path: Path) -> None:
    swap = "{at: sensor-release/permitted/not-barred-group/require, replace: lock.approved_arrangement,"
    swap += ' was: "all(s.group not in barred_groups for s in passage.serves)", cite: X 1'
    (step,) = [s for s in contrast(ibc(), amended(tmp_path / "a", swap + "}")).every if s.part == "permission"]
    assert (step.kind, step.declared) == ("changed", False)
    told = contrast(ibc(), amended(tmp_path / "b", swap + ", direction: stricter}"))
    (step,) = [s for s in told.every if s.part == "permission"]
    assert (step.kind, step.declared) == ("tightened", True)


def test_a_new_number_alone_is_renumbered_only(tmp_path: Path) -> None:
    found = contrast(ibc(), amended(tmp_path, '{at: sensor-release, renumber: "9.1", was: "1010.2.12", cite: X 1}'))
    assert found.only("renumbered") == ("ibc.sensor-release",)
    assert [(s.was, s.now) for s in found.every] == [("1010.2.12", "9.1")]


def test_a_cell_of_a_table(tmp_path: Path) -> None:
    at = "occupant-load-factors/rows/business/area"
    found = contrast(ibc(), amended(tmp_path, f"{{at: {at}, set: 100 sq ft, was: 150 sq ft, cite: X 1}}"))
    (step,) = found.every
    assert (step.id, step.part, step.kind) == ("ibc.occupant-load-factors/business/area", "cell", "changed")
    assert (step.was, step.now, step.why) == ("150 sq ft", "100 sq ft", ("mine, X 1",))


def test_editions_differ_as_their_files_say() -> None:
    found = contrast(ibc("2021"), ibc("2024"))
    every = steps(found)
    assert ("ibc.sensor-release/listings", "value", "loosened") in every
    assert ("ibc.elevator-lobby", "provision", "added") in every
    assert ("ibc.stair-reentry/power-loss", "condition", "added") in every
    assert all(step.kind != "known otherwise" for step in found.every)
    assert found.known


# --- terms ----------------------------------------------------------------------------------------------------

P, Q, R = (core.Get(core.Name("lock"), f"lock.{name}") for name in "pqr")


@pytest.mark.parametrize(
    ("a", "b", "order"),
    [
        (P, P, SAME),
        (P, core.And((P, Q)), HARDER),
        (core.And((P, Q)), Q, EASIER),
        (P, core.Or((P, Q)), EASIER),
        (core.Not(P), core.Not(core.Or((P, Q))), HARDER),
        (P, core.When(Q, P), EASIER),
        (core.When(Q, P), core.When(core.Or((Q, R)), P), HARDER),
        (core.And((P, Q)), core.And((P, R)), None),
        (core.And((P, core.Or((Q, R)))), core.And((P, Q)), HARDER),
        (P, core.TRUE, EASIER),
        (core.TRUE, P, HARDER),
        (core.FALSE, P, EASIER),
        (P, core.Labelled("x", "line", core.Unverified("y", P)), SAME),
        (core.When(Q, P), core.When(R, core.And((P, Q))), None),
    ],
)
def test_one_term_is_harder_only_where_its_form_proves_it(a: core.Node, b: core.Node, order: int | None) -> None:
    assert order_of(a, b) == order
    assert order_of(b, a) == (None if order is None else -order)


def test_what_a_larger_value_does() -> None:
    key = core.Parameter("x/y")
    assert list(pulls(core.Compare("<=", P, key), "x/y")) == [EASIER]
    assert list(pulls(core.Not(core.Compare("<=", P, key)), "x/y")) == [HARDER]
    assert list(pulls(core.When(core.Compare(">=", P, key), Q), "x/y")) == [EASIER]
    assert list(pulls(core.Compare("==", P, key), "x/y")) == [None]
    assert list(pulls(core.Compare("<=", P, core.Arithmetic("-", Q, key)), "x/y")) == [HARDER]
    assert list(pulls(core.Compare("<=", P, core.Arithmetic("*", Q, key)), "x/y")) == [None]
    assert growth(None, True) is None


# --- doors ----------------------------------------------------------------------------------------------------


def base(**button: str) -> Node:
    data = read_yaml(shipped_rules() / "examples" / "sensor-magnet.yaml").plain()
    assert isinstance(data, dict)
    data["openings"]["d"]["devices"]["button"].update(button)  # type: ignore[index, call-overload, union-attr]
    return node_from_data(data, "door.yaml")


def doors(a: Rulebook, b: Rulebook, node: Node) -> Swings:
    reports = [check(book, read_project(node, book.vocabulary)) for book in (a, b)]
    return swings((a, b), reports, contrast(a, b))


def test_a_door_changes_by_the_condition_and_the_amendment(tmp_path: Path) -> None:
    book = amended(tmp_path, f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "X 12-3"}}')
    found = doors(ibc(), book, base(height="47 in"))
    (door,) = found.verdicts
    assert (door.was, door.now) == ("complies", "does-not-comply")
    turned = {turn.finding: turn for turn in door.turns}
    assert (turned["ibc.sensor-release/manual-release"].was, turned["ibc.sensor-release/manual-release"].now) == (
        "met",
        "unmet",
    )
    for turn in door.turns:
        assert [step.id for step in turn.why] == [KEY], turn.finding
        assert turn.why[0].why == ("mine, X 12-3",)


def test_a_door_that_the_amendment_does_not_reach_stays(tmp_path: Path) -> None:
    book = amended(tmp_path, f'{{at: {HEIGHT}, set: 46 in, was: 48 in, cite: "X 12-3"}}')
    assert doors(ibc(), book, base(height="45 in")).found == ()
    assert doors(ibc(), book, base(height="unknown")).found == ()


def test_a_condition_that_is_gone_is_not_asked(tmp_path: Path) -> None:
    gone = '{at: sensor-release/conditions/manual-release, remove: true, was: {item: "4"}, cite: X 2}'
    (door,) = doors(ibc(), amended(tmp_path, gone), base(height="60 in")).verdicts
    turned = {turn.finding: (turn.was, turn.now, [step.kind for step in turn.why]) for turn in door.turns}
    assert turned["ibc.sensor-release/manual-release"] == ("unmet", "", ["removed"])
    assert turned["ibc.free-egress/always-free"][:2] == ("unmet", "met")
    assert isinstance(door.turns[0].why[0], Step)
