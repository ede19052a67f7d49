"""No small mistake in the rules would go unnoticed: in a few provisions on every run, in all of them by hand."""

from __future__ import annotations

from functools import cache

import pytest

from clauseway.answers.mutation import OPEN, bench, fates, mutated, stale
from clauseway.law.equivalents import equivalents_of
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve

A_FEW = ("ibc.sensor-release", "ibc.closet-doors", "ibc.hardware-grasp")


@cache
def library() -> Library:
    return load()


@pytest.mark.parametrize("edition", ["2018", "2024"])
def test_a_few_provisions_have_no_open_mutants(edition: str) -> None:
    code = library().codes["ibc"]
    prepared = bench(library(), code, resolve(library(), [f"ibc@{edition}"]))
    explained = equivalents_of(library(), code)
    found = [fate for name in A_FEW for fate in fates(prepared, name, explained)]
    assert len(found) > 100
    assert [fate.mutant for fate in found if fate.status == OPEN] == []


@pytest.mark.long
@pytest.mark.parametrize("name", sorted(library().codes))
def test_no_mutant_is_open(name: str) -> None:
    code = library().codes[name]
    explained = equivalents_of(library(), code)
    whole = frozenset(f"{name}.{provision}" for provision in code.provisions)
    found = mutated(library(), code, code.editions, whole, explained)
    assert [f"{fate.edition}: {fate.mutant}" for fate in found if fate.status == OPEN] == []
    assert stale(explained, found, whole) == []
