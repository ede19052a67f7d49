"""any, all, count and sum over members that meet, fail or may meet; lists open and whole; doubtful members."""

from __future__ import annotations

import itertools
import math

import pytest

from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.language.possible import Interval, Truth
from clauseway.language.syntax import parse
from clauseway.law.elaborate import Scope, elaborate
from clauseway.law.lower import Context, subject_scope
from clauseway.law.parameters import Sources
from clauseway.model.provision import Parameter
from clauseway.readers.decide import Decider
from clauseway.text.problems import NOWHERE
from clauseway.text.source import node_from_data, parse_yaml
from support.rulebooks import rulebook

T, F, U = "true", "false", "unknown"
ANY = math.inf


def read(data: object) -> Project:
    return read_project(node_from_data(data, "doors"), rulebook().vocabulary)


def scope(subject: str) -> Scope:
    vocabulary = rulebook().vocabulary
    context = Context(vocabulary, "probe", "2023", Sources({}), Scope(vocabulary, {}, {}, {}, "probe"))
    found = subject_scope(parse_yaml(f"subject: {subject}", "rule"), subject, context)
    key = "probe.holding/groups"
    parameter: Parameter = rulebook().parameters[key]
    assert parameter.place != NOWHERE
    return found


def evaluate(text: str, project: Project, path: str = "openings/d") -> object:
    """The value of an expression about the thing at a path; the names of its owners are bound."""
    env = {"building": project.things[""]}
    at: str | None = path
    while at:
        env[project.things[at].kind] = project.things[at]
        at = project.owners.get(at)
    node, _ = elaborate(parse(text, NOWHERE), scope(project.things[path].kind))
    return Decider(rulebook(), project).value(node, env)[0]


def locks(members: str, whole: bool, count: int | None = None) -> Project:
    """An opening with a lock per letter of `members`, whose `self_locking` is true, false or unknown."""
    words = {"T": T, "F": F, "U": U}
    opening: dict[str, object] = {
        "locks": {f"l{i}": {"self_locking": words[letter]} for i, letter in enumerate(members)}
        or (None if not whole else "none")
    }
    if whole:
        opening["complete"] = ["locks"]
    if count is not None:
        opening["count"] = {"locks": count}
    return read({"openings": {"d": opening}})


MEMBERS = ["".join(letters) for n in range(4) for letters in itertools.combinations_with_replacement("TFU", n)]


def completions(members: str, more: list[str]) -> list[str]:
    fills = ["".join(fill) for fill in itertools.product(*("TF" if letter == "U" else letter for letter in members))]
    return [fill + extra for fill in fills for extra in more]


def agreed(truths: set[Truth]) -> Truth:
    return truths.pop() if len(truths) == 1 else None


MORE = ["", "T", "F", "TT", "TF", "FF"]


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("members", MEMBERS)
def test_any_is_exact(members: str, whole: bool) -> None:
    expected = agreed({"T" in fill for fill in completions(members, [""] if whole else MORE)})
    assert evaluate("any(l.self_locking for l in opening.locks)", locks(members, whole)) is expected


@pytest.mark.parametrize("whole", [True, False])
@pytest.mark.parametrize("members", [members for members in MEMBERS if members])
def test_all_is_exact(members: str, whole: bool) -> None:
    expected = agreed({"F" not in fill for fill in completions(members, [""] if whole else MORE)})
    assert evaluate("all(l.self_locking for l in opening.locks)", locks(members, whole)) is expected


@pytest.mark.parametrize("whole", [True, False])
def test_all_of_nothing_is_undetermined(whole: bool) -> None:
    assert evaluate("all(l.self_locking for l in opening.locks)", locks("", whole)) is None
    assert evaluate("all(l.self_locking for l in opening.locks if l.bond_sensor)", locks("T", whole)) is None
    assert evaluate("not any(not l.self_locking for l in opening.locks)", locks("", whole)) is (True if whole else None)


@pytest.mark.parametrize("members", MEMBERS)
def test_count_is_between_the_sure_and_the_possible(members: str) -> None:
    sure, possible = members.count("T"), members.count("T") + members.count("U")
    text = "count(l for l in opening.locks if l.self_locking)"
    assert evaluate(text, locks(members, True)) == Interval(sure, possible)
    found = evaluate(text, locks(members, False))
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (sure, ANY)


