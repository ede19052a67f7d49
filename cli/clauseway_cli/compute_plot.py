"""A line plot as SVG: one result over one argument, both systems of units on the axes, the same bytes each time."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from clauseway.answers.compute_input import gauge_text
from clauseway.answers.compute_table import Row, Table
from clauseway.compute.description import Computation
from clauseway.compute.units import from_si, label, number, to_si

_WIDTH, _HEIGHT = 720.0, 484.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 88.0, 632.0, 92.0, 392.0
_LINE, _INK, _GRID, _QUIET = "#1f5fa8", "#222222", "#e3e3e3", "#666666"


@dataclass(frozen=True)
class _Axis:
    """One direction of the plot: what SI value lies at which pixel."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


def as_svg(record: Computation, table: Table, held: Sequence[str] = ()) -> str:
    """The plot of a table's rows; `held` says what the other numbers are."""
    over, result = table.over, record.result
    place = 0 if table.system == "si" else 1
    results = [row.result for row in table.rows if row.result is not None]
    lowest = [found.low for found in results if found.low is not None]
    highest = [found.high for found in results if found.high is not None]
    across = _Axis(table.rows[0].value, table.rows[-1].value, _LEFT, _RIGHT)
    ranged = any(found.point is None for found in results)
    up = _upward(lowest + highest or [0.0], result.units[place])
    parts = [
        *_heading(record, ranged),
        *_ticks_across(across, over.units[place], _BOTTOM, grid=True),
        *_ticks_up(up, result.units[place], _LEFT, grid=True),
        *(_ticks_across(across, over.units[1 - place], _TOP) if len(set(over.units)) > 1 else ()),
        *(_ticks_up(up, result.units[1 - place], _RIGHT) if len(set(result.units)) > 1 else ()),
        f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{_RIGHT - _LEFT:g}" height="{_BOTTOM - _TOP:g}" '
        f'fill="none" stroke="{_INK}"/>',
        *_names(table, record, place),
        *_lines(table.rows, across, up),
        *(part for row in table.marked for part in _mark(row, across, up)),
        *_below(held),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH:g}" height="{_HEIGHT:g}" '
        f'viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" font-family="Helvetica, Arial, sans-serif" font-size="12">\n'
        f'<rect width="{_WIDTH:g}" height="{_HEIGHT:g}" fill="#ffffff"/>\n' + "\n".join(parts) + "\n</svg>\n"
    )


def _upward(values: Sequence[float], unit: str) -> _Axis:
    """The axis of the results, out to round numbers; from zero where that is not far off."""
    shown = [from_si(value, unit) for value in values]
    low, high = min(shown), max(shown)
    if 0.0 < low < 0.6 * high:
        low = 0.0
    if high - low <= 1e-9 * max(abs(low), abs(high)):
        low, high = low - (abs(low) or 1.0) * 0.1, high + (abs(high) or 1.0) * 0.1
    step = _step(low, high)
    bottom, top = math.floor(low / step + 1e-9) * step, math.ceil(high / step - 1e-9) * step
    return _Axis(to_si(bottom, unit), to_si(top, unit), _BOTTOM, _TOP)


def _step(low: float, high: float) -> float:
    """A round distance between ticks: four to eight of them."""
    rough = (high - low) / 6.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(times * power for times in (1.0, 2.0, 2.5, 5.0, 10.0) if times * power >= rough * 0.999)


def _ticks(axis: _Axis, unit: str) -> Iterator[tuple[float, str]]:
    """The pixel and the text of each tick at a round number of the unit."""
    low, high = from_si(axis.low, unit), from_si(axis.high, unit)
    step = _step(low, high)
    first = math.ceil(low / step - 1e-9)
    for count in range(first, math.floor(high / step + 1e-9) + 1):
        value = float(f"{count * step:.12g}")
        yield axis.at(to_si(value, unit)), number(value).replace("-", "−")


def _text(x: float, y: float, text: str, anchor: str = "middle", style: str = "") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{_INK}"{style}>{escape(text)}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, colour: str) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}"/>'


def _ticks_across(axis: _Axis, unit: str, y: float, *, grid: bool = False) -> Iterator[str]:
    outward = 5.0 if grid else -5.0
    for x, text in _ticks(axis, unit):
        if grid:
            yield _line(x, _TOP, x, _BOTTOM, _GRID)
        yield _line(x, y, x, y + outward, _INK)
        yield _text(x, y + (18.0 if grid else -9.0), text)


