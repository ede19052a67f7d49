"""What a mapping makes of one sheet: which column leads where; and what may become of a cell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from clauseway.model.vocabulary import OWNS, Kind, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway_schedules.cell_value import CellTrouble, blank_value
from clauseway_schedules.headings import headings_of
from clauseway_schedules.mapping import BUILDING, Column, SheetMapping
from clauseway_schedules.sheet import Sheet, Workbook, address, turned
from clauseway_schedules.targets import Target, target

Data = dict[str, Any]
USED, BLANK, OPEN, IGNORED, TROUBLE, NAME, SKIPPED = (
    "used", "blank", "not-known", "ignored", "not-understood", "name", "skipped",
)  # fmt: skip


@dataclass(frozen=True, slots=True, order=True)
class CellFate:
    """What became of one cell: `state`, and why where it was not understood."""

    sheet: str
    row: int
    column: int
    text: str
    state: str
    why: str = ""

    @property
    def place(self) -> str:
        """The cell as people name it: Doors!C12."""
        return f"{self.sheet}!{address(self.row, self.column)}"


@dataclass(frozen=True, slots=True)
class Plan:
    """A sheet as it is read: its columns with what they lead to, and the one that names the rows, 0 for none."""

    sheet: Sheet
    mapping: SheetMapping
    name_column: int
    columns: tuple[tuple[int, Column, tuple[Target, ...]], ...]


def plan_of(book: Workbook, mapping: SheetMapping, base: Data, vocabulary: Vocabulary) -> Plan:
    """What a mapping makes of a sheet of a book.

    Raises:
        ClausewayError: for a mapping that does not fit the sheet, with everything that does not.
    """
    node = mapping.node
    sheet = book.sheet(mapping.sheet)
    names = [each.name for each in book.sheets]
    if sheet is None:
        raise ClausewayError(
            Problem(node.key_place or node.place, f"no sheet {mapping.sheet} in {book.name}", one_of(names, 12),
                    nearest(mapping.sheet, names) or "")
        )  # fmt: skip
    if mapping.turned:
        sheet = turned(sheet)
    kind = _kind(mapping, vocabulary)
    sets = _sets(base, kind)
    headings = headings_of(sheet, mapping.headings)
    problems: list[Problem] = []
    by_heading = {column.heading: column for column in mapping.columns}
    for column in mapping.columns:
        if column.heading not in headings.values():
            problems.append(
                Problem(column.node.key_place or column.node.place, f"no column {column.heading} in {sheet.name}",
                        one_of(headings.values(), 12), nearest(column.heading, headings.values()) or "")
            )  # fmt: skip
    name_column = next((number for number, heading in headings.items() if heading == mapping.name), 0)
    if not name_column and mapping.describes != BUILDING:
        problems.append(
            Problem(node.place, f"name: no column {mapping.name} in {sheet.name}", one_of(headings.values(), 12),
                    nearest(mapping.name, headings.values()) or "")
        )  # fmt: skip
    columns: list[tuple[int, Column, tuple[Target, ...]]] = []
    seen: dict[str, str] = {}
    for number, heading in headings.items():
        found = by_heading.get(heading)
        if found is None:
            if number != name_column:
                problems.append(
                    Problem(node.place, f"the column {heading} of {sheet.name} is not in the mapping",
                            f"what it leads to, or {heading}: ignore")
                )  # fmt: skip
            continue
        targets: tuple[Target, ...] = ()
        if not found.ignored:
            try:
                targets = tuple(target(written, kind, vocabulary, found.node, sets) for written in found.to)
                for each in targets if found.blank else ():
                    blank_value(found, each, vocabulary)
            except ClausewayError as error:
                problems.extend(error.problems)
            except CellTrouble as error:
                problems.append(Problem(found.node.place, f"blank: {found.blank}: {error}"))
            for each in targets:
                if each.written in seen:
                    problems.append(
                        Problem(found.node.place, f"{heading} and {seen[each.written]} both lead to {each.written}",
                                "one column for each fact")
                    )  # fmt: skip
                seen[each.written] = heading
        columns.append((number, found, targets))
    if problems:
        raise ClausewayError(problems)
    return Plan(sheet, mapping, name_column, tuple(columns))


def _kind(mapping: SheetMapping, vocabulary: Vocabulary) -> Kind:
    if mapping.describes == BUILDING:
        return vocabulary.kinds[BUILDING]
    lists = {name: each for name, each in vocabulary.kinds[BUILDING].relations.items() if each.form == OWNS}
    relation = lists.get(mapping.describes)
    if relation is None:
        node = mapping.node.get("describes") or mapping.node
        raise ClausewayError(
            Problem(
                node.place,
                f"describes: {mapping.describes}",
                one_of([BUILDING, *lists], 12),
                nearest(mapping.describes, [BUILDING, *lists]) or "",
            )
        )
    return vocabulary.kinds[relation.kind]


def _sets(base: Data, kind: Kind) -> frozenset[str]:
    """The sets of the base that are made for things of a kind."""
    given = base.get("sets")
    entries = given.items() if isinstance(given, dict) else ()
    return frozenset(name for name, inner in entries if isinstance(inner, dict) and inner.get("thing") == kind.name)
