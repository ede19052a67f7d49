"""Bugs put into the checker on purpose: the completion property finds each of them, and nothing without them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from clauseway.case.things import Thing
from clauseway.language import core, possible
from clauseway.law.rulebook import Rulebook
from clauseway.readers import decide
from clauseway.readers.collection import Collection
from clauseway.readers.decide import Decider
from support.openings import contradictions, know
from support.rulebooks import rulebook

CASES = range(400)

Patch = pytest.MonkeyPatch
Bug = Callable[[Patch, Rulebook], Rulebook]


def found_in(book: Rulebook) -> list[object]:
    """What the property finds in a fixed set of cases, up to the first case that contradicts it."""
    for seed in CASES:
        found = contradictions(book, seed)
        if found:
            return list(found)
    return []


def unbounded_tolerance(patch: Patch, book: Rulebook) -> Rulebook:
    """The relative tolerance is taken against infinite bounds as well."""

    def at_most(a: float, b: float) -> bool:
        return a <= b + possible.TOLERANCE * max(abs(a), abs(b))

    patch.setattr(possible, "_at_most", at_most)
    return book


def equal_by_ends(patch: Patch, book: Rulebook) -> Rulebook:
    """`==` looks at the ends of the intervals only."""

    def equal(a: possible.Interval, b: possible.Interval) -> possible.Truth:
        ends = {x == y for x in (a.low, a.high) for y in (b.low, b.high)}
        return ends.pop() if len(ends) == 1 else None

    patch.setattr(possible, "equal", equal)
    return book


def open_lists_closed(patch: Patch, book: Rulebook) -> Rulebook:
    """A list that nobody called complete is taken to be so."""
    collection = Decider.collection

    def closed(self: Decider, node: core.Node, env: dict[str, Thing]) -> Collection:
        return replace(collection(self, node, env), least=0, most=0)

    patch.setattr(Decider, "collection", closed)
    return book


def pooled_excuse(patch: Patch, book: Rulebook) -> Rulebook:
    """An excuse takes what it needs from two arrangements: from each whatever that one meets."""

    def parts(name: str) -> tuple[core.Node, ...]:
        node = book.holds[name]
        return node.parts if isinstance(node, core.And) else (node,)

    holds = dict(book.holds)
    for code in ("ibc", "probe"):
        names = [name for name in holds if name.startswith(f"{code}.")]
        recognised = core.Or(tuple(book.provisions[name].recognised for name in names))
        met = core.Or(tuple(core.And(parts(name)[1:]) for name in names))
        holds.update({name: core.And((recognised, met)) for name in names})
    return replace(book, holds=holds)


def unknown_reference_is_none(patch: Patch, book: Rulebook) -> Rulebook:
    """A reference that nobody stated is taken to lead to nothing."""
    thing = Decider.thing

    def settled(self: Decider, node: core.Node, env: dict[str, Thing]) -> Thing:
        found = thing(self, node, env)
        if isinstance(node, core.Follow) and found.unseen is not None and not found.unseen.whole:
            return Thing(found.path, found.kind, "", absent=True)
        return found

    patch.setattr(Decider, "thing", settled)
    return book


def unknown_yes_no_is_no(patch: Patch, book: Rulebook) -> Rulebook:
    """A yes or no of a thing that a reference may lead to is taken to be no."""
    fact = Decider._fact

    def answered(self: Decider, thing: Thing, dotted: str, declared: object) -> object:
        value, gaps = fact(self, thing, dotted, declared)  # type: ignore[arg-type]
        return (False, gaps) if value is None and thing.unseen is not None else (value, gaps)

    patch.setattr(Decider, "_fact", answered)
    return book


def doubtful_members_are_in(patch: Patch, book: Rulebook) -> Rulebook:
    """A member of which it is not known whether it belongs is taken to belong."""
    collection = Decider.collection

    def sure(self: Decider, node: core.Node, env: dict[str, Thing]) -> Collection:
        found = collection(self, node, env)
        return replace(found, members=tuple(replace(member, belongs=True) for member in found.members))

    patch.setattr(Decider, "collection", sure)
    return book


def first_printed_value_only(patch: Patch, book: Rulebook) -> Rulebook:
    """A range is compared with the first of two printed values only."""

    def readings(a: possible.Interval, b: possible.Interval) -> list[tuple[possible.Interval, possible.Interval]]:
        return [(a, b)]

    patch.setattr(possible, "_readings", readings)
    return book


def absent_slot_is_unknown_no(patch: Patch, book: Rulebook) -> Rulebook:
    """What nobody said about a key is taken to be settled by absence."""
    slot = Decider._slot

    def settled(self: Decider, node: core.Slot, source: Thing, env: dict[str, Thing]) -> Thing:
        found = slot(self, node, source, env)
        return replace(found, absent=True) if found.path not in self.project.things else found

    patch.setattr(Decider, "_slot", settled)
    return book


BUGS: list[Bug] = [
    unbounded_tolerance, equal_by_ends, open_lists_closed, pooled_excuse, unknown_reference_is_none,
    unknown_yes_no_is_no, doubtful_members_are_in, first_printed_value_only, absent_slot_is_unknown_no,
]  # fmt: skip


@pytest.mark.parametrize("bug", BUGS, ids=lambda bug: bug.__name__)
def test_the_property_finds_the_bug(bug: Bug, monkeypatch: Patch) -> None:
    # A copy that no reader has worked with yet, read part by part: a function made before would not have the bug.
    book = replace(rulebook())
    monkeypatch.setattr(decide, "OFTEN", 10**9)
    know(book)
    changed = bug(monkeypatch, book)
    assert found_in(changed), bug.__doc__


def test_the_property_finds_nothing_without_a_bug() -> None:
    assert not found_in(rulebook())
