"""What a value can still be: truth, interval, subset, set between bounds, text.

An unknown value is everything its fact allows. Each operation answers with what is certain for every
completion of its arguments, and `None` (undetermined) otherwise; that is Kleene's strong logic carried to
numbers and sets.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Truth = bool | None
System = Literal["us", "si"]

TOLERANCE = 1e-9
"""Relative tolerance of comparisons, applied between finite bounds only."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Every number from `low` to `high`, both included.

    `system` is the unit system the value was given in; it decides which of a parameter's two printed values
    the comparison uses. `also` is the second printed value of a parameter, in `also_system`.
    """

    low: float
    high: float
    system: System | None = None
    also: float | None = None
    also_system: System | None = None

    @property
    def is_point(self) -> bool:
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class Choice:
    """One of `options`; certain when a single option is left."""

    options: frozenset[str]


@dataclass(frozen=True, slots=True)
class Choices:
    """A set that holds at least `sure` and at most `possible`."""

    sure: frozenset[str]
    possible: frozenset[str]


@dataclass(frozen=True, slots=True)
class Text:
    """A text; `None` when it is unknown."""

    value: str | None


Value = bool | None | Interval | Choice | Choices | Text

ANY_NUMBER = Interval(-math.inf, math.inf)
ZERO = Interval(0.0, 0.0)


def point(value: float, system: System | None = None) -> Interval:
    """The interval that holds one number."""
    return Interval(value, value, system)


def negate(truth: Truth) -> Truth:
    """Kleene negation."""
    return None if truth is None else not truth


def every(truths: Iterable[Truth]) -> Truth:
    """Kleene conjunction; true when there are none."""
    result: Truth = True
    for truth in truths:
        if truth is False:
            return False
        if truth is None:
            result = None
    return result


def some(truths: Iterable[Truth]) -> Truth:
    """Kleene disjunction; false when there are none."""
    result: Truth = False
    for truth in truths:
        if truth is True:
            return True
        if truth is None:
            result = None
    return result


def is_decided(value: Value) -> bool:
    """Whether exactly one completion is left."""
    if value is None:
        return False
    if isinstance(value, bool):
        return True
    if isinstance(value, Interval):
        return value.is_point
    if isinstance(value, Choice):
        return len(value.options) == 1
    if isinstance(value, Choices):
        return value.sure == value.possible
    return value.value is not None


def _at_most(a: float, b: float) -> bool:
    """`a <= b`, with the tolerance between finite numbers only."""
    if math.isinf(a) or math.isinf(b):
        return a <= b
    return a <= b + TOLERANCE * max(abs(a), abs(b))


def _readings(a: Interval, b: Interval) -> list[tuple[Interval, Interval]]:
    """The pairs to compare, when one side is printed in two unit systems that disagree.

    A point given in one system meets the number printed in it; a computed point, which has no system, meets the
    first printed number. A range must agree with both, since it may yet be narrowed in either.
    """
    for printed, other, swap in ((b, a, False), (a, b, True)):
        if printed.also is None:
            continue
        first = Interval(printed.low, printed.high, printed.system)
        second = Interval(printed.also, printed.also, printed.also_system)
        if not other.is_point:
            chosen = [first, second]
        elif other.system == second.system:
            chosen = [second]
        else:
            chosen = [first]
        return [(reading, other) if swap else (other, reading) for reading in chosen]
    return [(a, b)]


def _agreed(truths: list[Truth]) -> Truth:
    return truths[0] if all(truth is truths[0] for truth in truths) else None


def _all_at_most(x: Interval, y: Interval) -> Truth:
    if _at_most(x.high, y.low):
        return True
    return None if _at_most(x.low, y.high) else False


def at_most(a: Interval, b: Interval) -> Truth:
    """`a <= b` for every completion, against every completion, or undetermined."""
    if a.also is None and b.also is None:
        return _all_at_most(a, b)
    return _agreed([_all_at_most(x, y) for x, y in _readings(a, b)])


def _all_equal(x: Interval, y: Interval) -> Truth:
    if not (_at_most(x.low, y.high) and _at_most(y.low, x.high)):
        return False
    if x.is_point and y.is_point and not math.isinf(x.low):
        return True
    return None


def equal(a: Interval, b: Interval) -> Truth:
    """`a == b`: true only between points, false only when disjoint."""
    return _agreed([_all_equal(x, y) for x, y in _readings(a, b)])


def compare(operator: str, a: Interval, b: Interval) -> Truth:
    """One of `<= < >= > == !=` between two intervals.

    Raises:
        ValueError: for any other operator.
    """
    if operator == "<=":
        return at_most(a, b)
    if operator == ">=":
        return at_most(b, a)
    if operator == "<":
        return negate(at_most(b, a))
    if operator == ">":
        return negate(at_most(a, b))
    if operator == "==":
        return equal(a, b)
    if operator == "!=":
        return negate(equal(a, b))
    raise ValueError(f"not a comparison: {operator}")


def belongs(value: Choice, options: frozenset[str]) -> Truth:
    """Whether the chosen value is among `options`."""
    if value.options <= options:
        return True
    return None if value.options & options else False


def overlaps(value: Choices, wanted: frozenset[str]) -> Truth:
    """Whether the set holds at least one of `wanted`."""
    if value.sure & wanted:
        return True
    return None if value.possible & wanted else False


def includes(value: Choices, wanted: frozenset[str]) -> Truth:
    """Whether the set holds all of `wanted`."""
    if wanted <= value.sure:
        return True
    return None if wanted <= value.possible else False


def folded(text: str) -> str:
    """Text as people compare sign wordings: case, spacing and closing punctuation do not matter."""
    return " ".join(text.casefold().replace("’", "'").split()).rstrip(" .!")


def same_text(a: Text, b: Text) -> Truth:
    """Whether two texts read the same."""
    if a.value is None or b.value is None:
        return None
    return folded(a.value) == folded(b.value)


def _joint_system(values: Iterable[Interval]) -> System | None:
    systems = {value.system for value in values if value.system is not None}
    return systems.pop() if len(systems) == 1 else None


def _product(a: float, b: float) -> float:
    """Multiplication in which 0 times an unbounded value is 0: the bound is never reached."""
    return 0.0 if a == 0 or b == 0 else a * b


def arithmetic(operator: str, a: Interval, b: Interval) -> Interval:
    """`+ - * /` on intervals; a divisor that may be zero leaves the result unbounded.

    Raises:
        ValueError: for any other operator.
    """
    system = _joint_system((a, b))
    if operator == "+":
        return Interval(a.low + b.low, a.high + b.high, system)
    if operator == "-":
        return Interval(a.low - b.high, a.high - b.low, system)
    if operator == "*":
        corners = [_product(x, y) for x in (a.low, a.high) for y in (b.low, b.high)]
        return Interval(min(corners), max(corners), system)
    if operator == "/":
        if b.low <= 0 <= b.high:
            return Interval(-math.inf, math.inf, system)
        inverse = Interval(1 / b.high, 1 / b.low)
        return Interval(*_bounds(arithmetic("*", a, inverse)), system)
    raise ValueError(f"not an arithmetic operator: {operator}")


def _bounds(value: Interval) -> tuple[float, float]:
    return value.low, value.high


def smallest(values: list[Interval]) -> Interval:
    """The least of several values."""
    return Interval(min(v.low for v in values), min(v.high for v in values), _joint_system(values))


def largest(values: list[Interval]) -> Interval:
    """The greatest of several values."""
    return Interval(max(v.low for v in values), max(v.high for v in values), _joint_system(values))


def monotone(name: str, value: Interval) -> Interval:
    """`ceil floor sqrt exp log abs` of an interval; outside the domain the result is unbounded.

    Raises:
        ValueError: for any other function.
    """
    if name == "abs":
        low, high = sorted((abs(value.low), abs(value.high)))
        return Interval(0.0 if value.low <= 0 <= value.high else low, high, value.system)
    if name in ("ceil", "floor"):
        return Interval(_rounded(name, value.low), _rounded(name, value.high))
    if name == "sqrt":
        if value.low < 0:
            return Interval(0.0, math.inf)
        return Interval(math.sqrt(value.low), math.sqrt(value.high))
    if name == "exp":
        return Interval(_exp(value.low), _exp(value.high))
    if name == "log":
        if value.low <= 0:
            return ANY_NUMBER
        return Interval(math.log(value.low), math.log(value.high))
    raise ValueError(f"not a function: {name}")


def _rounded(name: str, value: float) -> float:
    """Rounding that does not turn a sum's last bit (10.000000000000002) into one more."""
    if math.isinf(value):
        return value
    near = round(value)
    if abs(value - near) <= TOLERANCE * max(1.0, abs(value)):
        return float(near)
    return float(math.ceil(value) if name == "ceil" else math.floor(value))


def _exp(value: float) -> float:
    try:
        return math.exp(value)
    except OverflowError:
        return math.inf


def hull(values: list[Value]) -> Value:
    """Everything that any of several values of one type can be.

    Raises:
        ValueError: when there is none, or their types differ.
    """
    if not values:
        raise ValueError("a hull needs at least one value")
    first = values[0]
    if all(value is None or isinstance(value, bool) for value in values):
        return first if all(value is first for value in values) else None
    intervals = [value for value in values if isinstance(value, Interval)]
    if len(intervals) == len(values):
        return Interval(min(v.low for v in intervals), max(v.high for v in intervals), _joint_system(intervals))
    choices = [value for value in values if isinstance(value, Choice)]
    if len(choices) == len(values):
        return Choice(frozenset().union(*(value.options for value in choices)))
    sets = [value for value in values if isinstance(value, Choices)]
    if len(sets) == len(values):
        return Choices(
            frozenset.intersection(*(value.sure for value in sets)),
            frozenset().union(*(value.possible for value in sets)),
        )
    texts = [value for value in values if isinstance(value, Text)]
    if len(texts) == len(values):
        return texts[0] if all(value == texts[0] for value in texts) else Text(None)
    raise ValueError("values of different types have no hull")
