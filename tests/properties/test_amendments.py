"""Properties of amendments: any order of files, an inverse that restores, and no effect where nothing is reached."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.answers.check import check
from clauseway.answers.contrast import contrast
from clauseway.answers.drafting import flow, standing, was_of
from clauseway.answers.footing import Footing
from clauseway.answers.swing import swings
from clauseway.case.project import read_project
from clauseway.language.possible import Choice
from clauseway.law.folders import shipped_rules
from clauseway.law.laying import Terms
from clauseway.law.library import Library, load
from clauseway.law.meaning import meanings
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import Node, parse_yaml, read_yaml
from support.places import CITY_LAYER, utopia, write

CODE = "ibc@2021"
DOORS = ("sensor-magnet", "lever-latch")


@cache
def library() -> Library:
    return load()


@cache
def base() -> Rulebook:
    return resolve(library(), [CODE])


@cache
def targets() -> list[tuple[str, Node, str]]:
    """Every value of the code with its node and what it rests on, where one change and its inverse can say it all."""
    ground = Footing(CODE, (CODE,), "ibc", "2021", (), Terms())
    found = []
    for name, provision in standing(library(), ground).items():
        parameters = provision.get("parameters")
        for key, node in parameters.items() if parameters is not None else ():
            basis = node.get("basis") or provision.get("basis")
            form = base().parameters[f"ibc.{name}/{key}"].form
            if node.get("readings") is None and form != "text":
                found.append((f"{name}/parameters/{key}", node, flow(basis) if basis is not None else "memory"))
    assert len(found) > 100
    return found


def layered(*layers: tuple[str, str]) -> Rulebook:
    """The code under layers, each a jurisdiction of its own, without a file."""
    nodes = tuple(
        parse_yaml(f"layer: {name}\ncode: ibc\nchanges:\n  - {change}\n", f"mine/jurisdictions/{name}/a.yaml")
        for name, change in layers
    )
    return resolve(replace(library(), layers=nodes), [CODE], [name for name, _ in layers])


def other(node: Node, key: str) -> str:
    """Another value of the same kind as a parameter has."""
    value = node.get("value") or node
    if value.is_list:
        parameter = base().parameters[key]
        assert isinstance(parameter.value, Choice)
        members = list(value.elements())
        more = sorted(base().vocabulary.lists[parameter.form.partition(":")[2]].leaves - parameter.value.options)
        return flow(replace(value, value=[*members, replace(value, value=more[0])] if more else members[1:]))
    written = value.text or ""
    form, _, listed = base().parameters[key].form.partition(":")
    if form == "options":
        return next(name for name in sorted(base().vocabulary.lists[listed].leaves) if name != written)
    number, space, unit = written.partition(" ")
    assert space or number.isdigit(), written
    return f"97 {unit}".strip()


def pair(target: tuple[str, Node, str]) -> tuple[str, str, str]:
    """A change, its inverse, and the key of the value."""
    at, node, basis = target
    owner, _, name = at.partition("/parameters/")
    key = f"ibc.{owner}/{name}"
    was, new = was_of(node, "set"), other(node, key)
    also = node.get("also")
    second = f", also: {flow(also)}" if also is not None else ""
    there = f"{{at: {at}, set: {new}, was: {was}, cite: X 1, basis: published}}"
    back = f"{{at: {at}, set: {was}, was: {new}, cite: X 2, basis: {basis}{second}}}"
    return there, back, key


def simple(target: tuple[str, Node, str]) -> bool:
    """Whether a value is written as a number with a unit, or a list: not 5'-0\" or 1/4 in."""
    value = (target[1].get("value") or target[1]).text
    return value is None or value.partition(" ")[0].replace(".", "").isdigit() or value.isidentifier()


def simple_targets() -> list[tuple[str, Node, str]]:
    return [each for each in targets() if simple(each)]


