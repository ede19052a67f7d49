"""What a printed table, one of its rows or one of its cells says, and which amendments set it."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.answers.explain import Explanation, Section, citation_section, history
from clauseway.answers.wording import value_in_words
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Change, Table


def explain_table(rulebook: Rulebook, identity: str) -> Explanation | None:
    """The explanation of `ibc.occupant-load-factors`, of a row `.../business`, or of a cell `.../business/area`."""
    owner, *steps = identity.split("/")
    full = [name for name in rulebook.tables if owner in (name, name.partition(".")[2])]
    if len(full) != 1 or len(steps) > 2:
        return None
    table = rulebook.tables[full[0]]
    columns = [column.name for column in table.columns]
    if (steps and steps[0] not in table.rows) or (len(steps) == 2 and steps[1] not in columns):
        return None
    name = "/".join([table.id, *steps])
    kind = ("table", "row of a table", "cell of a table")[len(steps)]
    rows = steps[:1] or list(table.rows)
    shown = tuple(_row(rulebook, table, row, steps[1:] or columns) for row in rows)
    sections = [Section("What it says", shown), citation_section(rulebook, table.citation)]
    changes = tuple(_changes(table, steps))
    if changes:
        sections.append(history(changes))
    return Explanation(name, kind, table.title, tuple(sections))


def _row(rulebook: Rulebook, table: Table, row: str, wanted: list[str]) -> str:
    cells = [
        f"{column.name} {value_in_words(cell, column.form, rulebook.vocabulary)}"
        for column, cell in zip(table.columns, table.rows[row], strict=True)
        if column.name in wanted
    ]
    return f"{row}: {', '.join(cells)}"


def _changes(table: Table, steps: list[str]) -> Iterator[Change]:
    """What amendments did to a table, row or cell; what was done to a row is told of its cells as well."""
    asked = "/".join(steps)
    for address, changes in table.history.items():
        if not asked or address == asked or f"{address}/".startswith(f"{asked}/") or asked.startswith(f"{address}/"):
            yield from changes
