"""Comma-separated values as spreadsheets write them."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_schedules.sheet import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Cell, Sheet, Workbook

LARGEST = 64 * 1024 * 1024
_DELIMITERS = (",", ";", "\t")
_LOOKED_AT = 20


def read_csv(path: Path) -> Workbook:
    """The one sheet of a file, named after it.

    Raises:
        ClausewayError: for a file that is too large, is no text, or is no table.
    """

    def refuse(found: str, expected: str = "a door schedule as CSV", line: int = 0) -> ClausewayError:
        return ClausewayError(Problem(Place(str(path), line, 1 if line else 0), found, expected))

    try:
        if path.stat().st_size > LARGEST:
            raise refuse(f"larger than {LARGEST // 1024 // 1024} MiB")
        data = path.read_bytes()
    except OSError as error:
        raise refuse(f"this file cannot be read: {error.strerror}") from None
    text = _decoded(data)
    if text is None or "\0" in text:
        raise refuse("neither UTF-8 nor UTF-16 text", "CSV saved as UTF-8")
    delimiter = _delimiter(text)
    cells: dict[tuple[int, int], Cell] = {}
    last_row = last_column = 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        for row, entries in enumerate(reader, 1):
            if row > MOST_ROWS:
                raise refuse(f"more than {MOST_ROWS} rows", line=row)
            if len(entries) > MOST_COLUMNS:
                raise refuse(f"{len(entries)} columns", f"at most {MOST_COLUMNS}", line=row)
            for column, entry in enumerate(entries, 1):
                shown = " ".join(entry.split())
                if len(shown) > LONGEST_CELL:
                    raise refuse(f"a cell of {len(shown)} characters", f"at most {LONGEST_CELL}", line=row)
                if shown:
                    cells[row, column] = Cell(shown)
                    last_row, last_column = row, max(last_column, column)
    except csv.Error as error:
        raise refuse(f"not CSV: {error}", line=reader.line_num) from None
    if not cells:
        raise refuse("nothing in it")
    return Workbook(str(path), (Sheet(path.stem, cells, last_row, last_column),))


def _decoded(data: bytes) -> str | None:
    marks = data[:2]
    encoding = "utf-16" if marks in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        return None


def _delimiter(text: str) -> str:
    """The character that most lines at the start hold; a comma when in doubt."""
    lines = text.splitlines()[:_LOOKED_AT]
    return max(_DELIMITERS, key=lambda character: sum(line.count(character) for line in lines))
