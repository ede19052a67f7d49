"""A table, a row and a cell say what they hold and who set it; so does a value, in the place where it is asked."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner

from clauseway.answers.explain import Explanation, explain
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.places import utopia, write

CELL = """\
  - {at: occupant-load-factors/rows/business/area, set: 100 sq ft, was: 150 sq ft, cite: X 1, from: 2024-01-01}
"""


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def section(found: Explanation, heading: str) -> tuple[str, ...]:
    return next((each.lines for each in found.sections if each.heading == heading), ())


def test_a_table_a_row_and_a_cell() -> None:
    table = explain(book(), "occupant-load-factors")
    assert table.kind == "table"
    assert "business: use office, area 150 sq ft, measured gross" in section(table, "What it says")
    assert section(table, "Where it stands")[0].startswith("IBC 2021 Table 1004.5")
    assert section(explain(book(), "ibc.occupant-load-factors/business"), "What it says") == (
        "business: use office, area 150 sq ft, measured gross",
    )
    cell = explain(book(), "occupant-load-factors/business/area")
    assert (cell.kind, section(cell, "What it says")) == ("cell of a table", ("business: area 150 sq ft",))
    assert section(cell, "Amended") == ()
    with pytest.raises(ClausewayError, match="nothing is called"):
        explain(book(), "occupant-load-factors/busines")


def test_a_cell_says_who_set_it_since_when_and_instead_of_what(tmp_path: Path) -> None:
    write(tmp_path, {"XX/mine.yaml": f"layer: mine\ncode: ibc\nbasis: published\nchanges:\n{CELL}"})
    amended = resolve(load([tmp_path]), ["ibc@2021"], ["mine"])
    for identity in ("occupant-load-factors", "occupant-load-factors/business", "occupant-load-factors/business/area"):
        (line,) = section(explain(amended, identity), "Amended")
        assert line.startswith("mine: set, 150 sq ft -> 100 sq ft (X 1, from 2024-01-01; ")
        assert line.endswith("mine.yaml:5:5)")
    assert section(explain(amended, "occupant-load-factors/business/measured"), "Amended") == ()


def test_a_value_is_explained_where_it_is_asked(tmp_path: Path) -> None:
    rules = ["--rules", str(utopia(tmp_path))]
    asked = ["explain", "sensor-release/height_max", "--in", "XXABC", "--on", "2024-05-01"]
    done = CliRunner().invoke(app, [*asked, *rules])
    assert done.exit_code == 0, done.output
    assert "north-2021: set, 48 in -> 46 in (NBC 10.1, stricter;" in done.output
    assert "harbour: set, 46 in -> 45 in (Ord. 1;" in done.output
