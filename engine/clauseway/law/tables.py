"""Printed tables: rows by name, key columns exact or banded, a value in every other column."""

from __future__ import annotations

import math

from clauseway.language.possible import Choice, Interval, Value
from clauseway.language.types import UNITS, ChoiceType, NumberType, Type, dimension
from clauseway.law.elaborate import TableShape
from clauseway.law.lower import Context, citation_of, entries, text_of
from clauseway.law.parameters import changes_of, number
from clauseway.model.provision import Change, Column, Table
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node


def lower_table(node: Node, context: Context) -> tuple[Table, TableShape]:
    """A table and what expressions may ask of it.

    Raises:
        ClausewayError: with every cell that does not fit its column.
    """
    problems: list[Problem] = []
    columns: list[Column] = []
    types: dict[str, Type] = {}
    for part in ("keys", "columns"):
        for name, declared in entries(node, part):
            column, kind = _column(name, declared, part == "keys", context, problems)
            columns.append(column)
            types[name] = kind
    rows: dict[str, tuple[Value, ...]] = {}
    for row, cells in entries(node, "rows"):
        for name, cell in cells.items():
            if name not in types:
                problems.append(
                    Problem(
                        cell.key_place or cell.place,
                        f"row {row} has a cell {name}",
                        one_of(types, 20),
                        nearest(name, types) or "",
                    )
                )
        values = [_cell(cells, row, column, context, problems) for column in columns]
        rows[row] = tuple(values)
    if problems:
        raise ClausewayError(problems)
    table = Table(
        f"{context.code}.{text_of(node, 'id')}",
        context.code,
        context.edition,
        text_of(node, "title"),
        tuple(columns),
        rows,
        citation_of(node, context),
        node.place,
        _histories(node),
    )
    keys = {column.name: types[column.name] for column in columns if column.key}
    return table, TableShape(keys, {name: kind for name, kind in types.items() if name not in keys})


def _histories(node: Node) -> dict[str, tuple[Change, ...]]:
    """What amendments did to rows and cells, by address."""
    found: dict[str, tuple[Change, ...]] = {}
    for row, cells in entries(node, "rows"):
        found[row] = tuple(changes_of(cells))
        found |= {f"{row}/{name}": tuple(changes_of(cell)) for name, cell in cells.items()}
    return {address: changes for address, changes in found.items() if changes}


def _column(name: str, node: Node, key: bool, context: Context, problems: list[Problem]) -> tuple[Column, Type]:
    of, unit = text_of(node, "of"), text_of(node, "unit")
    banded = text_of(node, "banded") == "true"
    if of:
        listed = context.vocabulary.value_list(of)
        if listed is None:
            problems.append(
                Problem(
                    node.place,
                    f"no value list {of}",
                    "a list, or a choice fact",
                    nearest(of, [*context.vocabulary.lists, *context.vocabulary.fact_names]) or "",
                )
            )
            return Column(name, "text", key), NumberType()
        return Column(name, f"choice:{listed.name}", key), ChoiceType(listed.name)
    amount = unit.partition(" per ")[0]
    if amount in UNITS and amount != "count":
        return Column(name, f"quantity:{amount}", key, banded), NumberType(dimension(amount))
    return Column(name, f"count:{unit}", key, banded), NumberType((), "" if unit == "count" else unit)


def _cell(cells: Node, row: str, column: Column, context: Context, problems: list[Problem]) -> Value:
    cell = cells.get(column.name)
    if cell is None:
        problems.append(Problem(cells.place, f"row {row} has no {column.name}", "a cell in every column"))
        return None
    text = cell.text or ""
    form, _, detail = column.form.partition(":")
    if form == "choice":
        listed = context.vocabulary.lists[detail]
        options: frozenset[str] = frozenset()
        for element in cell.elements() if cell.is_list else [cell]:
            if element.text is None or element.text not in listed.values:
                found = f"{element.text or element.kind} is not a value of {detail}"
                near = nearest(element.text or "", listed.values) or ""
                problems.append(Problem(element.place, found, one_of(listed.values, 20), near))
            else:
                options |= listed.expand(element.text)
        return Choice(options)
    if text == "none":
        return Interval(math.inf, math.inf)
    try:
        return number(cell, None, None)[0]
    except ClausewayError as error:
        problems.extend(error.problems)
        return None
