"""All computations by name, for points and for ranges.

    evaluate("wire.voltage-drop", {"length": 61.0, "current": 0.5, "area": 8.23e-7})
    evaluate_ranges("wire.voltage-drop", {"length": (30.0, 61.0), "current": None, "area": 8.23e-7})

A range answers "whatever the unknown numbers turn out to be, the result lies between these two". It is
taken from the corners that the declared directions point to: no search, and no value left out.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from types import MappingProxyType, ModuleType

from clauseway.compute.description import Argument, Computation, Value, described
from clauseway.compute.units import shown

SUBJECTS: tuple[str, ...] = ("magnetics", "release", "supply", "wire", "battery", "door", "egress")
"""The modules of this package that hold computations, whose names begin with that of their module."""

#: The least and the most a number can be; None is an end about which nothing is known.
Span = tuple[float | None, float | None]

#: What may be given for an argument: a number, a span, None (unknown); a list of these where many are taken.
Given = float | Span | None | Sequence[float | Span | None]

# Corners are computed in floating point; this much, relative, keeps rounding from cutting a true value off.
_ROUNDING = 1e-12


@functools.cache
def computations() -> Mapping[str, Computation]:
    """Every computation by its dotted name, in alphabetical order; the mapping cannot be changed."""
    records = {name: record for subject in SUBJECTS for name, record in _of(subject).items()}
    return MappingProxyType(dict(sorted(records.items())))


def module_of(subject: str) -> ModuleType:
    """The module that holds the computations of a subject."""
    return import_module(f"clauseway.compute.{subject}")


@functools.cache
def _of(subject: str) -> Mapping[str, Computation]:
    found = (described(member) for member in vars(module_of(subject)).values())
    return {record.name: record for record in found if record is not None}


def computation_called(name: str) -> Computation | None:
    """The computation of that name, if there is one; only the module of its subject is loaded."""
    subject = name.partition(".")[0]
    return _of(subject).get(name) if subject in SUBJECTS else None


def computation_named(name: str) -> Computation:
    """The computation of that name; ValueError with the nearest names otherwise."""
    found = computation_called(name)
    if found is not None:
        return found
    known = computations()
    if name in known:
        return known[name]
    import difflib

    near = difflib.get_close_matches(name, known, n=3, cutoff=0.4)
    near = near or [full for full in known if full.partition(".")[0] == name]
    hint = f"; nearest: {', '.join(near)}" if near else ""
    raise ValueError(f"computation: found {name!r}, expected a name such as wire.voltage-drop{hint}")


def evaluate(name: str, given: Mapping[str, object]) -> float:
    """The result for one set of numbers in SI units. A default stands only for an argument not named."""
    return computation_named(name).calculate(given)


@dataclass(frozen=True)
class Range:
    """What the result can be. None at an end: nothing can be said about it. `why` says so in words."""

    low: float | None
    high: float | None
    why: tuple[str, ...] = ()

    @property
    def point(self) -> float | None:
        """The one value it is, if it is one."""
        return self.low if self.low is not None and self.low == self.high else None

    def __contains__(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def evaluate_ranges(name: str, given: Mapping[str, Given]) -> Range:
    """The range of results while each argument is anywhere in its own range, in SI units.

    An argument that is None is unknown: it may be anything it can be. One that is not named takes its
    default, and is unknown if it has none. Whatever lies beyond the range a formula holds for leaves that end
    of the answer open. Ranges that hold no possible number are refused just as one such number is.
    """
    record = computation_named(name)
    for argument_name in given:
        record.argument(argument_name)
    why: list[str] = []
    boxes = {argument.name: _box(argument, given, why) for argument in record.arguments}
    if not any(_is_open(box) for box in boxes.values()):
        value = record.calculate({name: _corner(record.argument(name), box) for name, box in boxes.items()})
        return Range(value, value)
    return _hull(record, boxes, why)


def evaluate_surely(name: str, given: Mapping[str, object]) -> Range:
    """The range of results where every number that the arguments may be has a result; nothing otherwise.

    `evaluate_ranges` tells what a person can count on within the formula. This is for decisions that must stand
    whatever the unknown numbers turn out to be: where one of them may have no result (outside a formula's range, or
    with a result that cannot be), both ends are None and `why` says so. It raises only for a name that is none.
    """
    record = computation_named(name)
    for argument_name in given:
        record.argument(argument_name)
    boxes: dict[str, _Box] = {}
    why: list[str] = []
    unknown = False
    for argument in record.arguments:
        value = given.get(argument.name, argument.default)
        members = value if argument.many and isinstance(value, list | tuple) else (value,)
        edges = [_sure_edge(argument, member, why) for member in members]
        unknown = unknown or None in edges or (argument.many and not edges)
        boxes[argument.name] = tuple(edge for edge in edges if edge is not None)
    if why or unknown:
        return Range(None, None, tuple(why))
    if not any(_is_open(box) for box in boxes.values()):
        try:
            value = record.calculate({a.name: _corner(a, boxes[a.name]) for a in record.arguments})
        except ValueError as error:
            return Range(None, None, (str(error),))
        return Range(value, value)
    return _whole_hull(record, boxes)


def _sure_edge(argument: Argument, value: object, why: list[str]) -> _Edge | None:
    """The ends of an argument within its range; None where it is unknown, or may be outside (then `why` says so)."""
    low, high = value if isinstance(value, tuple) else (value, value)
    ends = [argument.snap(float(end)) if isinstance(end, int | float) else None for end in (low, high)]
    known = [end for end in ends if end is not None]
    outside = [end for end in known if not argument.low <= end <= argument.high or not math.isfinite(end)]
    if outside:
        reason = (argument.below if outside[0] < argument.low else argument.above) or argument.meaning
        why.append(f"{argument.name}: {shown(outside[0], argument.units[0])} is outside {argument.span()} ({reason})")
    if outside or len(known) < 2:
        return None
    return _Edge(known[0], known[1])


def _whole_hull(record: Computation, boxes: Mapping[str, _Box]) -> Range:
    """The hull of all results, if no corner is without one or beyond what the result can be."""
    loose = [argument for argument in record.arguments if _is_open(boxes[argument.name])]
    free = [argument.name for argument in loose if argument.direction == "0"]
    if free:
        return Range(None, None, tuple(f"{name}: not monotone, so a range of it says nothing" for name in free))
    ends = [_at(record, boxes, turn, towards) for turn in _turns(loose) for towards in "-+"]
    known = [end for end in ends if end is not None]
    if len(known) < len(ends):
        return Range(None, None, (f"{record.name}: for a part of what is possible there is no result",))
    if not all(record.result.holds(end) for end in known):
        return Range(None, None, (f"{record.name}: {record.result.beyond or 'a part of the results cannot be'}",))
    room = 0.0 if record.result.whole else _ROUNDING
    low, high = min(known), max(known)
    return Range(low - room * abs(low), high + room * abs(high))


@dataclass(frozen=True)
class _Edge:
    low: float | None
    high: float | None


_Box = tuple[_Edge, ...]


def _box(argument: Argument, given: Mapping[str, Given], why: list[str]) -> _Box:
    value = given.get(argument.name, argument.default)
    if not argument.many:
        return (_edge(argument, value, why),)
    if value is None:
        why.append(f"{argument.name}: how many there are is not known")
        return ()
    if isinstance(value, int | float | str):
        raise ValueError(f"{argument.name}: found {value!r}, expected a list ({argument.meaning})")
    if not value:
        argument.accept(())
    return tuple(_edge(argument, member, why) for member in value)


def _edge(argument: Argument, value: object, why: list[str]) -> _Edge:
    one = replace(argument, many=False) if argument.many else argument
    if value is None:
        value = (None, None)
    if not isinstance(value, tuple):
        number = one.accept(value)
        assert isinstance(number, float)
        return _Edge(number, number)
    if len(value) != 2:
        raise ValueError(f"{argument.name}: found {value!r}, expected (least, most) ({argument.meaning})")
    low, high = (_end(argument, end) for end in value)
    if low is not None and high is not None and low > high:
        raise ValueError(f"{argument.name}: found {low:g} to {high:g}, expected the least first")
    # Ends that are wholly on the wrong side are refused just as a single number there would be.
    if low is not None and low > argument.high:
        one.accept(low)
    if high is not None and high < argument.low:
        one.accept(high)
    least = _held(argument, low, argument.low, argument.below, why)
    most = _held(argument, high, argument.high, argument.above, why)
    if least is not None and most is not None and least > most:
        raise ValueError(f"{argument.name}: found {low:g} to {high:g}, expected a whole number in it")
    return _Edge(least, most)


def _end(argument: Argument, end: object) -> float | None:
    if end is None:
        return None
    if isinstance(end, bool) or not isinstance(end, int | float) or math.isnan(end):
        raise ValueError(f"{argument.name}: found {end!r}, expected a number or None ({argument.meaning})")
    return None if math.isinf(end) else argument.snap(float(end))


def _held(argument: Argument, end: float | None, bound: float, beyond: str, why: list[str]) -> float | None:
    """The end of a range as far as the formula holds: None where it may lie beyond."""
    if end is None:
        if not beyond:
            return bound
        why.append(f"{argument.name}: may lie beyond the range of the formula ({beyond})")
        return None
    if argument.low <= end <= argument.high:
        if argument.whole:
            return float(math.ceil(end) if bound == argument.low else math.floor(end))
        return end
    why.append(f"{argument.name}: may lie outside {argument.span()} ({beyond or argument.meaning})")
    return None


def _corner(argument: Argument, box: _Box, end: str = "low") -> Value:
    ends = tuple(getattr(edge, end) for edge in box)
    return ends if argument.many else ends[0]


def _hull(record: Computation, boxes: Mapping[str, _Box], why: list[str]) -> Range:
    loose = [argument for argument in record.arguments if _is_open(boxes[argument.name])]
    free = [argument.name for argument in loose if argument.direction == "0"]
    why.extend(f"{name}: not monotone, so a range of it says nothing; give one number" for name in free)
    uncounted = any(not box for box in boxes.values())
    if free or uncounted:
        return _within(record, None, None, why)
    low: float | None = math.inf
    high: float | None = -math.inf
    for turn in _turns(loose):
        least = _at(record, boxes, turn, towards="-")
        most = _at(record, boxes, turn, towards="+")
        low = None if low is None or least is None else min(low, least)
        high = None if high is None or most is None else max(high, most)
    if low is not None:
        low -= _ROUNDING * abs(low) if not record.result.whole else 0.0
    if high is not None:
        high += _ROUNDING * abs(high) if not record.result.whole else 0.0
    return _within(record, low, high, why)


def _is_open(box: _Box) -> bool:
    """Whether this is more than one value: a range, something unknown, or an unknown number of things."""
    return not box or any(edge.low is None or edge.low != edge.high for edge in box)


def _turns(loose: Sequence[Argument]) -> Iterator[dict[str, str]]:
    """Every way in which the arguments of unknown direction can move the result."""
    names = [argument.name for argument in loose if argument.direction == "±"]
    for signs in itertools.product("+-", repeat=len(names)):
        yield dict(zip(names, signs, strict=True))


def _at(record: Computation, boxes: Mapping[str, _Box], turn: Mapping[str, str], towards: str) -> float | None:
    """The bare formula where the result is least ("-") or most ("+"); None where it has no value there."""
    values: dict[str, Value] = {}
    for argument in record.arguments:
        direction = turn.get(argument.name, argument.direction)
        corner = _corner(argument, boxes[argument.name], "high" if direction == towards else "low")
        if corner is None or (isinstance(corner, tuple) and None in corner):
            return None
        values[argument.name] = corner
    try:
        value = record.body(**values)
    except (ArithmeticError, ValueError):
        return None
    return value if math.isfinite(value) else None


def _within(record: Computation, low: float | None, high: float | None, why: Sequence[str]) -> Range:
    """The range cut to what the result can physically be."""
    least, most = record.result.low, record.result.high
    impossible = (high is not None and least is not None and high < least) or (
        low is not None and most is not None and low > most
    )
    if impossible:
        raise ValueError(f"{record.name}: {record.result.beyond}")
    if least is not None:
        low = least if low is None else max(low, least)
    if most is not None:
        high = most if high is None else min(high, most)
    return Range(low, high, tuple(dict.fromkeys(why)))


def tabulate(
    name: str,
    given: Mapping[str, object],
    over: str,
    low: float,
    high: float,
    *,
    points: int = 11,
    logarithmic: bool = False,
) -> tuple[tuple[float, float | None], ...]:
    """Results while one argument runs from `low` to `high` (SI): a small table, or the line of a plot.

    A point where there is no result has None. Whole-numbered arguments are rounded and not repeated.
    """
    record = computation_named(name)
    argument = record.argument(over)
    if points < 2 or not low < high or (logarithmic and low <= 0.0):
        raise ValueError(f"{over}: found {low:g} to {high:g} in {points} points, expected a rising range")
    shares = [step / (points - 1) for step in range(points)]
    places = [low * (high / low) ** share if logarithmic else low + (high - low) * share for share in shares]
    places[-1] = high
    if argument.whole:
        places = list(dict.fromkeys(float(round(place)) for place in places))
    rows: list[tuple[float, float | None]] = []
    for place in places:
        try:
            rows.append((place, record.calculate({**given, over: place})))
        except ValueError:
            rows.append((place, None))
    if all(result is None for _, result in rows):
        record.calculate({**given, over: places[0]})
    return tuple(rows)