def _ticks_up(axis: _Axis, unit: str, x: float, *, grid: bool = False) -> Iterator[str]:
    outward = -5.0 if grid else 5.0
    for y, text in _ticks(axis, unit):
        if grid:
            yield _line(_LEFT, y, _RIGHT, y, _GRID)
        yield _line(x, y, x + outward, y, _INK)
        yield _text(x + 2 * outward - outward / 5, y + 4.0, text, "end" if grid else "start")


def _heading(record: Computation, ranged: bool) -> Iterator[str]:
    yield _text(_LEFT, 28.0, record.title, "start", ' font-size="16" font-weight="bold"')
    between = ": between the two lines, for the ranges given" if ranged else ""
    yield f'<text x="{_LEFT:g}" y="46" fill="{_QUIET}">{escape(record.name + between)}</text>'


def _below(held: Sequence[str]) -> Iterator[str]:
    """The numbers that stay the same, in small print, as many as fit on two lines."""
    lines = textwrap.wrap("; ".join(held), 96, max_lines=2, placeholder=" …")
    for place, text in enumerate(lines):
        y = _BOTTOM + 64.0 + 15.0 * place
        yield f'<text x="{_LEFT:g}" y="{y:g}" font-size="11" fill="{_QUIET}">{escape(text)}</text>'


def _names(table: Table, record: Computation, place: int) -> Iterator[str]:
    """What each axis is, with its unit; the other system's unit at the far axes."""
    over, result = table.over, record.result
    middle, centre = (_LEFT + _RIGHT) / 2, (_TOP + _BOTTOM) / 2
    yield _text(middle, _BOTTOM + 42.0, _named(over.name.replace("_", " "), over.units[place]))
    if len(set(over.units)) > 1:
        yield _text(middle, _TOP - 28.0, label(over.units[1 - place]))
    yield _turned(24.0, centre, _named(result.name, result.units[place]), -90)
    if len(set(result.units)) > 1:
        yield _turned(_WIDTH - 22.0, centre, label(result.units[1 - place]), 90)


def _named(name: str, unit: str) -> str:
    return f"{name}, {label(unit)}" if label(unit) else name


def _turned(x: float, y: float, text: str, angle: int) -> str:
    return _text(x, y, text, style=f' transform="rotate({angle} {x:.1f} {y:.1f})"')


def _lines(rows: Sequence[Row], across: _Axis, up: _Axis) -> Iterator[str]:
    """The line of the results; where a result is a range, the lines of its two ends and the band between."""
    low = list(_runs(rows, across, up, lambda row: row.result.low if row.result else None))
    high = list(_runs(rows, across, up, lambda row: row.result.high if row.result else None))
    if low == high:
        yield from map(_polyline, low)
        return
    if len(low) == len(high) == 1:
        band = " ".join([*low[0], *reversed(high[0])])
        yield f'<polygon points="{band}" fill="{_LINE}" fill-opacity="0.12"/>'
    yield from map(_polyline, low + high)


def _runs(rows: Sequence[Row], across: _Axis, up: _Axis, end: Callable[[Row], float | None]) -> Iterator[list[str]]:
    """Points between which no result is missing."""
    run: list[str] = []
    for row in rows:
        value = end(row)
        if value is not None:
            run.append(f"{across.at(row.value):.1f},{up.at(value):.1f}")
        elif run:
            yield run
            run = []
    if run:
        yield run


def _polyline(points: Sequence[str]) -> str:
    return (
        f'<polyline points="{" ".join(points)}" fill="none" stroke="{_LINE}" stroke-width="2" stroke-linejoin="round"/>'
    )


def _mark(row: Row, across: _Axis, up: _Axis) -> Iterator[str]:
    """The number that was given, as a dot on the line."""
    if row.result is not None and row.result.point is not None:
        x, y = across.at(row.value), up.at(row.result.point)
        yield f'<circle cx="{x:.1f}" cy="{y:.1f}" r="4" fill="{_LINE}" stroke="#ffffff"/>'
        if row.gauge is not None:
            right = x < _RIGHT - 60.0
            beside = 7.0 if right else -7.0
            yield _text(x + beside, max(y - 7.0, _TOP + 14.0), gauge_text(row.gauge), "start" if right else "end")
