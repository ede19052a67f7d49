"""The mapping file: what the columns of a schedule mean, confirmed by a person."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node

SCHEMA = "clauseway-mapping/1"
IGNORE = "ignore"
BUILDING = "building"
"""What a sheet describes that tells of the building and not of a list of things."""
LIKE = "like"
"""Where a column names the set that a door is like."""

_TOP = ("schema", "base", "note", "sheets")
_SHEET = ("describes", "turned", "headings", "name", "last_row", "skip", "columns")
_COLUMN = ("to", "unit", "values", "blank", "confirmed", "note")
_MOST_TARGETS = 4


@dataclass(frozen=True, slots=True)
class Column:
    """What one column means.

    `to` are the facts it fills, relative to the row's thing (`leaves/leaf.width`); several where a cell holds several
    values with `x` or `by` between. `unit` goes with bare numbers. `values` says what words mean, by their lower-case
    text. `blank` is what a blank cell means; empty for not known. `node` is where it stands in the mapping.
    """

    heading: str
    to: tuple[str, ...]
    unit: str
    values: tuple[tuple[str, str], ...]
    blank: str
    confirmed: bool
    node: Node

    @property
    def ignored(self) -> bool:
        """Whether the person said that the column says nothing about doors."""
        return self.to == (IGNORE,)


@dataclass(frozen=True, slots=True)
class SheetMapping:
    """What one sheet means: `describes` is a list of the building (openings, rooms ...) or the building itself.

    `headings` are row numbers. Of a sheet that is `turned`, where what is asked stands at the left and what holds
    beside it, they are the numbers of columns, as `skip` and `last_row` are.
    """

    sheet: str
    describes: str
    headings: tuple[int, ...]
    name: str
    skip: frozenset[int]
    last_row: int
    columns: tuple[Column, ...]
    node: Node
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Mapping:
    """A whole mapping: `base` is a file of openings with what the sheets do not say, empty for none."""

    base: str
    sheets: tuple[SheetMapping, ...]

    def unconfirmed(self) -> Iterator[tuple[SheetMapping, Column]]:
        """The columns that nobody has confirmed."""
        for sheet in self.sheets:
            for column in sheet.columns:
                if not column.confirmed and not column.ignored:
                    yield sheet, column


class _Reader:
    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def fail(self, node: Node, found: str, expected: str = "", near: str | None = None, *, key: bool = False) -> None:
        place = node.key_place if key and node.key_place else node.place
        self.problems.append(Problem(place, found, expected, near or ""))

    def keys(self, node: Node, known: tuple[str, ...], what: str) -> dict[str, Node]:
        if not node.is_map:
            self.fail(node, f"{node.kind} for {what}", f"a map with {one_of(known, 12)}")
            return {}
        for key, inner in node.items():
            if key not in known:
                self.fail(inner, f"unknown key: {key}", one_of(known, 12), nearest(key, known), key=True)
        return {key: inner for key, inner in node.items() if key in known}

    def number(self, node: Node) -> int:
        if node.text is None or not node.text.isdecimal() or not 0 < int(node.text[:9]) < 10**7:
            self.fail(node, f"{node.text or node.kind} as a row", "the number of a row, from 1")
            return 1
        return int(node.text)

    def numbers(self, node: Node | None) -> tuple[int, ...]:
        if node is None or node.value is None:
            return ()
        return tuple(self.number(inner) for inner in (node.elements() if node.is_list else [node]))

    def text(self, node: Node | None) -> str:
        if node is None or node.value is None:
            return ""
        if node.text is None:
            self.fail(node, f"{node.kind} where a text stands", "a text")
        return node.text or ""

    def flag(self, node: Node | None) -> bool:
        if node is None:
            return False
        if node.text not in ("true", "false", "yes", "no"):
            self.fail(node, f"{node.text or node.kind} as an answer", "yes or no")
        return node.text in ("true", "yes")

    def mapping(self, node: Node) -> Mapping:
        entries = self.keys(node, _TOP, "a mapping")
        schema = entries.get("schema")
        if schema is None or schema.text != SCHEMA:
            self.fail(schema or node, f"schema: {schema.text if schema else 'nothing'}", SCHEMA)
        sheets = entries.get("sheets")
        if sheets is None or not sheets.is_map or not sheets.value:
            self.fail(sheets or node, "no sheets", "sheets, each with its columns")
        found = tuple(self.sheet(name, inner) for name, inner in (sheets.items() if sheets else ()))
        return Mapping(self.text(entries.get("base")), found)

    def sheet(self, name: str, node: Node) -> SheetMapping:
        entries = self.keys(node, _SHEET, f"the sheet {name}")
        columns = entries.get("columns")
        if columns is None or not columns.is_map:
            self.fail(columns or node, f"no columns for the sheet {name}", "columns by their headings")
        named = self.text(entries.get("name"))
        describes = self.text(entries.get("describes")) or "openings"
        turned = self.flag(entries.get("turned"))
        if turned and describes != BUILDING:
            self.fail(entries["turned"], f"a turned sheet of {describes}", f"turned with describes: {BUILDING} only")
        if not named and describes != BUILDING:
            self.fail(node, f"the sheet {name} does not say which column names its rows", "name: a heading")
        last = entries.get("last_row")
        return SheetMapping(
            name,
            describes,
            self.numbers(entries.get("headings")) or (1,),
            named,
            frozenset(self.numbers(entries.get("skip"))),
            self.number(last) if last is not None and last.value is not None else 0,
            tuple(self.column(heading, inner) for heading, inner in (columns.items() if columns else ())),
            node,
            turned,
        )

    def column(self, heading: str, node: Node) -> Column:
        if node.text == IGNORE:
            return Column(heading, (IGNORE,), "", (), "", True, node)
        entries = self.keys(node, _COLUMN, f"the column {heading}")
        to = entries.get("to")
        targets: tuple[str, ...] = ()
        if to is not None:
            targets = tuple(self.text(inner) for inner in (to.elements() if to.is_list else [to]))
        if not targets or not all(targets) or len(targets) > _MOST_TARGETS:
            self.fail(
                to or node, f"the column {heading} leads nowhere", "to: a fact such as leaves/leaf.width, or ignore"
            )
        values = entries.get("values")
        if values is not None and values.value is not None and not values.is_map:
            self.fail(values, f"{values.kind} for values", "a map from words to what they mean")
        words = tuple((_folded(word), self.text(inner)) for word, inner in (values.items() if values else ()))
        return Column(
            heading,
            targets,
            self.text(entries.get("unit")),
            words,
            self.text(entries.get("blank")),
            self.flag(entries.get("confirmed")),
            node,
        )


def _folded(word: str) -> str:
    return " ".join(word.split()).casefold()


def read_mapping(node: Node) -> Mapping:
    """The mapping in a file.

    Raises:
        ClausewayError: with everything that is wrong with it.
    """
    reader = _Reader()
    mapping = reader.mapping(node)
    if reader.problems:
        raise ClausewayError(reader.problems)
    return mapping
