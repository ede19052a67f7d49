"""Doors, columns and rows for tests of surveys."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random
from typing import Any

from clauseway.case.open import open_project, project_from_data
from clauseway.case.things import Given, Project
from clauseway.language.possible import Choice, Interval, Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact
from clauseway.survey.block import Block
from clauseway.survey.columns import fact_names
from clauseway.survey.plan import Plan
from support.rulebooks import rulebook

UNITS = {"length": ("in", "mm"), "time": ("s", "s"), "force": ("lbf", "N"), "area": ("ft2", "m2")}

DOOR: dict[str, Any] = {
    "codes": ["ibc@2021"],
    "building": {"sprinklers": "nfpa-13-throughout", "fire_alarm": True},
    "rooms": {"hall": {"group": "B"}, "street": {"outdoors": True}},
    "openings": {
        "front": {
            "complete": "all-below",
            "sides": {"in": {"space": "hall"}, "out": {"space": "street"}},
            "passages": {"go": {"from_side": "in", "to_side": "out", "role": "required", "serves": ["hall"]}},
            "leaves": {"leaf": {"panic_hardware": "none"}},
            "locks": {"magnet": {"kind": "electromagnetic-direct-pull", "leaf": "leaf", "secures": ["go"]}},
            "devices": {"button": {"kind": "push-button", "side": "in", "height": "40 in"}},
        }
    },
}  # fmt: skip


@cache
def demo() -> Project:
    return open_project("demo", rulebook())


def door(**more: Any) -> Project:
    return project_from_data({**DOOR, **more}, rulebook())


def some_names(book: Rulebook, project: Project, opening: str, rng: Random, many: int) -> list[str]:
    """Names of columns of an opening, most of them stated in its description, some with units."""
    possible = fact_names(project, opening, book.vocabulary)
    stated = [name for name, (key, _) in possible.items() if key in project.facts]
    names = sorted({*rng.sample(stated, min(len(stated), many)), *rng.sample(sorted(possible), many // 3)})
    found = []
    for name in names:
        key, kind = possible[name]
        fact = book.vocabulary.kinds[kind].facts[key[1]]
        with_unit = fact.sort == "quantity" and fact.unit in UNITS and rng.random() < 0.7
        found.append(f"{name} [{rng.choice(UNITS[fact.unit])}]" if with_unit else name)
    return found


def some_value(book: Rulebook, fact: Fact, own: Given | None, plain: bool, rng: Random) -> object:
    """A value as it may stand in a table, or nothing."""
    if rng.random() < 0.2:
        return None
    if plain:
        return float(rng.choice([0, 1, 2, 15, 30, 34, 40, 48, 50, 300, 1016, 1219]))
    if fact.sort in ("yes-no", "approval"):
        return rng.random() < 0.5
    if fact.sort in ("choice", "choices"):
        listed = sorted(book.vocabulary.lists[fact.values].values)
        near = [own.typed] if own is not None and own.typed in listed else []
        return rng.choice([*listed, *near * len(listed)])
    return own.typed if own is not None and " and " not in own.typed else None


def row_of(plan: Plan, block: Block, row: int) -> Project:
    """The opening of one row, described as in a file."""
    stated = [(key, plan.columns.value(key, block, row)) for key in plan.columns.all]
    facts = {key: Given(value, "x") for key, (known, value) in stated if known}
    return replace(plan.project, facts={**plan.project.facts, **facts})


def in_modes(book: Rulebook, project: Project, rng: Random) -> Project:
    """The project in two modes, with some of its facts stated for each of them, or for one alone."""
    facts, by_mode = dict(project.facts), dict(project.by_mode)
    for key, given in sorted(project.facts.items()):
        fact = book.vocabulary.kinds[project.things[key[0]].kind].facts[key[1]]
        other: Value = given.value
        if isinstance(other, bool):
            other = not other
        elif isinstance(other, Interval) and other.is_point and fact.sort == "quantity":
            number = min(max(other.low * rng.choice((0.5, 0.9, 1.1, 2.0)), fact.low), fact.high)
            other = Interval(number, number, other.system)
        elif isinstance(other, Choice):
            other = Choice(frozenset((rng.choice(sorted(book.vocabulary.lists[fact.values].leaves)),)))
        if rng.random() < 0.5 and other != given.value:
            del facts[key]
            by_mode[key] = {"open": given} | ({"unoccupied": Given(other, "x")} if rng.random() < 0.8 else {})
    return replace(project, facts=facts, by_mode=by_mode, modes=("open", "unoccupied"))
