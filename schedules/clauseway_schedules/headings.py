"""The headings of a sheet, over one row or several."""

from __future__ import annotations

from clauseway_schedules.sheet import Sheet, letters

BETWEEN = " / "


def headings_of(sheet: Sheet, rows: tuple[int, ...]) -> dict[int, str]:
    """Each column that holds anything, with its heading: rows one below the other, joined; letters where it has none.

    Two columns of one heading are told apart by their letters.
    """
    found: dict[int, str] = {}
    for column in range(1, sheet.columns + 1):
        parts: list[str] = []
        for row in rows:
            text = sheet.at(row, column).text
            if text and text not in parts:
                parts.append(text)
        used = any(sheet.at(row, column).text for row in range(1, sheet.rows + 1))
        if used:
            found[column] = BETWEEN.join(parts) or f"column {letters(column)}"
    often = [heading for heading in found.values() if list(found.values()).count(heading) > 1]
    return {
        column: f"{heading} (column {letters(column)})" if heading in often else heading
        for column, heading in found.items()
    }
