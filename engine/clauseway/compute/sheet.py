"""A computation laid out for reading: formula, numbers put in, result, assumptions, source, caution.

Everything that prints a computation, as text, page or JSON, starts from a `Sheet` and knows no subject.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from clauseway.compute.description import Argument, Computation, Source, show
from clauseway.compute.registry import Given, Range, computation_named, evaluate_ranges
from clauseway.compute.units import shown


@dataclass(frozen=True)
class Line:
    """One number put in, as text in metric and in US customary units."""

    name: str
    symbol: str
    meaning: str
    metric: str
    customary: str
    #: Where a default is from; nothing for a number that was given.
    default_from: Source | None = None


@dataclass(frozen=True)
class Alternative:
    """One reading of a matter on which sources differ; the result is empty where it cannot be computed."""

    matter: str
    says: str
    source: Source
    metric: str = ""
    customary: str = ""


@dataclass(frozen=True)
class Sheet:
    """All that a calculation sheet says. `formula_with_numbers` is empty when the input has ranges."""

    computation: Computation
    formula: str
    formula_with_numbers: str
    lines: tuple[Line, ...]
    result: Range
    metric: str
    customary: str
    alternatives: tuple[Alternative, ...]


def sheet(name: str, given: Mapping[str, Given]) -> Sheet:
    """The sheet of one computation for numbers, ranges and unknowns in SI units; ValueError as elsewhere."""
    record = computation_named(name)
    result = evaluate_ranges(name, given)
    metric, customary = record.result.units
    return Sheet(
        computation=record,
        formula=record.formula_with_symbols(),
        formula_with_numbers=record.formula_with_numbers(given) if _all_points(record, given) else "",
        lines=tuple(_line(argument, given) for argument in record.arguments),
        result=result,
        metric=range_text(result, metric),
        customary=range_text(result, customary),
        alternatives=tuple(_alternatives(record, given)),
    )


def range_text(result: Range, unit: str) -> str:
    """A range of results in words; one number where it is one."""
    if result.low is None and result.high is None:
        return "nothing can be said"
    if result.low is None:
        assert result.high is not None
        return f"at most {shown(result.high, unit)}"
    if result.high is None:
        return f"at least {shown(result.low, unit)}"
    if result.point is not None:
        return shown(result.point, unit)
    return f"{shown(result.low, unit)} to {shown(result.high, unit)}"


def _all_points(record: Computation, given: Mapping[str, Given]) -> bool:
    for argument in record.arguments:
        value = given.get(argument.name, argument.default)
        members: Sequence[object] = value if argument.many and isinstance(value, Sequence) else [value]
        if not all(isinstance(member, int | float) for member in members):
            return False
    return True


def _line(argument: Argument, given: Mapping[str, Given]) -> Line:
    value = given.get(argument.name, argument.default)
    metric, customary = argument.units
    return Line(
        name=argument.name,
        symbol=argument.symbol,
        meaning=argument.meaning,
        metric=_given_text(argument, value, metric),
        customary=_given_text(argument, value, customary),
        default_from=argument.default_source if argument.name not in given else None,
    )


def _given_text(argument: Argument, value: Given, unit: str) -> str:
    if argument.many and isinstance(value, Sequence):
        return "[" + ", ".join(_member_text(member, unit) for member in value) + "]"
    return _member_text(value, unit)


def _member_text(value: object, unit: str) -> str:
    if isinstance(value, int | float):
        return show(float(value), unit)
    if isinstance(value, tuple):
        low, high = (shown(end, unit) if isinstance(end, int | float) else "?" for end in value)
        return f"{low} to {high}"
    return "unknown"


def _alternatives(record: Computation, given: Mapping[str, Given]) -> list[Alternative]:
    metric, customary = record.result.units
    found: list[Alternative] = []
    for disagreement in record.disagreements:
        for reading in disagreement.readings:
            result = _with(record, given, reading.settings) if reading.settings else None
            found.append(
                Alternative(
                    matter=disagreement.matter,
                    says=reading.says,
                    source=reading.source,
                    metric=range_text(result, metric) if result else "",
                    customary=range_text(result, customary) if result else "",
                )
            )
    return found


def _with(record: Computation, given: Mapping[str, Given], settings: Sequence[tuple[str, float]]) -> Range | None:
    try:
        return evaluate_ranges(record.name, {**given, **dict(settings)})
    except ValueError:
        return None
