"""What an arrangement needs: filled in at its bounds it is met, and one step outside it no longer is."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from clauseway.answers.decide_condition import guarded
from clauseway.answers.examples import described, examples_of, expected_in
from clauseway.case.open import read_openings
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.design.candidates import candidates_of
from clauseway.design.needs import FORBIDDEN, OPEN, PERMITTED, PROVIDE, REFUSED, Option, needs
from clauseway.design.variant import SetFact
from clauseway.language import core
from clauseway.language.possible import Interval
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Env
from clauseway.text.problems import ClausewayError


@cache
def library() -> Library:
    return load()


@cache
def book(edition: str) -> Rulebook:
    return resolve(library(), [f"ibc@{edition}"])


def demo(rulebook: Rulebook) -> Project:
    return read_project(read_openings("demo"), rulebook.vocabulary)


def terms(rulebook: Rulebook, option: Option, project: Project) -> list[tuple[core.Node, Env]]:
    """What the option's arrangement asks of its lock."""
    provision = rulebook.provisions[option.id]
    things = option.filled.project.things
    opening = things[option.subject.path.split("/locks/")[0]]
    env = {
        "building": things[""],
        "opening": opening,
        "passage": things[option.subject.passage],
        "lock": things[option.subject.path],
    }
    asked = [provision.recognised, provision.applies]
    asked += [guarded(provision, condition.own) for condition in provision.permitted + provision.conditions]
    return [(node, env) for node in asked]


def holds(rulebook: Rulebook, option: Option, project: Project, moved: SetFact | None = None) -> bool:
    variant = option.filled if moved is None else option.filled.changed(moved, rulebook.vocabulary)
    decider = variant.decider(rulebook, "", accept_memory=True)
    return all(decider.truth(node, env)[0] is True for node, env in terms(rulebook, option, project))


def outside(rulebook: Rulebook, option: Option) -> Iterator[tuple[str, SetFact, bool]]:
    """Each bound of each value to build to, with the value at it and the one a step beyond."""
    numbers = candidates_of(rulebook)
    for need in option.needs:
        for value in need.build_to:
            at = next(c for c in option.filled.changes if isinstance(c, SetFact) and c.key == (value.path, value.fact))
            fact = rulebook.vocabulary.kinds[value.kind].facts[value.fact]
            tried = sorted(numbers.numbers(f"{value.kind}.{value.fact}", fact), key=lambda v: v.low)
            below = [v for v in reversed(tried) if value.region.low is not None and v.low < value.region.low.low]
            above = [v for v in tried if value.region.high is not None and v.low > value.region.high.low]
            for edge, beyond in ((value.region.low, below), (value.region.high, above)):
                if isinstance(edge, Interval):
                    yield f"{need.id} {value.fact} at", replace(at, value=edge), True
                    for step in beyond[:1]:
                        yield f"{need.id} {value.fact} beyond", replace(at, value=step), False


def examine(rulebook: Rulebook, project: Project, opening: str) -> int:
    bounds = 0
    for option in needs(rulebook, project, opening).options:
        if option.standing != PERMITTED:
            standings = {need.standing for need in option.needs}
            assert (REFUSED in standings) is (option.standing == FORBIDDEN)
            continue
        assert holds(rulebook, option, project), option.id
        for name, moved, expected in outside(rulebook, option):
            assert holds(rulebook, option, project, moved) is expected, (option.id, name, moved)
            bounds += 1
    return bounds


@pytest.mark.parametrize("edition", ["2018", "2021"])
def test_every_option_of_the_demo_is_met_at_its_bounds_and_not_beyond(edition: str) -> None:
    rulebook = book(edition)
    project = demo(rulebook)
    assert sum(examine(rulebook, project, opening.path) for opening in project.of_kind("opening")) > 40


def generated(edition: str, seed: int, many: int) -> Iterator[Project]:
    """Openings as the examples of the rules describe them, in an order that depends on the seed."""
    rulebook = book(edition)
    code = library().codes["ibc"]
    examples = [e for name in sorted(code.provisions) for e in examples_of(library(), code, name)]
    random.Random(seed).shuffle(examples)
    for example in [e for e in examples if expected_in(e, code, rulebook)][:many]:
        try:
            project = described(example, rulebook)
        except ClausewayError:
            continue
        if "openings/d" in project.things:
            yield project


def test_options_of_generated_openings_are_met_at_their_bounds() -> None:
    assert sum(examine(book("2021"), project, "openings/d") for project in generated("2021", 7, 25)) > 50


@pytest.mark.long
def test_options_of_many_generated_openings_are_met_at_their_bounds() -> None:
    assert sum(examine(book("2021"), project, "openings/d") for project in generated("2021", 11, 500)) > 1000


def test_what_is_asked_comes_from_the_clause() -> None:
    rulebook = book("2021")
    option = next(o for o in needs(rulebook, demo(rulebook), "openings/d102").options if o.id == "ibc.sensor-release")
    lines = {value.fact: value.words for need in option.needs for value in need.build_to}
    assert lines["height"] == "between 40 in and 48 in"
    assert lines["distance"] == "at most 60 in"
    assert lines["hold_time"] == "at least 30 s"
    assert lines["sign_text"] == "PUSH TO EXIT"
    assert lines["how"] == "interrupts-lock-power"


def test_an_unknown_fact_of_the_building_keeps_an_option_open_and_asks_for_it() -> None:
    rulebook = book("2018")
    project = demo(rulebook)
    facts = {key: given for key, given in project.facts.items() if key[1] not in ("sprinklers", "automatic_detection")}
    options = needs(rulebook, replace(project, facts=facts), "openings/d102").options
    delayed = next(option for option in options if option.id == "ibc.delayed-egress")
    assert delayed.standing == "depends"
    asked = {asked.missing.name for need in delayed.needs if need.standing == OPEN for asked in need.missing}
    assert {"sprinklers", "automatic_detection"} <= asked


def test_what_the_use_of_a_space_refuses_is_said() -> None:
    rulebook = book("2021")
    options = {option.id: option for option in needs(rulebook, demo(rulebook), "openings/d102").options}
    refused = [need for need in options["ibc.controlled-egress"].needs if need.standing == REFUSED]
    assert [need.id for need in refused][:1] == ["ibc.controlled-egress/group"]
    assert refused[0].says == "The door serves a space that is not of Group I-1 or I-2."


def test_an_opening_without_a_lock_is_given_one() -> None:
    rulebook = book("2021")
    project = demo(rulebook)
    lists = {key: listed for key, listed in project.lists.items() if key != ("openings/d102", "locks")}
    found = needs(rulebook, replace(project, lists=lists), "openings/d102")
    assert {option.subject.path for option in found.options} == {"openings/d102/locks/new-lock"}
    sensor = next(option for option in found.options if option.id == "ibc.sensor-release")
    assert sensor.standing == PERMITTED
    assert any(need.standing == PROVIDE for need in sensor.needs)
