"""The schedule again, with what was found about each door in columns of its own."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from pathlib import Path

from clauseway.answers import finding as F
from clauseway.answers.report import CAUTION
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.spreadsheet import harmless
from clauseway_schedules.openings import Imported
from clauseway_schedules.sheet import Workbook

COLUMNS = ("Verdict", "Violated", "Open", "Not understood")
_MOST_NAMED = 6


NOT_DESCRIBED = "not described"


Words = Mapping[str, tuple[str, str, str]]
"""What is said of each door, by its id: see `words_of`."""


def notes_of(imported: Imported, words: Words, sheet: str) -> dict[int, tuple[str, ...]]:
    """What goes beside each row of a sheet: verdict, violated clauses, what is open, cells that were not understood."""
    doors = {row: name for on, row, describes, name in imported.rows if on == sheet and describes == "openings"}
    troubles: dict[int, list[str]] = {}
    for cell in imported.troubles:
        if cell.sheet == sheet:
            troubles.setdefault(cell.row, []).append(f"{cell.place} {cell.text}: {cell.why}")
    notes: dict[int, tuple[str, ...]] = {}
    for row in sorted(set(doors) | set(troubles)):
        own = words.get(doors.get(row, ""), (NOT_DESCRIBED, "", ""))
        notes[row] = (*own, _listed(troubles.get(row, [])))
    return notes


def words_of(answer: F.Answer) -> tuple[str, str, str]:
    """The verdict on a door, what it violates with clauses, and what is open."""
    unmet = [f for f in answer.findings if f.verdict == F.UNMET and not f.claimed]
    waiting = [f for f in answer.findings if f.verdict in (F.UNDETERMINED, F.NEEDS_APPROVAL) and not f.claimed]
    return (
        F.VERDICT_WORDS.get(answer.verdict, ""),
        _listed(_clause(each) for each in unmet),
        _listed(each.id for each in waiting),
    )


def _clause(finding: F.Finding) -> str:
    cited = [f"{c.code} {c.edition} {c.section}" for c in finding.citations if c.section]
    return f"{finding.id} ({', '.join(dict.fromkeys(cited))})" if cited else finding.id


def _listed(entries: Iterable[str]) -> str:
    found = list(dict.fromkeys(entries))
    rest = f"; and {len(found) - _MOST_NAMED} more" if len(found) > _MOST_NAMED else ""
    return "; ".join(found[:_MOST_NAMED]) + rest


def answered_csv(book: Workbook, imported: Imported, words: Words) -> str:
    """The sheet as CSV with the columns of `COLUMNS` after its own, in the last row of its headings."""
    sheet = book.sheets[0]
    notes = notes_of(imported, words, sheet.name)
    head = dict(imported.heads).get(sheet.name, 1)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    for row in range(1, sheet.rows + 1):
        own = [sheet.at(row, column).text for column in range(1, sheet.columns + 1)]
        extra = COLUMNS if row == head else notes.get(row, ("",) * len(COLUMNS))
        writer.writerow([harmless(text) for text in (*own, *extra)])
    writer.writerow([CAUTION])
    return stream.getvalue()


def answered_xlsx(path: Path, imported: Imported, words: Words) -> bytes:
    """The workbook as it is, with the columns of `COLUMNS` after the last one of each sheet of doors.

    Raises:
        ClausewayError: for a workbook with macros, which would be lost.
    """
    if path.suffix.casefold() == ".xlsm":
        raise ClausewayError(
            Problem(Place(str(path)), "a workbook with macros, which are not kept", "the same saved as .xlsx")
        )
    from openpyxl.cell.cell import Cell
    from openpyxl.styles import Alignment, Font

    from clauseway_schedules.read_xlsx import open_book

    book = open_book(path, values=False)
    for name, head in imported.heads:
        sheet = book[name]
        first = (sheet.max_column or 0) + 1
        for offset, heading in enumerate(COLUMNS):
            sheet.cell(head, first + offset, heading).font = Font(bold=True)
        for row, texts in notes_of(imported, words, name).items():
            for offset, text in enumerate(texts):
                cell = sheet.cell(row, first + offset)
                if text and isinstance(cell, Cell):
                    cell.value = harmless(text)
                    cell.data_type = "s"
                    cell.alignment = Alignment(wrap_text=True, vertical="top")
        caution = sheet.cell((sheet.max_row or 0) + 2, 1, CAUTION)
        caution.font = Font(italic=True)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()
