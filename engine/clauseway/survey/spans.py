"""Intervals of many rows at once, each row as `language.possible` does with one; a test holds them together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from clauseway.language import possible
from clauseway.language.possible import TOLERANCE, Interval, System
from clauseway.survey.planes import Rows
from clauseway.survey.turning import LARGEST, following, last

Floats = NDArray[np.float64]
Systems = NDArray[np.uint8]
MARK: dict[System | None, int] = {None: 0, "us": 1, "si": 2}
_BOTH = 3


class Spans:
    """An interval in each row: its ends, and a mark of the unit system that it was given in; one may stand for all.

    `fixed` is one interval for every row, with its second printed value. Where both ends are one and the same array,
    all are points. The marks are wanted seldom: they may be given as what finds them. `is_natural` says that no
    interval reaches below nothing.
    """

    def __init__(
        self,
        low: Floats,
        high: Floats,
        system: Systems | Callable[[], Systems],
        fixed: Interval | None = None,
        is_natural: bool = False,
    ) -> None:
        self.low, self.high, self.fixed, self.is_natural = low, high, fixed, is_natural
        self._system = system

    @property
    def system(self) -> Systems:
        """The marks."""
        if callable(self._system):
            self._system = self._system()
        return self._system

    @property
    def are_points(self) -> bool:
        """Whether every interval is known to be a point."""
        return self.low is self.high


Side = tuple[Rows, Rows]
"""The rows where something is true, and those where it is false."""


def fixed(value: Interval) -> Spans:
    """The same interval in every row."""
    low = np.array(value.low)
    high = low if value.is_point else np.array(value.high)
    return Spans(low, high, np.array(MARK[value.system], dtype=np.uint8), value, value.low >= 0)


def taken(values: Spans, at: NDArray[np.int64]) -> Spans:
    """For each row one of some intervals, by its number."""
    low = values.low.take(at)
    high = low if values.are_points else values.high.take(at)
    return Spans(low, high, lambda: values.system.take(at), is_natural=values.is_natural)


def spread(values: Spans, at: NDArray[np.int64], rows: int) -> Spans:
    """The intervals of some rows in their places, and nothing in the others."""
    low = np.zeros(rows)
    low[at] = values.low
    high = low
    if not values.are_points:
        high = np.zeros(rows)
        high[at] = values.high
    nothing = np.array(MARK[None], dtype=np.uint8)
    return Spans(low, high, lambda: put(nothing, values.system, at, rows), is_natural=values.is_natural)


def put(own: Systems, other: Systems, at: NDArray[np.int64], rows: int) -> Systems:
    """The marks of some rows, with others in their places."""
    found = np.full(rows, own)
    found[at] = other
    return found


def _joint(systems: Sequence[Systems]) -> Systems:
    found = systems[0]
    for each in systems[1:]:
        found = found | each
    return _single(found)


def _single(marks: Systems) -> Systems:
    """Two systems are none."""
    return np.where(marks == _BOTH, np.uint8(0), marks) if (marks == _BOTH).any() else marks


def arithmetic(operator: str, a: Spans, b: Spans) -> Spans:
    """`+ - * /`.

    Raises:
        ValueError: for any other operator.
    """

    def system() -> Systems:
        return _joint((a.system, b.system))

    are_natural = a.is_natural and b.is_natural
    if operator == "+":
        low = a.low + b.low
        high = low if a.are_points and b.are_points else a.high + b.high
        return Spans(low, high, system, is_natural=are_natural)
    if operator == "-":
        low = a.low - b.high
        return Spans(low, low if a.are_points and b.are_points else a.high - b.low, system)
    if operator == "*":
        return Spans(*_product(a, b), system, is_natural=are_natural)
    if operator == "/":
        through_zero = (b.low <= 0) & (b.high >= 0)
        with np.errstate(divide="ignore"):
            low = 1 / b.high
            high = low if b.are_points else 1 / b.low
        low, high = _product(a, Spans(low, high, b.system))
        if not through_zero.any():
            return Spans(low, high, system, is_natural=are_natural)
        return Spans(np.where(through_zero, -np.inf, low), np.where(through_zero, np.inf, high), system)
    raise ValueError(f"not an arithmetic operator: {operator}")


def _product(a: Spans, b: Spans) -> tuple[Floats, Floats]:
    for one, other in ((a, b), (b, a)):
        if other.low.ndim == 0 and other.are_points and 0 < other.low < np.inf:
            # By a plain number above nothing, the ends stay in order, and nothing else can come of them.
            low = one.low * other.low
            return low, low if one.are_points else one.high * other.low
    if (a.is_natural and b.is_natural) or min(a.low.min(initial=0.0), b.low.min(initial=0.0)) >= 0:
        low = _times(a.low, b.low)
        return low, low if a.are_points and b.are_points else _times(a.high, b.high)
    corners = [_times(x, y) for x in (a.low, a.high) for y in (b.low, b.high)]
    return _folded(np.minimum, corners), _folded(np.maximum, corners)


def _times(a: Floats, b: Floats) -> Floats:
    """Multiplication in which nothing times what has no bound is nothing."""
    with np.errstate(invalid="ignore"):
        found = np.asarray(a * b)
    if np.isnan(found.min(initial=0.0)):
        found[np.isnan(found)] = 0.0
    return found


def smallest(values: Sequence[Spans]) -> Spans:
    """The least of several values in each row."""
    return _extreme(np.minimum, values)


def largest(values: Sequence[Spans]) -> Spans:
    """The greatest of several values in each row."""
    return _extreme(np.maximum, values)


def _extreme(join: Callable[[Floats, Floats], Floats], values: Sequence[Spans]) -> Spans:
    low = _folded(join, [value.low for value in values])
    high = low if all(value.are_points for value in values) else _folded(join, [value.high for value in values])
    are_natural = all(value.is_natural for value in values)
    return Spans(low, high, lambda: _joint([value.system for value in values]), is_natural=are_natural)


def _folded(join: Callable[[Floats, Floats], Floats], values: Sequence[Floats]) -> Floats:
    found = values[0]
    for each in values[1:]:
        found = join(found, each)
    return found


def rounded(name: str, value: Spans) -> Spans:
    """`ceil` or `floor`, which do not turn a sum's last bit into one more."""
    low = _rounded(name, value.low)
    high = low if value.are_points else _rounded(name, value.high)
    return Spans(low, high, np.array(0, dtype=np.uint8), is_natural=value.is_natural)


