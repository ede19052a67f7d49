"""Reports as tables of text: every finding, and doors by arrangement."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from clauseway.answers.report import CAUTION
from clauseway.text.spreadsheet import harmless
from clauseway_reports.summary import Line
from clauseway_reports.words import FINDINGS, VERDICTS, clause_of

FINDING_COLUMNS = (
    "door", "location", "door verdict", "finding", "of", "verdict", "clause", "basis", "says", "to do", "facts",
    "missing",
)  # fmt: skip


def findings_rows(door: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """Every finding on a door, one row each."""
    return [
        (
            door["id"],
            door["location"],
            VERDICTS[door["verdict"]],
            finding["id"],
            finding["of"],
            FINDINGS[finding["verdict"]],
            "; ".join(clause_of(citation) for citation in finding["citations"]),
            "memory" if finding["memory"] else "; ".join(dict.fromkeys(c["basis"] for c in finding["citations"])),
            finding["says"],
            finding["remedy"] or "",
            "; ".join(f"{name} = {used['value'] or 'not known'}" for name, used in finding["facts"].items()),
            "; ".join(asked["ask"] for asked in finding["missing"]),
        )
        for finding in door["findings"]
    ]


def arrangement_matrix(doors: Sequence[Line]) -> tuple[list[str], list[tuple[str, ...]]]:
    """The titles of all arrangements, and for each door its id and what each arrangement would be there."""
    titles = {name: title for door in doors for name, title, _ in door.cells}
    rows = []
    for door in doors:
        cells = {name: said for name, _, said in door.cells}
        rows.append((door.id, *(cells.get(name, "") for name in sorted(titles))))
    return [titles[name] for name in sorted(titles)], rows


def as_csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as CSV with the caution below it; no cell that a spreadsheet would take for a formula."""
    return csv_rows([head, *rows, [CAUTION]])


def csv_rows(rows: Iterable[Sequence[str]]) -> str:
    """Rows of such a table."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    for row in rows:
        writer.writerow([harmless(text) for text in row])
    return stream.getvalue()