def test_a_claimed_count_bounds_what_is_not_listed() -> None:
    every = "count(l for l in opening.locks)"
    some = "count(l for l in opening.locks if l.self_locking)"
    project = locks("TF", False, 4)
    assert evaluate(every, project) == Interval(4, 4)
    assert evaluate(some, project) == Interval(1, 3)
    assert evaluate("any(l.self_locking for l in opening.locks)", locks("F", False, 1)) is False
    assert evaluate("any(l.self_locking for l in opening.locks)", locks("F", False, 2)) is None
    assert evaluate("all(l.self_locking for l in opening.locks)", locks("T", False, 1)) is True
    assert evaluate("all(l.self_locking for l in opening.locks)", locks("T", False, 2)) is None


def delays(*values: str, whole: bool = True, count: int | None = None) -> Project:
    opening: dict[str, object] = {"locks": {f"l{i}": _delay(value) for i, value in enumerate(values)}}
    if whole:
        opening["complete"] = ["locks"]
    if count is not None:
        opening["count"] = {"locks": count}
    return read({"openings": {"d": opening}})


def _delay(value: str) -> dict[str, str]:
    delay, _, counted = value.partition("?")
    return {"delay": delay or U, "delays_egress": counted or T}


@pytest.mark.parametrize(
    ("values", "low", "high"),
    [
        (("10 s", "5 s"), 15, 15),
        (("10 s", "?"), 10, ANY),
        (("10 s", "5 s?false"), 10, 10),
        (("10 s", "5 s?unknown"), 10, 15),
        (("10 s?unknown", "?unknown"), 0, ANY),
        ((), 0, 0),
    ],
)
def test_sum(values: tuple[str, ...], low: float, high: float) -> None:
    text = "sum(l.delay for l in opening.locks if l.delays_egress)"
    if not values:
        project = read({"openings": {"d": {"locks": "none"}}})
        assert evaluate(text, project) == Interval(0, 0)
        return
    found = evaluate(text, delays(*values))
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (low, high)
    found = evaluate(text, delays(*values, whole=False))
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (low, ANY)


def test_a_sum_over_a_counted_list_still_has_no_upper_bound() -> None:
    found = evaluate("sum(l.delay for l in opening.locks)", delays("10 s", whole=False, count=2))
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (10, ANY)


# --- filters --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("where", [T, F, U])
@pytest.mark.parametrize("body", [T, F, U])
def test_a_filter_makes_membership(where: str, body: str) -> None:
    truth = {T: True, F: False, U: None}
    found = {"l": {"self_locking": body, "bond_sensor": where}, "m": {"self_locking": T, "bond_sensor": T}}
    project = read({"openings": {"d": {"locks": found, "complete": ["locks"]}}})
    outside = {True: False, False: True, None: None}[truth[where]]
    either = True if True in (outside, truth[body]) else None if None in (outside, truth[body]) else False
    assert evaluate("all(l.self_locking for l in opening.locks if l.bond_sensor)", project) is either
    both = False if False in (truth[where], truth[body]) else None if None in (truth[where], truth[body]) else True
    single = 'any(l.self_locking for l in opening.locks if l.bond_sensor and l.kind == "electric-strike")'
    kinds = {"l": {"self_locking": body, "bond_sensor": where, "kind": "electric-strike"}}
    other = read({"openings": {"d": {"locks": kinds, "complete": ["locks"]}}})
    assert evaluate(single, other) is both


def test_siblings_are_told_apart() -> None:
    text = "any(any(a is not b and a.leaf is b.leaf for b in opening.locks) for a in opening.locks)"
    base = {"complete": ["locks", "leaves"], "leaves": {"x": {}, "y": {}}}
    for leaves, expected in ((("x", "x"), True), (("x", "y"), False), (("x", U), None), (("none", "none"), False)):
        found = {f"l{i}": {"leaf": leaf} for i, leaf in enumerate(leaves)}
        assert evaluate(text, read({"openings": {"d": {**base, "locks": found}}})) is expected


# --- lists read the other way round ---------------------------------------------------------------------


def devices(*sides: str, whole: bool) -> Project:
    opening: dict[str, object] = {
        "sides": {"inside": {}, "outside": {}},
        "devices": {f"d{i}": {"kind": "reader", "side": side} for i, side in enumerate(sides)},
    }
    if whole:
        opening["complete"] = ["devices"]
    return read({"openings": {"d": opening}})


INSIDE = "openings/d/sides/inside"


@pytest.mark.parametrize(
    ("sides", "low", "high"),
    [(("inside",), 1, 1), (("outside",), 0, 0), ((U,), 0, 1), (("inside", U, "outside"), 1, 2), (("none",), 0, 0)],
)
def test_an_inverse_list_has_those_that_name_it_and_perhaps_those_that_name_none(
    sides: tuple[str, ...], low: int, high: int
) -> None:
    text = "count(d for d in side.devices)"
    assert _of_side(text, devices(*sides, whole=True)) == Interval(low, high)
    found = _of_side(text, devices(*sides, whole=False))
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (low, ANY)


