"""Small wrong versions of a printed value: the next number, a set without one of its members."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from clauseway.language.possible import Choice, Interval, Value
from clauseway.model.provision import Column, Parameter, Table
from clauseway.model.vocabulary import Vocabulary
from clauseway.text.quantity import parse_quantity

_NUMBER = re.compile(r"(?P<sign>-?)(?P<number>\d+(?:\.(?P<places>\d+))?)(?P<rest>\s*[^\d/:'\s].*)?")
_WHOLE_STEP = frozenset({"mm"})
"""Units of which nobody measures a tenth."""

_PART = 0.01
"""The part of a value that is a step where its printed unit is not known, as in the cells of a table."""

_TEN_MINUTES = 600.0


def values_near(parameter: Parameter, vocabulary: Vocabulary) -> Iterator[tuple[str, Parameter]]:
    """The parameter with one mistake in its value, and what the mistake is.

    A number moves up and down by the smallest step at which examples miss it: one for a count, one in the last
    printed place of a decimal, else a tenth of the printed unit (one for millimetres). The second printed number is a
    rounded one and moves by one in its last place. A set loses one of its printed members.
    """
    value = parameter.value
    if isinstance(value, Choice):
        yield from _smaller_sets(parameter, vocabulary)
    elif isinstance(value, Interval) and math.isfinite(value.low):
        printed = parameter.printed
        for way in (1, -1):
            text, number = _moved(printed[0], value.low, parameter.form, way, second=False)
            moved = replace(value, low=number, high=number)
            yield f"{printed[0]} as {text}", replace(parameter, value=moved, printed=(text, *printed[1:]))
        if value.also is not None:
            for way in (1, -1):
                text, number = _moved(printed[1], value.also, parameter.form, way, second=True)
                yield (
                    f"{printed[1]} as {text}",
                    replace(parameter, value=replace(value, also=number), printed=(printed[0], text)),
                )


def _smaller_sets(parameter: Parameter, vocabulary: Vocabulary) -> Iterator[tuple[str, Parameter]]:
    listed = vocabulary.lists[parameter.form.partition(":")[2]]
    for at, member in enumerate(parameter.printed):
        rest = parameter.printed[:at] + parameter.printed[at + 1 :]
        options = frozenset[str]().union(*(listed.expand(word) for word in rest))
        yield f"without {member}", replace(parameter, value=Choice(options), printed=rest)


def _moved(printed: str, value: float, form: str, way: int, *, second: bool) -> tuple[str, float]:
    """A printed number one step up or down, as text and as what comparisons use."""
    kind, _, detail = form.partition(":")
    amount, per, noun = printed.partition(" per ")
    if kind == "date":
        return datetime.date.fromordinal(int(value) + way).isoformat(), value + way
    if kind == "count":
        step = 1.0 * way
        return f"{value + step:g} {detail}".strip(), value + step
    match = _NUMBER.fullmatch(amount.strip())
    if match is None:
        return f"{printed} {'more' if way > 0 else 'less'} {_PART:.0%}", value * (1 + way * _PART)
    places, unit = match["places"] or "", (match["rest"] or "").strip()
    usual = "1" if second or unit in _WHOLE_STEP else "0.1"
    smallest = Decimal(1).scaleb(-len(places)) if places else Decimal(usual)
    number = Decimal(match["sign"] + match["number"]) + way * smallest
    text = f"{number}{match['rest'] or ''}"
    moved = parse_quantity(text, detail).value
    return (f"{text} per {noun}" if per else text), moved


def tables_near(table: Table) -> Iterator[tuple[str, str, str, Table]]:
    """The table with one mistake in it: the row and the column (empty for a whole row) that have it, and what it is.

    A count moves by one, a time of ten minutes or more by one minute, another quantity by a hundredth, up and down; a
    row is left out.
    """
    for row, cells in table.rows.items():
        rest = {name: other for name, other in table.rows.items() if name != row}
        yield row, "", "left out", replace(table, rows=rest)
        for at, (column, cell) in enumerate(zip(table.columns, cells, strict=True)):
            for what, moved in _cells_near(column, cell):
                changed = (*cells[:at], moved, *cells[at + 1 :])
                yield row, column.name, what, replace(table, rows={**table.rows, row: changed})


def _cells_near(column: Column, cell: Value) -> Iterator[tuple[str, Value]]:
    if not isinstance(cell, Interval) or not math.isfinite(cell.low):
        return
    step, said = cell.low * _PART, format(_PART, ".0%")
    if column.form.startswith("count"):
        step, said = 1.0, "one"
    elif column.form == "quantity:time" and cell.low >= _TEN_MINUTES:
        step, said = _TEN_MINUTES / 10, "1 min"
    for way, word in ((1, "more"), (-1, "less")):
        number = cell.low + way * step
        yield f"{said} {word}", replace(cell, low=number, high=number)