def restores(target: tuple[str, Node, str]) -> None:
    """An amendment changes its value, and its inverse on top of it restores all that the code means."""
    there, back, key = pair(target)
    once, both = layered(("XX", there)), layered(("XX", there), ("XX-A", back))
    assert once.parameters[key].value != base().parameters[key].value
    assert meanings(once, "ibc") != meanings(base(), "ibc")
    assert meanings(both, "ibc") == meanings(base(), "ibc")
    assert contrast(base(), both).every == ()
    assert [change.layer for change in both.parameters[key].history] == ["XX", "XX-A"], "both are remembered"


@settings(max_examples=6, deadline=None)
@given(st.data())
def test_an_amendment_and_its_inverse_restore_every_digest(data: st.DataObject) -> None:
    restores(data.draw(st.sampled_from(simple_targets())))


@pytest.mark.long
def test_every_amendment_of_a_value_and_its_inverse_restore_every_digest() -> None:
    for target in simple_targets():
        restores(target)


@cache
def door(name: str) -> Node:
    return read_yaml(shipped_rules() / "examples" / f"{name}.yaml")


def reaches_what_it_says(target: tuple[str, Node, str]) -> None:
    """Every finding that turns on a door rests on the one value that an amendment changed."""
    there, _, key = pair(target)
    amended = layered(("XX", there))
    found = contrast(base(), amended)
    assert {step.id for step in found.every} == {key}
    for name in DOORS:
        reports = [check(book, read_project(door(name), book.vocabulary)) for book in (base(), amended)]
        for swung in swings((base(), amended), reports, found).found:
            for turn in swung.turns:
                assert [step.id for step in turn.why] == [key], turn.finding


@settings(max_examples=4, deadline=None)
@given(st.data())
def test_no_verdict_changes_but_by_what_an_amendment_reaches(data: st.DataObject) -> None:
    reaches_what_it_says(data.draw(st.sampled_from(simple_targets())))


@pytest.mark.long
def test_no_amendment_of_a_value_changes_a_verdict_that_it_does_not_reach() -> None:
    for target in simple_targets():
        reaches_what_it_says(target)


def test_a_layer_that_touches_nothing_relevant_changes_no_verdict() -> None:
    quiet = "{at: stair-reentry, renumber: '9.9', was: '1010.2.7', cite: X 1}"
    section = base().provisions["ibc.stair-reentry"].citation.section
    amended = layered(("XX", quiet.replace("1010.2.7", section)))
    for name in DOORS[:2]:
        reports = [check(book, read_project(door(name), book.vocabulary)) for book in (base(), amended)]
        was, now = ([(f.id, f.subject, f.verdict) for a in report.answers for f in a.findings] for report in reports)
        assert was == now


@pytest.mark.parametrize("seed", range(3))
def test_the_order_of_files_on_disk_does_not_matter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    more = "layer: harbour\ncode: ibc\nbasis: published\nchanges:\n"
    root = write(
        utopia(tmp_path),
        {
            "XXABC/zz.yaml": more + "  - {at: sensor-release/parameters/hold_min, set: 40 s, was: 30 s, cite: O 9}\n",
            "XXABC/aa.yaml": more + "  - {at: sensor-release/parameters/height_min, set: 42 in, was: 41 in, "
            "cite: O 10,\n     from: 2025-06-01}\n",
            "XXABC/harbour.yaml": CITY_LAYER,
        },
    )
    terms = Terms({"today": "2025-07-01"})
    sorted_one = resolve(load([root]), [CODE], ["north-2021", "harbour"], terms)
    real, shuffle = Path.iterdir, random.Random(seed)

    def iterdir(self: Path) -> object:
        found = list(real(self))
        shuffle.shuffle(found)
        return iter(found)

    monkeypatch.setattr(Path, "iterdir", iterdir)
    assert resolve(load([root]), [CODE], ["north-2021", "harbour"], terms).digest == sorted_one.digest
    assert sorted_one.parameters["ibc.sensor-release/height_min"].printed == ("42 in",)
