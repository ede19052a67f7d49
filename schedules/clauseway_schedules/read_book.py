"""A schedule by the ending of its name."""

from __future__ import annotations

from pathlib import Path

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_schedules.sheet import Workbook


def read_book(path: Path) -> Workbook:
    """A door schedule as .csv or .xlsx.

    Raises:
        ClausewayError: for another kind of file, and whatever is wrong with it.
    """
    ending = path.suffix.casefold()
    if ending in (".csv", ".tsv"):
        from clauseway_schedules.read_csv import read_csv

        return read_csv(path)
    if ending in (".xlsx", ".xlsm"):
        try:
            import openpyxl  # noqa: F401
        except ImportError:
            raise ClausewayError(
                Problem(Place(str(path)), "workbooks need openpyxl", "pip install 'clauseway[schedules]'")
            ) from None
        from clauseway_schedules.read_xlsx import read_xlsx

        return read_xlsx(path)
    raise ClausewayError(Problem(Place(str(path)), f"a file that ends in {ending or 'nothing'}", ".csv or .xlsx"))
