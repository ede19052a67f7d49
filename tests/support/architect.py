"""A door schedule as an architect's office would send it: two rows of headings, bands, mixed units, blanks, doubles.

Doors, rooms and hardware sets are invented.
"""

from __future__ import annotations

import random
from pathlib import Path

import openpyxl
from openpyxl.styles import Font, PatternFill

GROUPS = ("", "DOOR", "DOOR", "DOOR", "DOOR", "FRAME", "FRAME", "", "", "", "", "", "", "")
HEADINGS = (
    "DOOR NO.", "WIDTH", "HEIGHT", "THK", "MATERIAL", "MATL", "DETAIL", "HDW SET", "FIRE RATING (MIN)", "FROM ROOM",
    "TO ROOM", "LOCK TYPE", "EGRESS", "REMARKS",
)  # fmt: skip
WIDTHS = ("3'-0\"", "36", '36"', "2'-10\"", "910 mm", "3' 0\"", "")
HEIGHTS = ("7'-0\"", "84", '84"', "2.13 m", "")
MATERIALS = ("HM", "WD", "AL", "GL", "hollow metal", "")
RATINGS = ("90", "45", "20", "NR", "N/A", "", "--", "90 MIN")
LOCKS = ("", "", "", "electromagnetic direct pull", "ELECTRIC STRIKE", "mag lock", "N/A", "mechanical lock")
EGRESS = ("required", "provided", "", "Y")
REMARKS = ("", "SEE DETAIL", '=HYPERLINK("x")', "-", "+1 note", "@site")


def rows(doors: int, seed: int) -> list[tuple[object, ...]]:
    """Rows below the headings: bands of one text, doors, some of them twice."""
    rng = random.Random(seed)
    found: list[tuple[object, ...]] = []
    for number in range(doors):
        if number % 75 == 0:
            found.append((f"LEVEL {number // 75 + 1}", *[""] * (len(HEADINGS) - 1)))
        mark = f"{100 + number - (1 if number and number % 97 == 0 else 0)}{rng.choice(('', 'A', '/B'))}"
        width: object = rng.choice(WIDTHS)
        if width == "36":
            width = 36
        level = number // 75 + 1
        corridors = (f"CORRIDOR {level}-1", f"CORRIDOR {level}-2", "")
        found.append((
            mark, width, rng.choice(HEIGHTS), "1 3/4\"", rng.choice(MATERIALS), rng.choice(MATERIALS), f"D{number % 9}",
            rng.choice(("HW-1", "HW-2", "HW-77", "")), rng.choice(RATINGS), f"{level * 100 + number % 60}",
            rng.choice(corridors), rng.choice(LOCKS), rng.choice(EGRESS), rng.choice(REMARKS),
        ))  # fmt: skip
    return found


def write(path: Path, doors: int = 300, seed: int = 7) -> list[tuple[object, ...]]:
    """Write the workbook, with colours and merged headings, and give its rows from the first heading on."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Door Schedule"
    body = rows(doors, seed)
    for row in (GROUPS, HEADINGS, *body):
        sheet.append([value if value != "" else None for value in row])
    sheet.merge_cells("B1:E1")
    sheet.merge_cells("F1:G1")
    for cell in sheet[2]:
        cell.font = Font(bold=True, color="FF0000FF")
        cell.fill = PatternFill("solid", fgColor="FFDDDDDD")
    sheet.freeze_panes = "B3"
    sheet.column_dimensions["A"].width = 14
    for at, (row,) in enumerate(zip(body, strict=True), 3):
        if isinstance(row[13], str) and row[13].startswith("="):
            sheet.cell(at, 14).data_type = "s"
    book.save(path)
    return [GROUPS, HEADINGS, *body]


BASE = """\
codes: [ibc@2021]
building: {sprinklers: nfpa-13-throughout, fire_alarm: true}
sets:
  HW-1: {thing: opening, kind: swinging, work: new}
  HW-2: {thing: opening, kind: swinging, work: altered}
"""
