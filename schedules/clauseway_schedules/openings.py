"""From sheets and their mapping to a file of openings; what became of every cell is kept."""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from clauseway.model.vocabulary import OWNS, Kind, Relation, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_schedules.cell_value import CellTrouble, Said, blank_value, name_of, values_of
from clauseway_schedules.headings import headings_of
from clauseway_schedules.mapping import Column, Mapping, SheetMapping
from clauseway_schedules.sheet import Sheet, Workbook, address
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
class Imported:
    """A file of openings as data, what became of each cell, the rows of each thing (sheet, row, list, name), and the
    last row of headings of each sheet of openings."""

    data: Data
    cells: tuple[CellFate, ...]
    rows: tuple[tuple[str, int, str, str], ...]
    heads: tuple[tuple[str, int], ...]

    @property
    def troubles(self) -> tuple[CellFate, ...]:
        """The cells that were not understood."""
        return tuple(cell for cell in self.cells if cell.state == TROUBLE)

    @property
    def counts(self) -> dict[str, int]:
        """How many cells came to each state."""
        return dict(sorted(Counter(cell.state for cell in self.cells).items()))


def import_book(book: Workbook, mapping: Mapping, base: Data, vocabulary: Vocabulary) -> Imported:
    """The openings of a schedule, laid over what the base describes; an unreadable cell leaves its fact unknown.

    Raises:
        ClausewayError: for a mapping that does not fit the sheets, with everything that does not.
    """
    unconfirmed = [
        Problem(column.node.key_place or column.node.place, f"the column {column.heading} is not confirmed",
                "confirmed: yes, after a look at what it means")
        for _, column in mapping.unconfirmed()
    ]  # fmt: skip
    if unconfirmed:
        raise ClausewayError(unconfirmed)
    plans = [_plan(book, each, base, vocabulary) for each in mapping.sheets]
    data = copy.deepcopy(base)
    cells: list[CellFate] = []
    rows: list[tuple[str, int, str, str]] = []
    for plan in plans:
        _Rows(plan, data, vocabulary, cells, rows).read()
    _with_references(data, plans, vocabulary)
    without_unused_sets(data)
    heads = tuple((each.sheet, max(each.headings)) for each in mapping.sheets if each.describes == "openings")
    return Imported(data, tuple(sorted(cells)), tuple(rows), heads)


@dataclass(frozen=True, slots=True)
class _Plan:
    sheet: Sheet
    mapping: SheetMapping
    name_column: int
    columns: tuple[tuple[int, Column, tuple[Target, ...]], ...]


def _plan(book: Workbook, mapping: SheetMapping, base: Data, vocabulary: Vocabulary) -> _Plan:
    node = mapping.node
    sheet = book.sheet(mapping.sheet)
    names = [each.name for each in book.sheets]
    if sheet is None:
        raise ClausewayError(
            Problem(node.key_place or node.place, f"no sheet {mapping.sheet} in {book.name}", one_of(names, 12),
                    nearest(mapping.sheet, names) or "")
        )  # fmt: skip
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
    if not name_column:
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
    return _Plan(sheet, mapping, name_column, tuple(columns))


def _kind(mapping: SheetMapping, vocabulary: Vocabulary) -> Kind:
    lists = {name: each for name, each in vocabulary.kinds["building"].relations.items() if each.form == OWNS}
    relation = lists.get(mapping.describes)
    if relation is None:
        node = mapping.node.get("describes") or mapping.node
        raise ClausewayError(
            Problem(
                node.place,
                f"describes: {mapping.describes}",
                one_of(lists, 12),
                nearest(mapping.describes, lists) or "",
            )
        )
    return vocabulary.kinds[relation.kind]


def _sets(base: Data, kind: Kind) -> frozenset[str]:
    """The sets of the base that are made for things of a kind."""
    given = base.get("sets")
    entries = given.items() if isinstance(given, dict) else ()
    return frozenset(name for name, inner in entries if isinstance(inner, dict) and inner.get("thing") == kind.name)


