"""A result for several values of one argument: the rows of a small table or the points of a plot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clauseway.answers.compute_input import Put, area_of
from clauseway.compute.description import Argument, Computation
from clauseway.compute.registry import Range, evaluate_ranges
from clauseway.compute.units import from_si, to_si
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.quantity import System

_INTERVALS = (5, 4, 6, 8, 7)
_POINTS = 201
_MOST_ROWS = 9


@dataclass(frozen=True)
class Row:
    """One value in SI, its gauge if it is one of a conductor, and the result there; None where there is none."""

    value: float
    result: Range | None
    gauge: int | None = None


@dataclass(frozen=True)
class Table:
    """Rows over one argument, the system in which its range was typed, and the number or the gauges to mark."""

    over: Argument
    rows: tuple[Row, ...]
    system: System | None
    marked: tuple[Row, ...] = ()


def table_of(record: Computation, puts: Mapping[str, Put]) -> Table | None:
    """Five to nine rows over the range that was given; None where no range with two ends was."""
    over = _ranged(record, puts)
    if over is None:
        return None
    put = puts[over.name]
    places = _gauges(put) or [(value, None) for value in _steps(over, put)]
    return Table(over, tuple(_row(record, puts, over, *place) for place in places), put.system)


def points_of(record: Computation, puts: Mapping[str, Put]) -> Table:
    """The points of a plot over the range given, or around the number given for the argument usually varied.

    Raises:
        ClausewayError: when there is nothing to plot over.
    """
    over = _ranged(record, puts)
    marked: tuple[Row, ...] = ()
    if over is None:
        over, at = _varied(record, puts)
        low, high = _around(over, at)
        marked = (_row(record, puts, over, at, None),)
    else:
        low, high = _ends(puts[over.name])
        marked = tuple(_row(record, puts, over, *place) for place in _gauges(puts[over.name]))
    values = [low + (high - low) * step / (_POINTS - 1) for step in range(_POINTS - 1)] + [high]
    if over.whole:
        values = list(dict.fromkeys(float(round(value)) for value in values))
    rows = tuple(_row(record, puts, over, value, None) for value in values)
    if sum(row.result is not None for row in rows) < 2:
        raise ClausewayError(Problem(NOWHERE, f"there is no line over {over.name}", "another range"))
    return Table(over, rows, puts[over.name].system if over.name in puts else None, marked)


def _ranged(record: Computation, puts: Mapping[str, Put]) -> Argument | None:
    """The argument given as a range with two ends; the one usually varied, if there are several."""
    found = [
        argument
        for argument in record.arguments
        if argument.name in puts
        and isinstance(value := puts[argument.name].value, tuple)
        and None not in value
        and not argument.many
    ]
    return next((argument for argument in found if argument.name == record.sweep), found[0] if found else None)


def _ends(put: Put) -> tuple[float, float]:
    assert isinstance(put.value, tuple)
    low, high = put.value
    assert low is not None
    assert high is not None
    return low, high


def _steps(over: Argument, put: Put) -> list[float]:
    """Values in steps that are round in the unit in which the range was typed."""
    low, high = _ends(put)
    unit = over.units[0 if put.system == "si" else 1]
    first, last = from_si(low, unit), from_si(high, unit)
    if over.whole:
        step = max(1, -(-round(high - low) // (_MOST_ROWS - 1)))
        return [float(value) for value in range(round(low), round(high) + 1, step)]
    count = min(_INTERVALS, key=lambda intervals: len(f"{(last - first) / intervals:.10g}"))
    inner = [to_si(first + (last - first) * step / count, unit) for step in range(1, count)]
    return [low, *inner, high]


def _gauges(put: Put) -> list[tuple[float, int | None]]:
    if put.gauges is None:
        return []
    first, last = put.gauges
    way = 1 if last >= first else -1
    step = 2 if abs(last - first) % 2 == 0 and abs(last - first) > 2 else 1
    step = max(step, -(-abs(last - first) // (_MOST_ROWS - 1)))
    return [(area_of(gauge), gauge) for gauge in range(first, last + way, way * step)]


def _row(record: Computation, puts: Mapping[str, Put], over: Argument, value: float, gauge: int | None) -> Row:
    given = {name: put.value for name, put in puts.items()} | {over.name: value}
    try:
        return Row(value, evaluate_ranges(record.name, given), gauge)
    except ValueError:
        return Row(value, None, gauge)


def _varied(record: Computation, puts: Mapping[str, Put]) -> tuple[Argument, float]:
    if record.sweep:
        over = record.argument(record.sweep)
        value = puts[over.name].value if over.name in puts else over.default
        if isinstance(value, float):
            return over, value
    raise ClausewayError(
        Problem(NOWHERE, "there is nothing to plot over", f"a range for one value of {record.name}, such as a=1..5")
    )


def _around(over: Argument, at: float) -> tuple[float, float]:
    """From nothing, or the least there can be, to twice the number given; temperatures 40 K to each side."""
    if over.dimension == "temperature":
        low, high = at - 40.0, at + 40.0
    elif over.whole:
        low, high = at - 6.0, at + 6.0
    else:
        low, high = 0.0, 2.0 * at or over.high
    return max(low, over.low), min(high, over.high)