def _rounded(name: str, value: Floats) -> Floats:
    near = np.rint(value)
    with np.errstate(invalid="ignore"):
        is_near = np.abs(value - near) <= TOLERANCE * np.maximum(1.0, np.abs(value))
    return np.where(is_near | np.isinf(value), near, np.ceil(value) if name == "ceil" else np.floor(value))


def first_of(rows: int, cases: Sequence[tuple[Side, Spans]]) -> tuple[Spans, Rows]:
    """In each row what any case can be that may hold, up to the first that surely does; and where there is none."""
    low, high = np.full(rows, np.inf), np.full(rows, -np.inf)
    still, none = np.ones(rows, dtype=np.bool_), np.ones(rows, dtype=np.bool_)
    mays: list[Rows] = []
    for (true, false), value in cases:
        may = still & ~false
        mays.append(may)
        # Taking part of two arrays is much quicker here than working on a part of one.
        low = np.where(may, np.minimum(low, value.low), low)
        high = np.where(may, np.maximum(high, value.high), high)
        none &= ~may
        still &= ~true

    def system() -> Systems:
        found = np.zeros(rows, dtype=np.uint8)
        for may, (_, value) in zip(mays, cases, strict=True):
            found |= np.where(may, value.system, np.uint8(0))
        return _single(found)

    return Spans(low, high, system), none


def _below(a: Floats, b: Floats, are_natural: bool) -> Rows:
    """`a <= b`, with the tolerance between finite numbers only."""
    if b.ndim == 0 and abs(b) < LARGEST:
        return np.asarray(a <= _last_below(float(b)))
    if a.ndim == 0 and abs(a) < LARGEST:
        return np.asarray(b >= _first_above(float(a)))
    # Of numbers above nothing, `a` is the larger wherever the slack matters. Beside what has no bound, it changes
    # nothing.
    slack = np.minimum(a if are_natural else np.maximum(np.abs(a), np.abs(b)), _GREATEST)
    slack *= TOLERANCE
    slack += b
    return np.asarray(a <= slack)


_GREATEST = float(np.finfo(np.float64).max)


@lru_cache(maxsize=4096)
def _last_below(limit: float) -> float:
    number = Interval(limit, limit)
    return last(lambda each: possible.at_most(Interval(each, each), number) is True, -2 * LARGEST, 2 * LARGEST)


@lru_cache(maxsize=4096)
def _first_above(limit: float) -> float:
    number = Interval(limit, limit)
    below = last(lambda each: possible.at_most(number, Interval(each, each)) is False, -2 * LARGEST, 2 * LARGEST)
    return following(below)


def _readings(printed: Interval) -> tuple[Spans, Spans]:
    assert printed.also is not None
    first = replace(printed, also=None)
    return fixed(first), fixed(Interval(printed.also, printed.also, printed.also_system))


def _picked(which: Rows, a: Rows, b: Rows) -> Rows:
    """`a` in some rows and `b` in the others; choosing at random is slower."""
    return np.asarray(b ^ (which & (a ^ b)))


def _by_readings(a: Spans, b: Spans, one: Callable[[Spans, Spans], Side]) -> Side:
    """What holds under the printed value that each row is compared with; a range must agree with both."""
    for printed, other, swap in ((b, a, False), (a, b, True)):
        if printed.fixed is None or printed.fixed.also is None:
            continue
        first, second = _readings(printed.fixed)
        own, alternative = ((one(reading, other) if swap else one(other, reading)) for reading in (first, second))
        by_second = other.system == second.system
        point = np.array(True) if other.are_points else other.low == other.high
        true, false = (
            _picked(point, _picked(by_second, theirs, ours), ours & theirs)
            for ours, theirs in zip(own, alternative, strict=True)
        )
        return true, false
    return one(a, b)


def at_most(a: Spans, b: Spans) -> Side:
    """Where `a <= b` for every completion, and where for none."""

    def one(x: Spans, y: Spans) -> Side:
        are_natural = x.is_natural and y.is_natural
        true = _below(x.high, y.low, are_natural)
        return true, ~(true if x.are_points and y.are_points else _below(x.low, y.high, are_natural))

    return _by_readings(a, b, one)


def equal(a: Spans, b: Spans) -> Side:
    """Where both are points and equal, and where they are disjoint."""

    def one(x: Spans, y: Spans) -> Side:
        are_natural = x.is_natural and y.is_natural
        apart = ~(_below(x.low, y.high, are_natural) & _below(y.low, x.high, are_natural))
        points = (x.low == x.high) & (y.low == y.high) & ~np.isinf(x.low)
        return points & ~apart, apart

    return _by_readings(a, b, one)


def compared(operator: str, a: Spans, b: Spans) -> Side:
    """One of `<= < >= > == !=`: where it is true, and where it is false."""
    if operator in (">=", "<"):
        a, b = b, a
    true, false = equal(a, b) if operator in ("==", "!=") else at_most(a, b)
    return (false, true) if operator in ("<", ">", "!=") else (true, false)
