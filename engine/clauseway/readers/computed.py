"""A computation inside a rule: from what its arguments can still be to what its result can be."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from clauseway.compute.description import Computation
from clauseway.compute.registry import Range, Span, computation_named, evaluate_surely
from clauseway.language.possible import ANY_NUMBER, Interval

_SHIFT = {"temperature": 273.15}
"""What is added to a number of the rule language, in its canonical unit, to give SI: degrees Celsius to kelvin."""

Spans = Mapping[str, Interval | Sequence[Interval] | None]
"""What is known of each argument; None for a list of unknown length."""


def computed(name: str, spans: Spans) -> tuple[Interval, tuple[str, ...]]:
    """What the result can be, and why nothing is known of it where that is not for want of facts."""
    record = computation_named(name)
    found = evaluate_surely(name, given_of(record, spans))
    result = _interval(found, _SHIFT.get(record.result.dimension, 0.0))
    systems = {value.system for value in _flat(spans) if value.system is not None}
    return (replace(result, system=systems.pop()) if len(systems) == 1 else result), found.why


def given_of(record: Computation, spans: Spans) -> dict[str, object]:
    """What a computation is given, in SI: a number for a point, the two ends of a range, None for unknown."""
    given: dict[str, object] = {}
    for argument, value in spans.items():
        shift = _SHIFT.get(record.argument(argument).dimension, 0.0)
        if value is None:
            given[argument] = None
        elif isinstance(value, Interval):
            given[argument] = _span(value, shift)
        else:
            given[argument] = [_span(member, shift) for member in value]
    return given


def _flat(spans: Spans) -> Iterator[Interval]:
    for value in spans.values():
        if isinstance(value, Interval):
            yield value
        else:
            yield from value or ()


def _span(value: Interval, shift: float) -> float | Span:
    if value.is_point and math.isfinite(value.low):
        return value.low + shift
    low, high = (end + shift if math.isfinite(end) else None for end in (value.low, value.high))
    return low, high


def _interval(found: Range, shift: float) -> Interval:
    if found.low is None and found.high is None:
        return ANY_NUMBER
    low = -math.inf if found.low is None else found.low - shift
    return Interval(low, math.inf if found.high is None else found.high - shift)
