"""Values worth trying for a fact: those at which some rule changes its mind, and each value of a list."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from clauseway.language import core
from clauseway.language.possible import Choice, Choices, Interval, Text, Value
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Fact

STEP = 0.01
"""How far beside a limit a value is tried, as a share of it."""


@dataclass(frozen=True)
class Candidates:
    """For each fact by its dotted name the limits, texts and listed values that rules compare it with."""

    rulebook: Rulebook
    limits: Mapping[str, tuple[Interval, ...]] = field(default_factory=dict)
    texts: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    wanted: Mapping[str, tuple[frozenset[str], ...]] = field(default_factory=dict)

    def values(self, dotted: str, current: Value) -> list[Value]:
        """The values to try for a fact, other than the one it has."""
        fact = self.rulebook.vocabulary.fact(dotted)
        assert fact is not None
        return [value for value in self._all(dotted, fact, current) if value != current]

    def _all(self, dotted: str, fact: Fact, current: Value) -> Iterator[Value]:
        if fact.sort == "yes-no":
            yield True
            yield False
        elif fact.sort == "choice":
            listed = self.rulebook.vocabulary.lists[fact.values]
            for name in listed.values:
                if name in listed.leaves:
                    yield Choice(frozenset((name,)))
        elif fact.sort == "choices":
            sure = current.sure if isinstance(current, Choices) else frozenset[str]()
            yield from self._sets(dotted, sure)
        elif fact.sort in ("quantity", "count"):
            yield from self.numbers(dotted, fact)
        elif fact.sort == "text":
            yield from (Text(text) for text in self.texts.get(dotted, ()))

    def _sets(self, dotted: str, sure: frozenset[str]) -> Iterator[Value]:
        for options in self.wanted.get(dotted, ()):
            for option in sorted(options):
                yield Choices(sure | {option}, sure | {option})
            yield Choices(sure | options, sure | options)
            yield Choices(sure - options, sure - options)

    def numbers(self, dotted: str, fact: Fact) -> Iterator[Interval]:
        """The limits of a number and the values just beside them, inside the range of the fact."""
        seen: set[float] = set()
        for limit in self.limits.get(dotted, ()):
            beside = 1.0 if fact.sort == "count" else abs(limit.low) * STEP or STEP
            for value in (limit.low, limit.low - beside, limit.low + beside):
                if fact.low <= value <= fact.high and not math.isinf(value) and value not in seen:
                    seen.add(value)
                    yield Interval(value, value, limit.system)


def candidates_of(rulebook: Rulebook) -> Candidates:
    """What the provisions of a rulebook compare each fact with, in a fixed order."""
    limits: dict[str, dict[float, Interval]] = {}
    texts: dict[str, dict[str, None]] = {}
    wanted: dict[str, dict[frozenset[str], None]] = {}
    for node in _comparisons(rulebook):
        facts = [part.fact for part in core.walk(node) if isinstance(part, core.Get)]
        keys = [part.key for part in core.walk(node) if isinstance(part, core.Parameter)]
        values = [rulebook.parameters[key].value for key in keys]
        values += [Choice(part.options) for part in core.walk(node) if isinstance(part, core.Options)]
        for fact in facts:
            for value in values:
                if isinstance(value, Interval) and value.is_point:
                    limits.setdefault(fact, {})[value.low] = Interval(value.low, value.low, value.system)
                elif isinstance(value, Text) and value.value is not None:
                    texts.setdefault(fact, {})[value.value] = None
                elif isinstance(value, Choice):
                    wanted.setdefault(fact, {})[value.options] = None
    return Candidates(
        rulebook,
        {fact: tuple(found[value] for value in sorted(found)) for fact, found in limits.items()},
        {fact: tuple(found) for fact, found in texts.items()},
        {fact: tuple(sorted(found, key=sorted)) for fact, found in wanted.items()},
    )


_ATOMS = (core.Compare, core.Belongs, core.Overlaps, core.Includes, core.SameText, core.SameChoice)


def _comparisons(rulebook: Rulebook) -> Iterator[core.Node]:
    nodes: list[core.Node] = [derivation.node for derivation in rulebook.derivations.values()]
    for provision in rulebook.provisions.values():
        nodes += [provision.applies, provision.recognised, *(a.node for a in provision.assumptions)]
        nodes += [condition.own for condition in provision.permitted + provision.conditions]
    for node in nodes:
        for part in core.walk(node):
            if isinstance(part, _ATOMS):
                yield part
