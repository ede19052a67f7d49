"""Sheets as they were typed: cells by row and column, nothing understood yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

MOST_ROWS = 60_000
MOST_COLUMNS = 400
LONGEST_CELL = 4_000


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its text without outer space, and why it cannot be read, if it cannot.

    `merged` marks a cell that only repeats what the merged cell above or left of it shows.
    """

    text: str
    trouble: str = ""
    merged: bool = False


BLANK = Cell("")


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet: cells by (row, column), both from 1, and the last row and column that hold anything."""

    name: str
    cells: Mapping[tuple[int, int], Cell]
    rows: int
    columns: int
    turned: bool = False

    def in_file(self, row: int, column: int) -> tuple[int, int]:
        """Where a cell stands in the file: a turned sheet is read by columns."""
        return (column, row) if self.turned else (row, column)

    def at(self, row: int, column: int) -> Cell:
        """The cell, blank where there is none."""
        return self.cells.get((row, column), BLANK)

    def row_is_blank(self, row: int) -> bool:
        """Whether a row shows nothing at all."""
        return all(not self.at(row, column).text for column in range(1, self.columns + 1))


def turned(sheet: Sheet) -> Sheet:
    """The sheet with its rows as columns."""
    cells = {(column, row): cell for (row, column), cell in sheet.cells.items()}
    return Sheet(sheet.name, cells, sheet.columns, sheet.rows, not sheet.turned)


@dataclass(frozen=True, slots=True)
class Workbook:
    """The sheets of one file in their order."""

    name: str
    sheets: tuple[Sheet, ...]

    def sheet(self, name: str) -> Sheet | None:
        """The sheet of a name."""
        return next((sheet for sheet in self.sheets if sheet.name == name), None)


def letters(column: int) -> str:
    """The letters of a column: 1 is A, 27 is AA."""
    name = ""
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def address(row: int, column: int) -> str:
    """A cell as people name it: C12."""
    return f"{letters(column)}{row}"