def _of_side(text: str, project: Project) -> object:
    vocabulary = rulebook().vocabulary
    context = Context(vocabulary, "probe", "2023", Sources({}), Scope(vocabulary, {}, {}, {}, "probe"))
    inner = subject_scope(parse_yaml("subject: passage", "rule"), "passage", context)
    egress, kind = inner.names["egress"]
    node, _ = elaborate(parse(text, NOWHERE), inner.bind("side", egress, kind))
    passage = next(iter(project.of_kind("passage")), None)
    if passage is not None:
        return Decider(rulebook(), project).value(node, {"passage": passage})[0]
    from clauseway.language import core

    node, _ = elaborate(parse(text, NOWHERE), inner.bind("side", core.Name("side"), kind))
    return Decider(rulebook(), project).value(node, {"side": project.things[INSIDE]})[0]


def test_the_other_opening_is_not_asked_for_siblings() -> None:
    data = {
        "openings": {
            "d": {"sides": {"inside": {}}, "devices": "none"},
            "e": {"sides": {"inside": {}}, "devices": {"x": {"side": "inside"}, "y": {}}},
        }
    }
    assert _of_side("count(d for d in side.devices)", read(data)) == Interval(0, 0)


def test_the_devices_of_an_unknown_side() -> None:
    opening = {"complete": ["devices"], "sides": {"inside": {}}, "devices": {"x": {"side": "inside", "kind": "reader"}}}
    unknown = read({"openings": {"d": {**opening, "passages": {"out": {"from_side": U}}}}})
    nowhere = read({"openings": {"d": {**opening, "passages": {"out": {"from_side": "none"}}}}})
    text = "any(d.ready_access for d in side.devices)"
    assert _of_side(text, unknown) is None
    assert _of_side(text, nowhere) is False


def test_lists_of_the_building_that_are_read_the_other_way_are_open() -> None:
    data = {"rooms": {"hall": {}}, "openings": {"d": {"passages": {"out": {"serves": ["hall"], "main_exit": T}}}}}
    project = read(data)
    assert evaluate("any(w.main_exit for w in room.served_by)", project, "rooms/hall") is True
    assert evaluate("all(w.main_exit for w in room.served_by)", project, "rooms/hall") is None


# --- keyed relations ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lock", "expected"),
    [
        ({"on": {"fire-alarm": {"unlocks": T}}}, True),
        ({"on": {"fire-alarm": {"unlocks": F}}}, False),
        ({"on": {"fire-alarm": {"unlocks": U}}}, None),
        ({"on": {"fire-alarm": {}}}, None),
        ({"on": {"detection": {"unlocks": T}}}, None),
        ({}, None),
        ({"complete": T}, False),
        ({"on": {"detection": {"unlocks": T}}, "complete": ["on"]}, False),
        ({"on": "none"}, False),
    ],
)
def test_a_key_that_nobody_named(lock: dict[str, object], expected: Truth) -> None:
    project = read({"openings": {"d": {"locks": {"l": lock}}}})
    assert evaluate('lock.on["fire-alarm"].unlocks', project, "openings/d/locks/l") is expected


def test_a_fact_without_a_value_for_absence_stays_open() -> None:
    project = read({"openings": {"d": {"locks": {"l": {"on": "none"}}}}})
    found = evaluate('lock.on["fire-alarm"].within', project, "openings/d/locks/l")
    assert isinstance(found, Interval)
    assert (found.low, found.high) == (0, ANY)


@pytest.mark.parametrize(
    ("acts", "complete", "expected"),
    [
        ({"l": {"how": "mechanical"}}, False, False),
        ({"l": {"how": "none"}}, False, True),
        ({}, False, None),
        ({}, True, True),
        ({"m": {"how": "mechanical"}}, True, True),
        ({"m": {"how": "mechanical"}}, False, None),
    ],
)
def test_a_slot_kept_by_another_thing(acts: dict[str, object], complete: bool, expected: Truth) -> None:
    device: dict[str, object] = {"acts": acts or None}
    if complete:
        device["complete"] = T
    data = {
        "openings": {"d": {"locks": {"l": {}, "m": {}}, "devices": {"x": device}, "complete": ["devices", "locks"]}}
    }
    text = 'any(x.acts[lock].how == "none" for x in opening.devices)'
    assert evaluate(text, read(data), "openings/d/locks/l") is expected
