"""The vocabulary: kinds of things, how they belong together, and the facts they have.

A compiled rulebook carries its vocabulary, so everything here is plain data from the standard library.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from clauseway.language.possible import Choice, Choices, Interval, Text, Value
from clauseway.text.problems import Place

OWNS, ONE, MANY, KEYED, INVERSE = "owns", "one", "many", "keyed", "inverse"


@dataclass(frozen=True, slots=True)
class Listed:
    """One value of a value list: its definition, the broader value it belongs to, and the phase of an event."""

    about: str
    within: str = ""
    phase: str = ""


@dataclass(frozen=True)
class ValueList:
    """The values a choice may take. A broader value stands for all the leaves below it."""

    name: str
    values: Mapping[str, Listed]
    about: str = ""

    @cached_property
    def leaves(self) -> frozenset[str]:
        """The values that no other value belongs to."""
        broader = {listed.within for listed in self.values.values()}
        return frozenset(self.values) - broader

    @cached_property
    def _below(self) -> dict[str, frozenset[str]]:
        below: dict[str, set[str]] = {name: set() for name in self.values}
        for leaf in self.leaves:
            name = leaf
            while name:
                below[name].add(leaf)
                name = self.values[name].within
        return {name: frozenset(leaves) for name, leaves in below.items()}

    def expand(self, name: str) -> frozenset[str]:
        """The leaves that `name` stands for.

        Raises:
            KeyError: when the list has no such value.
        """
        return self._below[name]

    def shorten(self, options: frozenset[str]) -> list[str]:
        """The fewest listed values that stand for exactly `options`, in the list's order."""
        rest, names = set(options), []
        for name in sorted(self.values, key=lambda n: -len(self._below[n])):
            below = self._below[name]
            if below and below <= rest:
                names.append(name)
                rest -= below
        order = list(self.values)
        return sorted(names, key=order.index)


@dataclass(frozen=True, slots=True)
class Relation:
    """How one thing reaches others.

    `form` is one of: owns (its own members), one, many (references), keyed (one member per key: `by` is a value
    list or a thing kind), inverse (all things of `kind` whose relation `by` names this one).
    """

    name: str
    form: str
    kind: str
    by: str = ""
    most: int = 0
    about: str = ""
    ask: str = ""


PHASES = ("normal", "egress", "loss-of-power", "fire-alarm", "reset")
"""What a sequence of operation goes through, in this order."""


@dataclass(frozen=True, slots=True)
class Measured:
    """How a fact is found out at the built door.

    `to` is how finely it is read, as typed, empty for what is no number. `again` says that use may change it, so that
    it is looked at again at every inspection.
    """

    tool: str
    how: str
    to: str = ""
    again: bool = False


@dataclass(frozen=True, slots=True)
class Fact:
    """One declared fact of a kind of thing.

    `sort` is one of: yes-no, choice, choices, quantity, count, text, date, approval. `low` and `high` bound numbers
    in canonical units; `values` names the value list of a choice. `chosen_by` is `given` or `designer`, `effort` what
    it takes to change a designer's choice. `measured` says how it is found out at the door, `phase` in which phase of
    the sequence of operation it speaks; where it has none, the event of the thing it belongs to has.
    """

    name: str
    sort: str
    about: str
    ask: str
    place: Place
    unit: str = ""
    noun: str = ""
    low: float = -math.inf
    high: float = math.inf
    values: str = ""
    chosen_by: str = "given"
    effort: str = ""
    when_absent: str = ""
    measured: Measured | None = None
    phase: str = ""


@dataclass(frozen=True)
class Kind:
    """A kind of thing. `adding` is the effort of adding one to an opening, empty where no designer does that."""

    name: str
    title: str
    plural: str
    about: str
    within: str
    relations: Mapping[str, Relation]
    facts: Mapping[str, Fact]
    place: Place
    adding: str = ""

    def owned(self, kind: str) -> Relation | None:
        """The relation by which this kind owns things of another kind."""
        for relation in self.relations.values():
            if relation.form == OWNS and relation.kind == kind:
                return relation
        return None


@dataclass(frozen=True)
class Vocabulary:
    """All kinds, value lists, and what each subject binds."""

    kinds: Mapping[str, Kind]
    lists: Mapping[str, ValueList]
    digest: str = field(default="", compare=False)

    def fact(self, dotted: str) -> Fact | None:
        """The fact with a dotted name such as `lock.kind`, or none."""
        kind, _, name = dotted.partition(".")
        found = self.kinds.get(kind)
        return found.facts.get(name) if found else None

    @cached_property
    def fact_names(self) -> list[str]:
        """All dotted fact names, sorted."""
        return sorted(f"{kind.name}.{fact}" for kind in self.kinds.values() for fact in kind.facts)

    def value_list(self, name: str) -> ValueList | None:
        """A value list by its own name or by the dotted name of the choice fact that uses it."""
        if name in self.lists:
            return self.lists[name]
        fact = self.fact(name)
        return self.lists.get(fact.values) if fact else None

    @cached_property
    def _unknown(self) -> dict[int, tuple[Fact, Value]]:
        return {}

    def unknown(self, fact: Fact) -> Value:
        """Everything the fact allows."""
        known = self._unknown.get(id(fact))
        if known is None:
            # The fact is kept with what it allows: as long as it is, no other can have its id.
            known = self._unknown[id(fact)] = (fact, self._allowed(fact))
        return known[1]

    def _allowed(self, fact: Fact) -> Value:
        if fact.sort in ("yes-no", "approval"):
            return None
        if fact.sort in ("quantity", "count", "date"):
            return Interval(fact.low, fact.high)
        if fact.sort == "choice":
            return Choice(self.lists[fact.values].leaves)
        if fact.sort == "choices":
            return Choices(frozenset(), self.lists[fact.values].leaves)
        return Text(None)


SUBJECTS: Mapping[str, tuple[str, ...]] = {
    "building": (),
    "storey": ("storey",),
    "room": ("room",),
    "stair": ("stair",),
    "path": ("path",),
    "supply": ("supply",),
    "opening": ("opening",),
    "passage": ("opening", "passage"),
    "leaf": ("opening", "passage", "leaf"),
    "lock": ("opening", "passage", "lock"),
    "fitted-lock": ("opening", "lock"),
    "device": ("opening", "device"),
    "sign": ("opening", "sign"),
}
"""What a provision may be about, and the things that are bound one inside the other to reach it.

A `fitted-lock` is a lock by itself, whatever direction somebody goes. `building` is always bound; wherever a passage
is bound, `egress` is the side it leaves from and `opposite` the side it leads to.
"""
