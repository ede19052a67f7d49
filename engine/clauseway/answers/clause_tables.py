"""The tables of clauses of several codes and editions, by the names that people give them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from clauseway.answers.coverage import SCHEMA, Coverage, coverage, coverage_data, totals_data
from clauseway.law.library import Library
from clauseway.law.resolve import parse_code, resolve
from clauseway.model.clause import STANDINGS


def clause_tables(library: Library, named: Sequence[str] = (), layers: Sequence[str] = ()) -> list[Coverage]:
    """The table of each code and edition that is named, a code alone standing for all its editions; else of all codes.

    Raises:
        ClausewayError: for an unknown code or edition, and for layers that do not fit.
    """
    found = []
    for written in named or [code.id for code in library.codes.values() if not code.always]:
        name, at, _ = written.partition("@")
        code = library.code(name)
        editions = [parse_code(written, library)[1]] if at else code.editions
        for edition in editions:
            found.append(coverage(resolve(library, [f"{name}@{edition}"], layers), name, code.clauses))
    return found


def with_standing(table: Coverage, standings: Sequence[str] = ()) -> Coverage:
    """The table with the rows of some standings only; all of them where none is named."""
    return replace(table, rows=tuple(row for row in table.rows if row.standing in (standings or STANDINGS)))


def clauses_data(tables: Sequence[Coverage], standings: Sequence[str] = (), *, counts: bool = False) -> dict[str, Any]:
    """Tables of clauses as JSON data, or their counts alone; the counts are always those of the whole table."""
    return {
        "schema": SCHEMA,
        "codes": [
            {"code": table.code, "edition": table.edition, "totals": totals_data(table)}
            if counts
            else {**coverage_data(with_standing(table, standings)), "totals": totals_data(table)}
            for table in tables
        ],
    }
