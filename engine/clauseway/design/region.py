"""How far a chosen value may move before something that holds no longer does."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from clauseway.answers.wording import form_of, joined, value_in_words
from clauseway.design.candidates import Candidates
from clauseway.design.variant import SetFact
from clauseway.language.possible import Choice, Interval, Value
from clauseway.model.vocabulary import Fact, Vocabulary

Holds = Callable[[Value], bool]
"""Whether everything still holds with another value."""


@dataclass(frozen=True, slots=True)
class Region:
    """The values that a fact may have while all else stays: alternatives, or the least and the greatest number."""

    values: tuple[Value, ...]
    low: Interval | None = None
    high: Interval | None = None


def region_of(change: SetFact, fact: Fact, candidates: Candidates, holds: Holds) -> Region:
    """The region around a value that was chosen."""
    dotted = f"{change.kind}.{change.fact}"
    if fact.sort in ("quantity", "count"):
        return _numbers(change, fact, candidates, holds)
    if fact.sort == "choices" or fact.sort == "text":
        return Region((change.value,))
    others = [value for value in candidates.values(dotted, change.value) if holds(value)]
    return Region((change.value, *others))


def _numbers(change: SetFact, fact: Fact, candidates: Candidates, holds: Holds) -> Region:
    assert isinstance(change.value, Interval)
    chosen = change.value.low
    tried = sorted(candidates.numbers(f"{change.kind}.{change.fact}", fact), key=lambda value: value.low)
    low = _edge([value for value in reversed(tried) if value.low < chosen], change.value, holds)
    high = _edge([value for value in tried if value.low > chosen], change.value, holds)
    return Region((change.value,), low, high)


def _edge(outward: list[Interval], chosen: Interval, holds: Holds) -> Interval | None:
    """The last value on the way out that still holds; none where nothing that is tried fails."""
    last = chosen
    for value in outward:
        if not holds(value):
            return last
        last = value
    return None


def region_in_words(region: Region, fact: Fact, vocabulary: Vocabulary) -> str:
    """A region as people build to it."""
    form = form_of(fact)
    if fact.sort in ("quantity", "count"):
        if region.low is None and region.high is None:
            return "any value"
        low = region.low.low if region.low is not None else -math.inf
        high = region.high.low if region.high is not None else math.inf
        system = (region.low or region.high or Interval(0, 0)).system
        return value_in_words(Interval(low, high, system), form, vocabulary)
    if fact.sort == "choice":
        options = frozenset().union(*(value.options for value in region.values if isinstance(value, Choice)))
        listed = vocabulary.lists[fact.values]
        if options == listed.leaves:
            return "any"
        return joined(listed.shorten(options), "or")
    words = [value_in_words(value, form, vocabulary) for value in region.values]
    return joined(words, "or")
