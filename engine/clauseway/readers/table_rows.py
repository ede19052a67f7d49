"""The rows of a table that some keys may meet."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.language.possible import Choice, Interval, Truth, Value, belongs, compare, every
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Table

_KEPT = 4096


def matched(rulebook: Rulebook, table: Table, keys: tuple[Value, ...]) -> list[tuple[Value, ...]]:
    """The rows whose key cells the keys may meet; kept, since the doors of a building ask by the same keys."""
    kept: dict[object, list[tuple[Value, ...]]] = rulebook.noted("rows", dict)
    key = (table.id, table.code, keys)
    rows = kept.get(key)
    if rows is None:
        if len(kept) >= _KEPT:
            kept.clear()
        rows = kept[key] = list(_matching(table, list(keys)))
    return rows


def _matching(table: Table, keys: list[Value]) -> Iterator[tuple[Value, ...]]:
    """The rows whose key cells the keys may meet, up to the first that they surely do."""
    at = [i for i, column in enumerate(table.columns) if column.key]
    for row in table.rows.values():
        truths: list[Truth] = []
        for index, key in zip(at, keys, strict=True):
            cell = row[index]
            if isinstance(key, Choice) and isinstance(cell, Choice):
                truths.append(belongs(key, cell.options))
            elif isinstance(key, Interval) and isinstance(cell, Interval):
                truths.append(compare("<=" if table.columns[index].banded else "==", key, cell))
            else:
                truths.append(None)
        met = every(truths)
        if met is not False:
            yield row
        if met is True:
            return
