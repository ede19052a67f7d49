"""Reports as tables of text: every finding, and doors by arrangement."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from clauseway.answers.report import CAUTION
from clauseway.text.spreadsheet import harmless
from clauseway_reports.words import FINDINGS, VERDICTS, clause_of

FINDING_COLUMNS = (
    "door", "location", "door verdict", "finding", "of", "verdict", "clause", "basis", "says", "to do", "facts",
    "missing",
)  # fmt: skip


def findings_table(report: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """Every finding on every door, one row each, without the headings."""
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
        for door in report["openings"]
        for finding in door["findings"]
    ]


def arrangement_matrix(report: Mapping[str, Any]) -> tuple[list[str], list[tuple[str, ...]]]:
    """The titles of all arrangements, and for each door its id and what each arrangement would be there."""
    titles = {each["id"]: each["title"] for door in report["openings"] for each in door["arrangements"]}
    rows = []
    for door in report["openings"]:
        cells: dict[str, str] = {}
        for each in door["arrangements"]:
            words = "meant: " if each["claimed"] == "met" else ""
            said = f"{words}{FINDINGS[each['verdict']]}"
            cells[each["id"]] = said if each["id"] not in cells else _both(cells[each["id"]], said)
        rows.append((door["id"], *(cells.get(name, "") for name in sorted(titles))))
    return [titles[name] for name in sorted(titles)], rows


def _both(before: str, now: str) -> str:
    return before if before == now or now in before.split("; ") else f"{before}; {now}"


def as_csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as CSV with the caution below it; no cell that a spreadsheet would take for a formula."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(head)
    for row in rows:
        writer.writerow([harmless(text) for text in row])
    writer.writerow([CAUTION])
    return stream.getvalue()
