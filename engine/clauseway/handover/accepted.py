"""The values with which something that is asked holds, found by asking the same parts again with each of them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from clauseway.answers.wording import UNKNOWN, form_of, joined, printed, value_in_words
from clauseway.handover.terms import Key, Term, facts_in
from clauseway.language import core
from clauseway.language.possible import Choice, Choices, Interval, System, Text, Truth, Value, every
from clauseway.model.vocabulary import Fact
from clauseway.readers.decide import Decider

_HALVINGS = 36
_GRID = tuple(base * 10.0**power for power in range(-3, 8) for base in (1.0, 3.0))


@dataclass(frozen=True, slots=True)
class Limit:
    """An end of what is accepted, as its code prints it; `parameter` names where it comes from, empty if computed."""

    value: Interval
    words: str
    included: bool
    parameter: str = ""


@dataclass(frozen=True, slots=True)
class Accepted:
    """What is accepted: spans between limits for numbers, listed values, or wordings.

    `provisional` says that something else which is not known keeps it from being decided; outside of it, it fails.
    """

    words: str
    spans: tuple[tuple[Limit | None, Limit | None], ...] = ()
    values: tuple[str, ...] = ()
    provisional: bool = False


def accepted_of(decider: Decider, terms: Sequence[Term], key: Key, fact: Fact) -> Accepted | None:
    """What the parts accept of a fact, all else as described; nothing where they do not depend on it."""
    seen: dict[str, Truth] = {}

    def truth(value: Value) -> Truth:
        name = repr(value)
        if name not in seen:
            trial = decider.trying({**decider.assumed, key: value}, decider.accept_memory)
            seen[name] = every(term.truth(trial) for term in terms)
        return seen[name]

    if fact.sort in ("quantity", "count"):
        return _numbers(decider, terms, key, fact, truth)
    if fact.sort == "choices":
        return _sets(decider, terms, fact, truth)
    tried = _listed(decider, terms, fact)
    truths = [(value, truth(value)) for value in tried]
    kept = [value for value, found in truths if found is True]
    provisional = not kept
    if provisional:
        kept = [value for value, found in truths if found is not False]
    if fact.sort == "text":
        if not kept or truth(Text("\u0000")) is True:
            return None
    elif len(kept) == len(tried):
        return None
    names = tuple(_name(value, fact, decider) for value in kept)
    return Accepted(joined(list(names), "or") or "no value by itself", values=names, provisional=provisional)


def _name(value: Value, fact: Fact, decider: Decider) -> str:
    if isinstance(value, Text):
        return value.value or ""
    return value_in_words(value, form_of(fact), decider.vocabulary)


def _listed(decider: Decider, terms: Sequence[Term], fact: Fact) -> list[Value]:
    if fact.sort in ("yes-no", "approval"):
        return [True, False]
    if fact.sort == "choice":
        listed = decider.vocabulary.lists[fact.values]
        return [Choice(frozenset((name,))) for name in listed.values if name in listed.leaves]
    found = dict.fromkeys(
        value.value
        for _, value in _parameters(decider, terms)
        if isinstance(value, Text) and value.value is not None and fact.sort == "text"
    )
    return [Text(text) for text in found]


def _parameters(decider: Decider, terms: Sequence[Term]) -> Iterator[tuple[str, Value]]:
    for term in terms:
        for node in core.walk(term.node):
            if isinstance(node, core.Parameter):
                yield node.key, decider.rulebook.parameters[node.key].value


def _sets(decider: Decider, terms: Sequence[Term], fact: Fact, truth: Callable[[Value], Truth]) -> Accepted | None:
    """One of some values, all of them, or none."""
    nothing = Choices(frozenset(), frozenset())
    words: list[str] = []
    values: list[str] = []
    listed = decider.vocabulary.lists[fact.values]
    for _, value in _parameters(decider, terms):
        if not isinstance(value, Choice) or not value.options <= listed.leaves:
            continue
        names = listed.shorten(value.options)
        alone = all(truth(Choices(frozenset((name,)), frozenset((name,)))) is True for name in value.options)
        whole = truth(Choices(value.options, value.options)) is True
        if truth(nothing) is True:
            continue
        said = joined(names, "or") if alone else joined(names) if whole else joined(names) + " among others"
        if said not in words:
            words.append(said)
            values += names
    return Accepted("; ".join(words), values=tuple(dict.fromkeys(values))) if words else None


# --- numbers --------------------------------------------------------------------------------------------


def _numbers(
    decider: Decider, terms: Sequence[Term], key: Key, fact: Fact, truth: Callable[[Value], Truth]
) -> Accepted | None:
    limits = _limits(decider, terms, key, fact, truth)
    if not limits:
        return None
    for wanted in (True, None):
        spans = list(_spans(limits, fact, truth, wanted))
        if spans:
            words = joined([_span_in_words(span) for span in spans], "or")
            whole = any(low is None and high is None for low, high in spans)
            return None if whole else Accepted(words, tuple(spans), provisional=wanted is None)
    return Accepted("no value by itself")


def _limits(
    decider: Decider, terms: Sequence[Term], key: Key, fact: Fact, truth: Callable[[Value], Truth]
) -> list[Limit]:
    """The numbers at which a part may change its mind, lowest first."""
    found: dict[float, Limit] = {}
    exact = True
    for term in terms:
        for part in _comparisons(term.node):
            inner = Term(part, term.env, True)
            if key not in facts_in(decider, inner):
                continue
            compared = _compared(decider, inner, key)
            if compared is None:
                exact = False
            else:
                found.setdefault(compared.value.low, compared)
    if not exact:
        system = _system(decider, key)
        for value in _searched(fact, truth, sorted(found)):
            at = Interval(value, value, system)
            found.setdefault(value, Limit(at, f"about {value_in_words(at, form_of(fact), decider.vocabulary)}", True))
    return [found[value] for value in sorted(found) if fact.low <= value <= fact.high and not math.isinf(value)]


def _comparisons(node: core.Node) -> Iterator[core.Node]:
    """The comparisons in a part; what ranges over a collection stays whole."""
    parts: list[core.Node] = []
    if isinstance(node, core.And | core.Or):
        parts = list(node.parts)
    elif isinstance(node, core.Not | core.Labelled | core.Named | core.Unverified):
        parts = [node.body]
    elif isinstance(node, core.When):
        parts = [node.where, node.body]
    elif isinstance(node, core.Assuming):
        parts = [node.assumption, node.body]
    if not parts:
        yield node
    for part in parts:
        yield from _comparisons(part)


def _system(decider: Decider, key: Key) -> System | None:
    """The units in which a fact is described."""
    given = decider.project.given(key[0], key[1], decider.mode)
    return given.value.system if given is not None and isinstance(given.value, Interval) else None


def _compared(decider: Decider, term: Term, key: Key) -> Limit | None:
    """What a plain comparison compares the fact with; nothing where it does something else with it."""
    node = term.node
    if not isinstance(node, core.Compare):
        return None
    for side, other in ((node.left, node.right), (node.right, node.left)):
        bare = side.body if isinstance(side, core.Named) else side
        if not isinstance(bare, core.Get) or decider.thing(bare.source, term.env).path != key[0]:
            continue
        if bare.fact.partition(".")[2] != key[1] or key in facts_in(decider, Term(other, term.env, True)):
            continue
        value = decider.value(other, term.env)[0]
        if not isinstance(value, Interval) or not value.is_point:
            return None
        if isinstance(other, core.Parameter):
            return Limit(value, printed(other.key, decider), True, other.key)
        fact = decider.vocabulary.fact(bare.fact)
        assert fact is not None
        return Limit(value, value_in_words(value, form_of(fact), decider.vocabulary), True)
    return None


def _searched(fact: Fact, truth: Callable[[Value], Truth], known: Sequence[float]) -> Iterator[float]:
    """The numbers at which a truth changes, where no comparison names them: by halving between tried ones."""
    ends = [value for value in (fact.low, fact.high) if not math.isinf(value)]
    signed = [*_GRID, *(-value for value in _GRID), 0.0]
    tried = sorted({*known, *ends, *(value for value in signed if fact.low <= value <= fact.high)})
    whole = fact.sort == "count"
    for low, high in pairwise(tried):
        first, last = truth(Interval(low, low)), truth(Interval(high, high))
        if first is last:
            continue
        for _ in range(_HALVINGS):
            middle = math.floor((low + high) / 2) if whole else (low + high) / 2
            if middle in (low, high):
                break
            if truth(Interval(middle, middle)) is first:
                low = middle
            else:
                high = middle
        yield low if first is True or (first is None and last is False) else high


def _spans(
    limits: Sequence[Limit], fact: Fact, truth: Callable[[Value], Truth], wanted: Truth
) -> Iterator[tuple[Limit | None, Limit | None]]:
    """The stretches between limits on which the truth is as wanted."""
    points = [limit.value.low for limit in limits]

    def between(low: float, high: float) -> Truth:
        """The truth between two neighbours; where no count lies between them, that of both if it is one."""
        at = _inside(low, high, fact)
        if at is not None:
            return truth(Interval(at, at))
        ends = {truth(Interval(end, end)) for end in (low, high) if not math.isinf(end)}
        return ends.pop() if len(ends) == 1 and fact.sort == "count" and not math.isinf(low + high) else False

    start: Limit | None = None
    inside = between(-math.inf, points[0]) is wanted
    for at, limit in enumerate(limits):
        here = truth(limit.value) is wanted
        above = between(points[at], points[at + 1] if at + 1 < len(points) else math.inf) is wanted
        if inside and not here:
            yield start, Limit(limit.value, limit.words, False, limit.parameter)
            inside = False
        if here and not inside:
            start, inside = limit, True
        if inside and not above:
            yield start, limit
            inside = False
        elif above and not inside:
            start, inside = Limit(limit.value, limit.words, False, limit.parameter), True
    if inside:
        yield start, None


def _inside(low: float, high: float, fact: Fact) -> float | None:
    """A number between two others, of which one may be infinite, within the range of the fact."""
    if math.isinf(low):
        if math.isinf(fact.low):
            return high - max(1.0, abs(high))
        return fact.low if fact.low < high else None
    if math.isinf(high):
        if math.isinf(fact.high):
            return low + max(1.0, abs(low))
        return fact.high if fact.high > low else None
    middle = math.floor((low + high) / 2) if fact.sort == "count" else (low + high) / 2
    return middle if low < middle < high else None


def _span_in_words(span: tuple[Limit | None, Limit | None]) -> str:
    low, high = span
    if low is not None and high is not None:
        if low.value.low == high.value.low:
            return f"exactly {low.words}"
        if low.included and high.included:
            return f"{low.words} to {high.words}"
        least = low.words if low.included else f"more than {low.words}"
        return f"{least} to {high.words if high.included else f'less than {high.words}'}"
    if low is not None:
        return f"{low.words} or more" if low.included else f"more than {low.words}"
    if high is not None:
        return f"{high.words} or less" if high.included else f"less than {high.words}"
    return UNKNOWN
