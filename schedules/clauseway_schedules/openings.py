"""From sheets and their mapping to a file of openings; what became of every cell is kept."""

from __future__ import annotations

import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from clauseway.model.vocabulary import Relation, Vocabulary
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_schedules.mapping import BUILDING, Mapping
from clauseway_schedules.plan import TROUBLE, CellFate, Data, Plan, plan_of
from clauseway_schedules.rows import Rows
from clauseway_schedules.sheet import Workbook
from clauseway_schedules.targets import Target


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
    plans = [plan_of(book, each, base, vocabulary) for each in mapping.sheets]
    data = copy.deepcopy(base)
    cells: list[CellFate] = []
    rows: list[tuple[str, int, str, str]] = []
    for plan in plans:
        Rows(plan, data, vocabulary, cells, rows).read()
    _with_references(data, plans, vocabulary)
    without_unused_sets(data)
    heads = tuple((each.sheet, max(each.headings)) for each in mapping.sheets if each.describes == "openings")
    return Imported(data, tuple(sorted(cells)), tuple(rows), heads)


def _with_references(data: Data, plans: list[Plan], vocabulary: Vocabulary) -> None:
    """Describe what rows refer to (rooms, supplies ...) where nothing else does: it exists, and no more is known."""
    building = vocabulary.kinds[BUILDING]
    for plan in plans:
        for _, _, targets in plan.columns:
            for each in targets:
                owned = building.owned(each.reference.kind) if each.reference is not None else None
                if owned is not None:
                    _describe_missing(data, each.things or plan.mapping.describes, each, owned)


def _describe_missing(data: Data, describes: str, target: Target, owned: Relation) -> None:
    things = data.get(describes, {})
    for name in list(_named({"": things} if describes == BUILDING else things, target)):
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
