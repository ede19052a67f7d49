"""The least change: what it proposes complies, nothing in it can be left out, and nothing cheaper would do."""

from __future__ import annotations

import random
from itertools import combinations

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.examples import described, examples_of, expected_in
from clauseway.case.open import project_from_data, read_openings
from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.design.candidates import candidates_of
from clauseway.design.effort import weight
from clauseway.design.repair import Repair, least_changes, typed
from clauseway.design.variant import SetFact, Variant, applied
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact
from clauseway.text.problems import ClausewayError
from support.doors import opening


@pytest.fixture(scope="module")
def rulebook() -> Rulebook:
    return resolve(load(), ["ibc@2018"])


@pytest.fixture(scope="module")
def demo(rulebook: Rulebook) -> Project:
    return read_project(read_openings("demo"), rulebook.vocabulary)


def complies(rulebook: Rulebook, project: Project, opening: str) -> bool:
    return check(rulebook, project, only=[opening]).answers[0].verdict == F.COMPLIES


def with_changes(rulebook: Rulebook, project: Project, changes: tuple[SetFact, ...]) -> Project:
    variant = Variant(project)
    for change in changes:
        variant = variant.changed(change, rulebook.vocabulary)
    return applied(variant, lambda change: typed(rulebook, change))


def examine(rulebook: Rulebook, project: Project, opening: str) -> Repair:
    found = least_changes(rulebook, project, f"openings/{opening}")
    before = check(rulebook, project, only=[opening]).answers[0].verdict
    assert (before == F.COMPLIES) is (bool(found.designs) and not found.designs[0].changes)
    assert [design.cost for design in found.designs] == sorted(design.cost for design in found.designs)
    for design in found.designs:
        assert complies(rulebook, design.project, opening)
        settings = tuple(change for change in design.changes if isinstance(change, SetFact))
        if len(settings) == len(design.changes) <= 5:
            for size in range(len(settings)):
                for some in combinations(settings, size):
                    assert not complies(rulebook, with_changes(rulebook, project, some), opening), some
    if not found.designs:
        assert found.blocks or not found.whole
    return found


def test_every_opening_of_the_demo_is_mended_or_told_why_not(rulebook: Rulebook, demo: Project) -> None:
    found = {opening.id: examine(rulebook, demo, opening.id) for opening in demo.of_kind("opening")}
    assert all(each.designs for name, each in found.items() if name != "d106")
    assert {block.id.rpartition("/")[2] for block in found["d106"].blocks} >= {"complete"}


def test_what_a_description_need_not_say_is_no_reason_to_change_a_door(rulebook: Rulebook) -> None:
    # Nobody says whether an exit sign marks the way in; only a sign that is there would contradict the description.
    project = project_from_data(opening("lever-latch"), rulebook)
    (kept,) = least_changes(rulebook, project, "openings/d").designs
    assert not kept.changes


def test_a_wrongly_wired_button_is_rewired(rulebook: Rulebook, demo: Project) -> None:
    first = least_changes(rulebook, demo, "openings/d102").designs[0]
    assert [(c.path.split("/", 2)[2], c.fact, typed(rulebook, c)) for c in first.changes if isinstance(c, SetFact)] == [
        ("devices/button/acts/magnet", "how", "interrupts-lock-power")
    ]
    assert first.cost == weight("wiring")


@pytest.mark.parametrize("opening", ["d102", "d103", "d113"])
def test_no_single_cheaper_change_would_do(rulebook: Rulebook, demo: Project, opening: str) -> None:
    # Brute force: every value that any rule compares any fact of the opening with, one fact at a time.
    least = least_changes(rulebook, demo, f"openings/{opening}").designs[0].cost
    candidates = candidates_of(rulebook)
    tried = 0
    for thing in demo.part(f"openings/{opening}").things:
        for fact in rulebook.vocabulary.kinds[thing.kind].facts.values():
            if not _is_cheaper(fact, least):
                continue
            given = demo.facts.get((thing.path, fact.name))
            current = given.value if given is not None else rulebook.vocabulary.unknown(fact)
            for value in candidates.values(f"{thing.kind}.{fact.name}", current):
                change = SetFact(thing.path, thing.kind, fact.name, value, weight(fact.effort))
                assert not complies(rulebook, with_changes(rulebook, demo, (change,)), opening), change
                tried += 1
    assert tried > 5


def _is_cheaper(fact: Fact, least: int) -> bool:
    return fact.chosen_by == "designer" and fact.sort not in ("approval", "date") and weight(fact.effort) < least


def test_what_is_given_and_forbids_is_named(rulebook: Rulebook, demo: Project) -> None:
    # Nothing a designer does opens a door whose use of space is not known to the checker.
    facts = {key: given for key, given in demo.facts.items() if key[1] not in ("group", "use")}
    found = least_changes(rulebook, Project(**{**vars_of(demo), "facts": facts}), "openings/d102")
    assert not found.designs
    assert any("group" in asked.fact for block in found.blocks for asked in block.finding.missing)


def vars_of(project: Project) -> dict[str, object]:
    return {name: getattr(project, name) for name in Project.__dataclass_fields__}


def generated(rulebook: Rulebook, seed: int, many: int) -> list[Project]:
    library = load()
    code = library.codes["ibc"]
    examples = [e for name in sorted(code.provisions) for e in examples_of(library, code, name)]
    examples = [e for e in examples if e.verdict == "unmet" and expected_in(e, code, rulebook)]
    random.Random(seed).shuffle(examples)
    found = []
    for example in examples[:many]:
        try:
            project = described(example, rulebook)
        except ClausewayError:
            continue
        if "openings/d" in project.things:
            found.append(project)
    return found


def test_generated_openings_are_mended_or_told_why_not(rulebook: Rulebook) -> None:
    found = [examine(rulebook, project, "d") for project in generated(rulebook, 3, 15)]
    assert any(each.designs and each.designs[0].changes for each in found)


@pytest.mark.long
def test_many_generated_openings_are_mended_or_told_why_not(rulebook: Rulebook) -> None:
    found = [examine(rulebook, project, "d") for project in generated(rulebook, 5, 500)]
    mended = sum(bool(each.designs and each.designs[0].changes) for each in found)
    blocked = sum(bool(each.blocks) for each in found)
    given_up = sum(not each.designs and not each.whole for each in found)
    print(f"{len(found)} openings: {mended} mended, {blocked} blocked, {given_up} given up")
    assert mended > 100