class _Rows:
    """Reads the rows of one sheet into the data."""

    def __init__(
        self,
        plan: _Plan,
        data: Data,
        vocabulary: Vocabulary,
        cells: list[CellFate],
        rows: list[tuple[str, int, str, str]],
    ) -> None:
        self.plan, self.data, self.vocabulary = plan, data, vocabulary
        self.cells, self.rows = cells, rows
        self.first: dict[str, int] = {}
        self.memory: dict[tuple[int, str], tuple[Said, ...] | str] = {}

    def read(self) -> None:
        mapping, sheet = self.plan.mapping, self.plan.sheet
        last = min(sheet.rows, mapping.last_row or sheet.rows)
        for row in range(max(mapping.headings) + 1, sheet.rows + 1):
            if sheet.row_is_blank(row):
                continue
            if row in mapping.skip or row > last:
                self.keep_all(row, SKIPPED)
                continue
            self.row(row)

    def keep(self, row: int, column: int, state: str, why: str = "") -> None:
        cell = self.plan.sheet.at(row, column)
        self.cells.append(CellFate(self.plan.sheet.name, row, column, cell.text, state, why))

    def keep_all(self, row: int, state: str, why: str = "") -> None:
        for column in range(1, self.plan.sheet.columns + 1):
            if self.plan.sheet.at(row, column).text:
                self.keep(row, column, state, why)

    def row(self, row: int) -> None:
        plan = self.plan
        named = plan.sheet.at(row, plan.name_column)
        name = name_of(named.text)
        if not name or named.trouble:
            self.keep_all(row, TROUBLE, named.trouble or f"the row has no {plan.mapping.name}: it is described nowhere")
            return
        if name in self.first:
            first = self.first[name]
            why = f"{named.text} stands in row {first} as well: kept apart as {name}.row{row}"
            self.keep(row, plan.name_column, TROUBLE, why)
            name = f"{name}.row{row}"
        else:
            self.first[name] = row
            self.keep(row, plan.name_column, NAME)
        thing = self.data.setdefault(plan.mapping.describes, {}).setdefault(name, {})
        self.rows.append((plan.sheet.name, row, plan.mapping.describes, name))
        for number, column, targets in plan.columns:
            if number != plan.name_column or targets:
                self.cell(row, number, column, targets, thing)

    def cell(self, row: int, number: int, column: Column, targets: tuple[Target, ...], thing: Data) -> None:
        cell = self.plan.sheet.at(row, number)
        if cell.trouble:
            self.keep(row, number, TROUBLE, cell.trouble)
            return
        if column.ignored:
            if cell.text:
                self.keep(row, number, IGNORED)
            return
        if not cell.text and not column.blank:
            self.keep(row, number, BLANK)
            return
        found = self.understood(number, cell.text, column, targets)
        if isinstance(found, str):
            self.keep(row, number, TROUBLE, found)
            return
        note = f"{self.plan.sheet.name}!{address(row, number)}"
        state = OPEN if all(said.value is None for said in found) else USED
        for said, each in zip(found, targets, strict=True):
            if said.value is not None and not _put(thing, each, said.value, note):
                self.keep(
                    row, number, TROUBLE, f"{each.written} is described otherwise in the base or in another sheet"
                )
                return
        if number != self.plan.name_column:
            self.keep(row, number, state)

    def understood(self, number: int, text: str, column: Column, targets: tuple[Target, ...]) -> tuple[Said, ...] | str:
        key = (number, text)
        if key not in self.memory:
            try:
                self.memory[key] = (
                    values_of(text, column, targets, self.vocabulary)
                    if text
                    else tuple(blank_value(column, each, self.vocabulary) for each in targets)
                )
            except CellTrouble as error:
                self.memory[key] = str(error)
        return self.memory[key]


def _put(thing: Data, target: Target, value: str | list[str], note: str) -> bool:
    """Set a value where nothing is, and say whether nothing else was there."""
    at = thing
    for step in target.steps[:-1]:
        inner = at.get(step)
        if not isinstance(inner, dict):
            inner = {}
            at[step] = inner
        at = inner
    last = target.steps[-1]
    before = at.get(last)
    if before is not None:
        return bool((before.get("value") if isinstance(before, dict) else before) == value)
    at[last] = {"value": value, "note": note} if target.fact is not None else value
    return True


def _with_references(data: Data, plans: list[_Plan], vocabulary: Vocabulary) -> None:
    """Describe what rows refer to (rooms, supplies ...) where nothing else does: it exists, and no more is known."""
    building = vocabulary.kinds["building"]
    for plan in plans:
        for _, _, targets in plan.columns:
            for each in targets:
                owned = building.owned(each.reference.kind) if each.reference is not None else None
                if owned is not None:
                    _describe_missing(data, plan.mapping.describes, each, owned)


def _describe_missing(data: Data, describes: str, target: Target, owned: Relation) -> None:
    for name in _named(data.get(describes, {}), target):
        if name != "none":
            data.setdefault(owned.name, {}).setdefault(name, {})


def without_unused_sets(data: Data) -> None:
    """Leave out the sets that nothing is like: a base serves many schedules, a file of openings uses all it has."""
    sets = data.get("sets")
    if not isinstance(sets, dict):
        return
    used: set[str] = set()
    waiting: list[Any] = [inner for key, inner in data.items() if key != "sets"] + list(sets.values())
    while waiting:
        at = waiting.pop()
        if isinstance(at, dict):
            used.update([at["like"]] if isinstance(at.get("like"), str) else [])
            waiting.extend(at.values())
    data["sets"] = {name: inner for name, inner in sets.items() if name in used}
    if not data["sets"]:
        del data["sets"]


def _named(things: Data, target: Target) -> Iterator[str]:
    for thing in things.values():
        at: Any = thing
        for step in target.steps:
            at = at.get(step) if isinstance(at, dict) else None
        if isinstance(at, str):
            yield at


def place_of(fate: CellFate, file: str) -> Place:
    """A cell as a place in a file."""
    return Place(f"{file} [{fate.sheet}]", fate.row, fate.column)
