"""A computation and its calculation sheet as plain data, and the computation that a name means."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from clauseway.answers.compute_input import Put, problem_of, read_values
from clauseway.answers.compute_table import Table, table_of
from clauseway.compute.description import Computation, Source
from clauseway.compute.registry import Range, computations
from clauseway.compute.sheet import Line, Sheet, sheet
from clauseway.text.nearest import nearest
from clauseway.text.problems import NOWHERE, ClausewayError, Problem

NOTE = "Engineering, not code: this decides nothing about what a code allows."


def as_json(value: object) -> str:
    """Indented JSON that ends in a new line."""
    return json.dumps(value, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def searched(record: Computation) -> str:
    """What a search for a computation looks through, folded."""
    return f"{record.name} {record.title} {record.result.name}".casefold()


def folded_name(typed: str) -> str:
    """A name or a part of one as it is compared."""
    return typed.strip().casefold().replace("_", "-")


def computations_found(search: str = "") -> list[Computation]:
    """The computations whose name, title or result has `search` in it, by name; all without one."""
    wanted = folded_name(search)
    return [record for record in computations().values() if wanted in searched(record)]


def named_computation(name: str) -> Computation:
    """The computation called so in full, or by the part after the dot where only one is.

    Raises:
        ClausewayError: where none or several are, with the nearest.
    """
    known = computations()
    wanted = folded_name(name)
    full = [each for each in known if wanted in (each, each.partition(".")[2])]
    if len(full) == 1:
        return known[full[0]]
    expected = f"one of {', '.join(full)}" if full else "a name that `clauseway compute` lists, such as " + _EXAMPLE
    near = nearest(wanted, known) or nearest(wanted, [each.partition(".")[2] for each in known]) or ""
    raise ClausewayError(Problem(NOWHERE, f"no computation is called `{name}`", expected, "" if full else near))


_EXAMPLE = "wire.voltage-drop"


def computations_data(found: Sequence[Computation]) -> list[dict[str, Any]]:
    """A list of computations as JSON data."""
    return [{"name": record.name, "title": record.title} for record in found]


def computed_data(name: str, words: Sequence[str]) -> dict[str, Any]:
    """The calculation sheet of one computation for values as people type them, such as `length=150 ft`, as JSON data.

    Raises:
        ClausewayError: for an unknown computation, and with every value that cannot be used or is missing.
    """
    record = named_computation(name)
    puts = read_values(record, words)
    try:
        page = sheet(record.name, {key: put.value for key, put in puts.items()})
        table = table_of(record, puts)
    except ValueError as error:
        raise ClausewayError(problem_of(error)) from None
    return sheet_record(page, puts, table)


def sheet_record(page: Sheet, puts: Mapping[str, Put], table: Table | None) -> dict[str, Any]:
    """The sheet for programs: the texts that people read, and the numbers in SI."""
    record = page.computation
    result = record.result
    return {
        "computation": record.name,
        "title": record.title,
        "formula": page.formula,
        "formula_with_numbers": page.formula_with_numbers,
        "inputs": [_input(line, puts.get(line.name)) for line in page.lines],
        "result": {
            "name": result.name,
            "symbol": result.symbol,
            "unit": result.unit,
            **_range(page.result),
            "metric": page.metric,
            "customary": page.customary,
            "open": list(page.result.why),
        },
        "table": _rows(table),
        "disagreements": _readings(page),
        "assumptions": list(record.assumptions),
        "sources": [_from(source) for source in record.sources],
        "caution": record.caution,
        "note": NOTE,
    }


def _input(line: Line, put: Put | None) -> dict[str, Any]:
    return {
        "name": line.name,
        "symbol": line.symbol,
        "meaning": line.meaning,
        "typed": put.typed if put else None,
        "value": put.value if put else None,
        "metric": line.metric,
        "customary": line.customary,
        "default_from": _from(line.default_from) if line.default_from else None,
    }


def _range(found: Range | None) -> dict[str, float | None]:
    return {"low": found.low if found else None, "high": found.high if found else None}


def _from(source: Source) -> dict[str, str]:
    return {"kind": source.kind, "text": source.text}


def _rows(table: Table | None) -> dict[str, Any] | None:
    if table is None:
        return None
    rows = [
        {"value": row.value, "gauge": row.gauge, "possible": row.result is not None, **_range(row.result)}
        for row in table.rows
    ]
    return {"over": table.over.name, "unit": table.over.unit, "rows": rows}


def _readings(page: Sheet) -> list[dict[str, Any]]:
    chosen = {one.matter: one.chosen for one in page.computation.disagreements}
    return [
        {
            "matter": matter,
            "chosen": chosen[matter],
            "readings": [
                {"says": one.says, "source": _from(one.source), "metric": one.metric, "customary": one.customary}
                for one in group
            ],
        }
        for matter, group in groupby(page.alternatives, key=lambda one: one.matter)
    ]
