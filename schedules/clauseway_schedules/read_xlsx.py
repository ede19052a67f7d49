"""Workbooks of the Office Open XML kind, by openpyxl, with bounds on what a file may unfold to."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_schedules.sheet import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Cell, Sheet, Workbook, address

if TYPE_CHECKING:
    from openpyxl.workbook import Workbook as XlsxBook
    from openpyxl.worksheet.worksheet import Worksheet

LARGEST = 64 * 1024 * 1024
LARGEST_UNFOLDED = 512 * 1024 * 1024
LARGEST_TEXT = 48 * 1024 * 1024
"""What sheets and texts unfold to: many times as much takes their cells in memory."""
MOST_PARTS = 2_000
MOST_SHEETS = 60
_FOLDED_AT_MOST = 200


def read_xlsx(path: Path) -> Workbook:
    """All sheets; formulas by the value that was kept with them.

    Raises:
        ClausewayError: for a file that is no workbook, is too large, or unfolds to too much.
    """
    formulas = open_book(path, values=False)
    for sheet in formulas.worksheets:
        _refuse_too_far(path, sheet)
    # The values of formulas stand in a second reading; a workbook without any is read once.
    book = open_book(path, values=True) if any(map(_computes, formulas.worksheets)) else formulas
    return Workbook(str(path), tuple(_sheet(sheet, formulas[sheet.title]) for sheet in book.worksheets))


def open_book(path: Path, *, values: bool) -> XlsxBook:
    """The workbook of openpyxl, after its parts were counted and weighed.

    Raises:
        ClausewayError: for a file that is no workbook or too large.
    """
    _weigh(path)
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, data_only=values, keep_links=False)
    except Exception as error:  # whatever a hostile file makes the library stumble over
        said = f"{type(error).__name__}: {error}"[:160].splitlines()[0]
        raise _refusal(path, f"this workbook cannot be read: {said}") from None
    if not book.worksheets:
        raise _refusal(path, "no sheet in it")
    if len(book.worksheets) > MOST_SHEETS:
        raise _refusal(path, f"{len(book.worksheets)} sheets", f"at most {MOST_SHEETS}")
    return book


def _refusal(path: Path, found: str, expected: str = "an .xlsx workbook with a door schedule") -> ClausewayError:
    return ClausewayError(Problem(Place(str(path)), found, expected))


def _weigh(path: Path) -> None:
    try:
        if path.stat().st_size > LARGEST:
            raise _refusal(path, f"larger than {LARGEST // 1024 // 1024} MiB")
        with zipfile.ZipFile(path) as archive:
            parts = archive.infolist()
    except OSError as error:
        raise _refusal(path, f"this file cannot be read: {error.strerror}") from None
    except (zipfile.BadZipFile, NotImplementedError, ValueError):
        raise _refusal(path, "this is no .xlsx workbook") from None
    if len(parts) > MOST_PARTS:
        raise _refusal(path, f"{len(parts)} parts inside", f"at most {MOST_PARTS}")
    unfolded = sum(part.file_size for part in parts)
    if unfolded > LARGEST_UNFOLDED:
        raise _refusal(
            path, f"unfolds to {unfolded // 1024 // 1024} MiB", f"at most {LARGEST_UNFOLDED // 1024 // 1024}"
        )
    text = sum(part.file_size for part in parts if part.filename.casefold().endswith((".xml", ".rels", ".vml")))
    if text > LARGEST_TEXT:
        found = f"its sheets unfold to {text // 1024 // 1024} MiB"
        raise _refusal(path, found, f"at most {LARGEST_TEXT // 1024 // 1024}; a schedule without what is no door")
    for part in parts:
        if part.file_size > 1024 * 1024 and part.file_size > _FOLDED_AT_MOST * max(1, part.compress_size):
            raise _refusal(path, f"the part {part.filename[:60]} unfolds to {part.file_size // 1024 // 1024} MiB")


def _refuse_too_far(path: Path, sheet: Worksheet) -> None:
    rows, columns = sheet.max_row or 0, sheet.max_column or 0
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise _refusal(
            path,
            f"the sheet {sheet.title} reaches to {address(rows, columns)}",
            f"at most {MOST_ROWS} rows and {MOST_COLUMNS} columns",
        )


def _computes(sheet: Worksheet) -> bool:
    return any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)


def _sheet(sheet: Worksheet, formulas: Worksheet) -> Sheet:
    rows, columns = sheet.max_row or 0, sheet.max_column or 0
    cells: dict[tuple[int, int], Cell] = {}
    for at_row, row in enumerate(sheet.iter_rows(), 1):
        for at_column, cell in enumerate(row, 1):
            found = _cell(cell.value, str(cell.data_type))
            if cell.value is None and formulas.cell(at_row, at_column).data_type == "f":
                found = Cell("", "a formula without its value: open and save the workbook, or type the value")
            if found.text or found.trouble:
                cells[at_row, at_column] = found
    for merged in sheet.merged_cells.ranges:
        shown = cells.get((merged.min_row, merged.min_col))
        if shown is None:
            continue
        for at_row in range(merged.min_row, min(merged.max_row, rows) + 1):
            for at_column in range(merged.min_col, min(merged.max_col, columns) + 1):
                if (at_row, at_column) != (merged.min_row, merged.min_col):
                    cells[at_row, at_column] = Cell(shown.text, shown.trouble, merged=True)
    last_row = max((row for row, _ in cells), default=0)
    last_column = max((column for _, column in cells), default=0)
    return Sheet(sheet.title, cells, last_row, last_column)


def _cell(value: Any, kind: str) -> Cell:
    if value is None:
        return Cell("")
    if kind == "e":
        return Cell(str(value), f"{value} is an error of the spreadsheet")
    if isinstance(value, bool):
        return Cell("true" if value else "false")
    if isinstance(value, (datetime.datetime, datetime.date, datetime.time)):
        return Cell(value.isoformat().removesuffix("T00:00:00"))
    if isinstance(value, float):
        return Cell(f"{value:.10g}")
    shown = " ".join(str(value).split())
    if len(shown) > LONGEST_CELL:
        return Cell(shown[:60], f"{len(shown)} characters in one cell; at most {LONGEST_CELL}")
    return Cell(shown)
