"""The rows of a sheet, each into its thing; nothing is dropped, and a cell that is not understood stays unknown."""

from __future__ import annotations

from typing import Any

from clauseway.model.vocabulary import Vocabulary
from clauseway_schedules.cell_value import CellTrouble, Said, blank_value, name_of, values_of
from clauseway_schedules.mapping import BUILDING, Column
from clauseway_schedules.plan import BLANK, IGNORED, NAME, OPEN, SKIPPED, TROUBLE, USED, CellFate, Data, Plan
from clauseway_schedules.sheet import address
from clauseway_schedules.targets import Target


class Rows:
    """Reads the rows of one sheet into the data."""

    def __init__(
        self,
        plan: Plan,
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
        sheet = self.plan.sheet
        self.cells.append(CellFate(sheet.name, *sheet.in_file(row, column), sheet.at(row, column).text, state, why))

    def keep_all(self, row: int, state: str, why: str = "") -> None:
        for column in range(1, self.plan.sheet.columns + 1):
            if self.plan.sheet.at(row, column).text:
                self.keep(row, column, state, why)

    def row(self, row: int) -> None:
        plan = self.plan
        if plan.mapping.describes == BUILDING:
            self.building(row)
            return
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
        self.things(row, plan.mapping.describes, name, self.data.setdefault(plan.mapping.describes, {}))

    def building(self, row: int) -> None:
        """The one row that tells of the building."""
        if self.first:
            self.keep_all(row, TROUBLE, "the building is described already: skip these cells, or those before them")
            return
        self.first[BUILDING] = row
        self.things(row, BUILDING, BUILDING, self.data)

    def things(self, row: int, describes: str, name: str, within: Data) -> None:
        """Read a row into its thing; what is said of a thing that it refers to comes last, when that is known."""
        plan = self.plan
        thing = _inside(within, name)
        self.rows.append((plan.sheet.name, row, describes, name))
        for number, column, targets in sorted(plan.columns, key=lambda each: any(t.through for t in each[2])):
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
        note = f"{self.plan.sheet.name}!{address(*self.plan.sheet.in_file(row, number))}"
        state = OPEN if all(said.value is None for said in found) else USED
        for said, each in zip(found, targets, strict=True):
            if said.value is None:
                continue
            of = self.referred_to(thing, each)
            if of is None:
                why = f"the row does not say of which {each.things.removesuffix('s')} this is said"
                self.keep(row, number, TROUBLE, why)
                return
            if not _put(of, each, said.value, note):
                why = f"{each.written} is described otherwise in the base, in another row or in another sheet"
                self.keep(row, number, TROUBLE, why)
                return
        if number != self.plan.name_column:
            self.keep(row, number, state)

    def referred_to(self, thing: Data, target: Target) -> Data | None:
        """The thing that a target speaks of: the row's own, or one that it refers to; none where it names none."""
        if not target.through:
            return thing
        at: Any = thing
        for step in target.through:
            at = at.get(step) if isinstance(at, dict) else None
        return _inside(_inside(self.data, target.things), at) if isinstance(at, str) and at != "none" else None

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
        at = _inside(at, step)
    last = target.steps[-1]
    before = at.get(last)
    if before is not None:
        return bool((before.get("value") if isinstance(before, dict) else before) == value)
    at[last] = {"value": value, "note": note} if target.fact is not None else value
    return True


def _inside(data: Data, name: str) -> Data:
    """What stands under a name, made where nothing does."""
    inner = data.get(name)
    if not isinstance(inner, dict):
        inner = data[name] = {}
    found: Data = inner
    return found
