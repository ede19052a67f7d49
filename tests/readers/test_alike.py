"""What is recalled of doors that are alike is, to the letter, what a reader finds that recalls nothing."""

from __future__ import annotations

import copy
from functools import cache
from random import Random
from typing import Any

import pytest

from clauseway.answers.check import answer_on, check, modes_of
from clauseway.case.open import DEMO, openings_path, project_from_data
from clauseway.case.things import Project
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.alike import Alike, Recalling
from clauseway.text.source import read_yaml

NAMES = (
    "1",
    "10",
    "1-a",
    "1.a",
    "100",
    "a",
    "A",
    "a1",
    "z",
    "corridor",
    "d",
    "d-1",
    "lock",
    "out",
    "2",
    "20",
    "3",
    "x",
)
"""Names of which one begins another, with what comes before and after a stroke behind it."""
DOORS = 14


@cache
def shipped() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def many(seed: int) -> Project:
    """Doors of the demo under other names, some twice, some with something left out, between rooms by chance."""
    rng = Random(seed)
    demo: Any = written_out(read_yaml(openings_path(DEMO)).plain())
    kinds = rng.sample(sorted(demo["openings"]), rng.choice((2, 4, 8)))
    rooms = sorted(demo["rooms"])
    names = rng.sample(NAMES, DOORS)
    demo["openings"] = {name: copy.deepcopy(demo["openings"][rng.choice(kinds)]) for name in names}
    for door in demo["openings"].values():
        for _ in range(rng.choice((0, 0, 1, 2))):
            leave_out(door, rng)
        for side in door.get("sides", {}).values():
            if isinstance(side, dict) and rng.random() < 0.2:
                side["space"] = rng.choice((*rooms, None))
    for _ in range(rng.choice((0, 3, 10))):
        leave_out(demo["rooms"][rng.choice(rooms)] or {}, rng)
    if rng.random() < 0.5:
        demo.pop("modes", None)
    for path in demo["paths"].values():
        path["openings"] = rng.sample(names, rng.choice((1, 2, 5)))
    return project_from_data(demo, shipped())


def written_out(demo: Any) -> Any:
    """The demo with the facts of sets where they are used."""
    sets = demo.pop("sets")

    def filled(at: Any) -> Any:
        if not isinstance(at, dict):
            return at
        own = {key: filled(inner) for key, inner in at.items() if key != "like"}
        return over(filled({**sets[at["like"]], "thing": None}), own) if "like" in at else own

    return without_things({key: filled(inner) for key, inner in demo.items()})


def over(base: Any, own: Any) -> Any:
    if not (isinstance(base, dict) and isinstance(own, dict)):
        return own
    return {**base, **{key: over(base.get(key), inner) for key, inner in own.items()}}


def without_things(at: Any) -> Any:
    return {key: without_things(inner) for key, inner in at.items() if key != "thing"} if isinstance(at, dict) else at


def leave_out(thing: dict[str, Any], rng: Random) -> None:
    """Make something below a thing unknown; what belongs to it keeps its name."""
    while thing:
        key = rng.choice(sorted(thing))
        inner = thing[key]
        if isinstance(inner, dict) and inner and "value" not in inner:
            thing = inner
            continue
        if isinstance(inner, str) and key not in ("space", "from_side", "to_side", "leaf", "side", "supply", "like"):
            del thing[key]
        return


@pytest.mark.parametrize("seed", range(4))
def test_what_is_recalled_is_what_is_found(seed: int) -> None:
    project = many(seed)
    readers = [Recalling(Alike(shipped(), project, mode, False)) for mode in modes_of(shipped(), project)]
    answers = [answer for answer in check(shipped(), project).answers if answer.kind == "opening"]
    for answer in answers:
        assert answer_on(readers, project.things[f"openings/{answer.id}"]) == answer


@pytest.mark.long
@pytest.mark.parametrize("seed", range(4, 120))
def test_what_is_recalled_is_what_is_found_in_many_buildings(seed: int) -> None:
    test_what_is_recalled_is_what_is_found(seed)
