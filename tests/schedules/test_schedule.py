"""A schedule becomes openings and comes back with answers; every cell is accounted for."""

from __future__ import annotations

import csv
import io
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from typer.testing import CliRunner

from clauseway.case.project import read_project
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data, parse_yaml
from clauseway_cli.app import app
from clauseway_reports.summary import storeys_of
from clauseway_schedules.mapping import read_mapping
from clauseway_schedules.openings import Imported, import_book
from clauseway_schedules.plan import TROUBLE
from clauseway_schedules.propose import mapping_text, propose
from clauseway_schedules.read_book import read_book
from support.architect import BASE, HEADINGS, write


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


def confirmed(path: Path) -> str:
    """The proposed mapping of a schedule, with every column confirmed and the words said that it left open."""
    read = read_book(path)
    text = mapping_text(read, propose(read, book().vocabulary), "base.yaml")
    return text.replace("confirmed: no", "confirmed: yes")


def imported(path: Path, mapping: str | None = None) -> Imported:
    base: Any = parse_yaml(BASE, "base").plain()
    read = read_mapping(parse_yaml(mapping or confirmed(path), "map.yaml"))
    return import_book(read_book(path), read, base, book().vocabulary)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("schedule")
    write(path / "doors.xlsx")
    (path / "base.yaml").write_text(BASE)
    (path / "map.yaml").write_text(confirmed(path / "doors.xlsx"))
    return path


def test_an_architects_sheet_is_recognised(folder: Path) -> None:
    text = (folder / "map.yaml").read_text()
    for line in (
        'name: "DOOR NO."', '"DOOR / WIDTH":    # 100 %', "to: leaves/leaf.width", "to: frame_material", "to: like",
        "to: fire_rating", "to: sides/inside.space", "to: locks/lock.kind", '"REMARKS": ignore',
        "skip: [3, 79, 155, 231]",
    ):  # fmt: skip
        assert line in text, line
    assert "# not understood so far: N/A, --" in text


def test_every_cell_is_accounted_for(folder: Path) -> None:
    """Nothing is dropped: each cell below the headings that shows something has one fate."""
    found = imported(folder / "doors.xlsx")
    sheet = openpyxl.load_workbook(folder / "doors.xlsx")["Door Schedule"]
    shown = {
        (cell.row, cell.column) for row in sheet.iter_rows(min_row=3) for cell in row if cell.value not in (None, "")
    }
    fates = Counter((cell.row, cell.column) for cell in found.cells)
    assert max(fates.values()) == 1
    assert shown <= set(fates)
    assert all(cell.why for cell in found.troubles)
    assert len(found.rows) == 300


def test_what_is_used_is_in_the_openings_with_its_cell(folder: Path) -> None:
    found = imported(folder / "doors.xlsx")
    project = read_project(node_from_data(found.data, "doors"), book().vocabulary)
    notes = {given.note for given in project.facts.values()}
    for cell in found.cells:
        if cell.state == "used" and HEADINGS[cell.column - 1] in ("WIDTH", "HEIGHT", "FIRE RATING (MIN)"):
            assert cell.place in notes
    assert len(project.of_kind("opening")) == 300
    doubles = [cell for cell in found.troubles if "as well" in cell.why]
    assert doubles
    assert all(f"{cell.text.replace('/', '-')}.row{cell.row}" in found.data["openings"] for cell in doubles)


def test_no_list_is_said_to_be_complete(folder: Path) -> None:
    def keys(data: Any) -> set[str]:
        if isinstance(data, dict):
            return set(data) | {key for inner in data.values() for key in keys(inner)}
        return set()

    assert "complete" not in keys(imported(folder / "doors.xlsx").data)


def test_answers_come_back_into_the_sheet_and_nothing_else_changes(folder: Path) -> None:
    small = folder / "small.xlsx"
    write(small, doors=12, seed=3)
    (folder / "small.yaml").write_text(confirmed(small))
    out = folder / "answered.xlsx"
    done = CliRunner().invoke(app, ["schedule", "answer", str(small), str(folder / "small.yaml"), "-o", str(out)])
    assert out.exists(), done.exception
    assert done.exit_code in (1, 3)
    before, after = openpyxl.load_workbook(small)["Door Schedule"], openpyxl.load_workbook(out)["Door Schedule"]
    for row in before.iter_rows():
        for cell in row:
            kept = after.cell(cell.row, cell.column)
            assert (kept.value, kept.font.b, kept.fill.fgColor.rgb) == (cell.value, cell.font.b, cell.fill.fgColor.rgb)
    assert after.merged_cells.ranges == before.merged_cells.ranges
    assert after.freeze_panes == "B3"
    assert [after.cell(2, 15 + offset).value for offset in range(4)] == [
        "Verdict",
        "Violated",
        "Open",
        "Not understood",
    ]
    verdicts = [after.cell(row, 15).value for row in range(4, 16)]
    assert set(verdicts) <= {"no violation found", "does not comply", "not decided", "needs approval"}
    assert all(cell.data_type != "f" for row in after.iter_rows(min_col=15) for cell in row)


def test_formulas_do_not_travel(tmp_path: Path) -> None:
    schedule = tmp_path / "doors.csv"
    schedule.write_text("DOOR NO,WIDTH,REMARKS\n=1+1,36,=cmd()\nd2,@x,+1\nd3,36,-\n")
    (tmp_path / "map.yaml").write_text(
        "schema: clauseway-mapping/1\nsheets:\n  doors:\n    name: DOOR NO\n    columns:\n"
        "      WIDTH: {to: leaves/leaf.width, unit: in, confirmed: yes}\n      REMARKS: ignore\n"
    )
    out = tmp_path / "out.csv"
    arguments = ["schedule", "answer", str(schedule), str(tmp_path / "map.yaml"), "-o", str(out), "--code", "ibc@2021"]
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 3, done.output
    for row in csv.reader(io.StringIO(out.read_text())):
        for text in row:
            assert not text.startswith(("=", "@", "\t")), text
            assert text in ("", "-", "+1") or not text.startswith(("+", "-")), text
    assert "doors!B3 @x" in out.read_text()


CELLS = [
    ("WIDTH", "leaves/leaf.width", "36", {"unit": "in"}, "36 in"),
    ("WIDTH", "leaves/leaf.width", "36", {}, TROUBLE),
    ("WIDTH", "leaves/leaf.width", "910 mm", {"unit": "in"}, "910 mm"),
    ("WIDTH", "leaves/leaf.width", "3'-0\"", {}, "3'-0\""),
    ("WIDTH", "leaves/leaf.width", "TBD", {}, None),
    ("WIDTH", "leaves/leaf.width", "N/A", {"unit": "in"}, TROUBLE),
    ("WIDTH", "leaves/leaf.width", "36 lbf", {}, TROUBLE),
    ("WIDTH", "leaves/leaf.width", "-36", {"unit": "in"}, TROUBLE),
    ("WIDTH", "leaves/leaf.width", "0", {"unit": "furlongs"}, TROUBLE),
    ("RATED", "fire_rating", "NR", {"values": {"NR": "0 min"}}, "0 min"),
    ("RATED", "fire_rating", "nr", {"values": {"NR": "0 min"}}, "0 min"),
    ("RATED", "fire_rating", "NR", {}, TROUBLE),
    ("PAIR", "is_pair", "Y", {}, "true"),
    ("PAIR", "is_pair", "no", {}, "false"),
    ("PAIR", "is_pair", "maybe", {}, TROUBLE),
    ("PAIR", "is_pair", "-", {}, TROUBLE),
    ("LOCK", "locks/lock.kind", "Electric Strike", {}, "electric-strike"),
    ("LOCK", "locks/lock.kind", "electric strik", {}, TROUBLE),
    ("LOCK", "locks/lock.kind", "mag", {"values": {"MAG": "electromagnetic-shear"}}, "electromagnetic-shear"),
    ("LOCK", "locks/lock.kind", "mag", {"values": {"MAG": "no-such-lock"}}, TROUBLE),
    ("LISTED", "locks/lock.listings", "UL 294, UL 1034", {}, ["UL 294", "UL 1034"]),
    ("PEOPLE", "passages/out.occupant_load", "120", {}, "120"),
    ("PEOPLE", "passages/out.occupant_load", "many", {}, TROUBLE),
    ("SET", "like", "HW-1", {}, "HW-1"),
    ("SET", "like", "HW-3", {}, TROUBLE),
    ("BLANK", "is_pair", "", {"blank": "no"}, "false"),
    ("BLANK", "is_pair", "", {}, None),
]


def mapped(heading: str, to: str, more: dict[str, Any]) -> str:
    import json

    column = {"to": to, "confirmed": "yes", **more}
    sheets = {"doors": {"name": "NO", "columns": {heading: column}}}
    return json.dumps({"schema": "clauseway-mapping/1", "sheets": sheets})


@pytest.mark.parametrize(("heading", "to", "text", "more", "wanted"), CELLS)
def test_a_cell(tmp_path: Path, heading: str, to: str, text: str, more: dict[str, Any], wanted: Any) -> None:
    path = tmp_path / "doors.csv"
    with path.open("w", newline="") as stream:
        csv.writer(stream).writerows([["NO", heading], ["d1", text]])
    with path.open("a") as stream:
        stream.write("d2,x\n" if not text else "")
    found = imported(path, mapped(heading, to, more))
    fate = next(cell for cell in found.cells if (cell.row, cell.column) == (2, 2))
    at: Any = found.data["openings"]["d1"]
    for step in (*to.rpartition(".")[0].split("/"), to.rpartition(".")[2]) if "." in to else (to,):
        at = at.get(step, {}) if isinstance(at, dict) else {}
    value = at.get("value") if isinstance(at, dict) else at
    if wanted == TROUBLE:
        assert fate.state == TROUBLE, fate
        assert fate.why
        assert not value
    else:
        assert fate.state != TROUBLE, fate
        assert value == wanted


def test_one_cell_for_width_and_height(tmp_path: Path) -> None:
    path = tmp_path / "doors.csv"
    path.write_text('NO,SIZE\nd1,"3\'-0"" x 7\'-0"""\nd2,36 x 84 x 2\nd3,TBD\n')
    mapping = mapped("SIZE", "", {"unit": "in"}).replace(
        '"to": ""', '"to": ["leaves/leaf.width", "leaves/leaf.height"]'
    )
    found = imported(path, mapping)
    leaf = found.data["openings"]["d1"]["leaves"]["leaf"]
    assert (leaf["width"]["value"], leaf["height"]["value"]) == ("3'-0\"", "7'-0\"")
    assert [cell.text for cell in found.troubles] == ["36 x 84 x 2"]
    assert found.data["openings"]["d3"] == {}


def test_two_sheets_that_disagree_are_told(tmp_path: Path) -> None:
    path = tmp_path / "doors.csv"
    path.write_text("NO,WORK\nd1,new\n")
    base: Any = {"openings": {"d1": {"work": "altered"}}}
    read = read_mapping(parse_yaml(mapped("WORK", "work", {}), "map.yaml"))
    found = import_book(read_book(path), read, base, book().vocabulary)
    assert found.data["openings"]["d1"]["work"] == "altered"
    assert "otherwise" in found.troubles[0].why


def sheets(path: Path) -> None:
    """A workbook of doors with their levels, rooms, and a sheet that tells of the building."""
    book = openpyxl.Workbook()
    doors = book.active
    assert doors is not None
    doors.title = "Doors"
    for row in (
        ("DOOR NO", "LEVEL", "FROM ROOM", "TO ROOM", "WIDTH"),
        ("101", "Level 1", "100", "Corridor", 36),
        ("102", "Level 1", "101", "Corridor", 36),
        ("103", "Level 2", "101", None, 36),
        ("104", "Level 2", None, "Corridor", 36),
        ("201", "TBD", "200", "Corridor", 36),
    ):
        doors.append(row)
    rooms = book.create_sheet("Rooms")
    for row in (("ROOM NO", "OCC LOAD", "OCCUPANCY", "LEVEL"), ("200", 40, "B", "Level 2"), ("100", 12, "B", None)):
        rooms.append(row)
    facts = book.create_sheet("Project Data")
    for row in (
        ("Project number", "4711", None),
        ("Sprinkler system", "NFPA 13", "see plan"),
        ("Fire alarm", "yes", None),
        ("Stories above grade", 4, None),
        ("Site", "to be found", None),
    ):
        facts.append(row)
    book.save(path)


def test_sheets_of_doors_rooms_and_the_building(tmp_path: Path) -> None:
    path = tmp_path / "all.xlsx"
    sheets(path)
    read = read_book(path)
    text = mapping_text(read, propose(read, book().vocabulary), "")
    for line in (
        "to: sides/inside.space.storey", "describes: rooms", "to: storey", "describes: building", "turned: yes",
        '"Sprinkler system":    # 100 %', '"Project number": ignore', "skip: [3]    # columns behind the answers",
        '"Site":    # not recognised: say where it leads, or ignore',
    ):  # fmt: skip
        assert line in text, text
    text = text.replace("confirmed: no", "confirmed: yes").replace("to: ''", "to: workplace")
    found = import_book(read, read_mapping(parse_yaml(text, "map.yaml")), {"codes": ["ibc@2021"]}, book().vocabulary)
    told = {(cell.place, cell.text): cell.why for cell in found.troubles}
    assert set(told) == {("Doors!B4", "Level 2"), ("Doors!B5", "Level 2"), ("Project Data!B5", "to be found")}
    assert "described otherwise" in told["Doors!B4", "Level 2"]
    assert "does not say of which room" in told["Doors!B5", "Level 2"]
    assert found.data["building"]["sprinklers"] == {"value": "nfpa-13-throughout", "note": "Project Data!B2"}
    assert set(found.data["building"]) == {"sprinklers", "fire_alarm", "stories"}
    assert [found.data["rooms"][name].get("storey") for name in ("100", "101", "200", "Corridor")] == [
        "Level-1", "Level-1", "Level-2", None,
    ]  # fmt: skip
    fates = {cell.place: cell.state for cell in found.cells}
    assert fates["Project Data!B1"] == "ignored"
    assert fates["Project Data!C2"] == "skipped"
    assert fates["Doors!B6"] == "not-known"
    project = read_project(node_from_data(found.data, "doors"), book().vocabulary)
    assert storeys_of(project) == {"101": "Level-1", "102": "Level-1", "103": "Level-1", "201": "Level-2"}


def test_a_building_is_told_of_once(tmp_path: Path) -> None:
    path = tmp_path / "all.xlsx"
    sheets(path)
    text = (
        "schema: clauseway-mapping/1\nsheets:\n  Project Data:\n    describes: building\n    turned: yes\n"
        "    columns:\n"
        "      Sprinkler system: {to: sprinklers, values: {nfpa 13: nfpa-13-throughout}, confirmed: yes}\n"
        "      Project number: ignore\n      Fire alarm: ignore\n      Stories above grade: ignore\n"
        "      Site: ignore\n"
    )
    base: Any = {"openings": {"d1": {}}, "building": {"sprinklers": "none"}}
    found = import_book(read_book(path), read_mapping(parse_yaml(text, "map.yaml")), base, book().vocabulary)
    assert {cell.place: cell.why.partition(":")[0] for cell in found.troubles} == {
        "Project Data!B2": "sprinklers is described otherwise in the base, in another row or in another sheet",
        "Project Data!C2": "the building is described already",
    }
    assert found.data["building"] == {"sprinklers": "none"}


def test_a_report_out_of_a_schedule(folder: Path) -> None:
    small, out = folder / "levels.xlsx", folder / "levels.html"
    sheets(small)
    read = read_book(small)
    text = mapping_text(read, propose(read, book().vocabulary), "base.yaml")
    (folder / "levels.yaml").write_text(
        text.replace("confirmed: no", "confirmed: yes").replace("to: ''", "to: workplace")
    )
    (folder / "base.yaml").write_text("codes: [ibc@2021]\n")
    arguments = ["schedule", "report", str(small), str(folder / "levels.yaml"), "-o", str(out)]
    done = CliRunner().invoke(app, arguments)
    (folder / "base.yaml").write_text(BASE)
    assert done.exit_code == 3, done.exception
    assert "Doors!B4: Level 2: sides/inside.space.storey is described otherwise" in " ".join(done.output.split())
    assert '<th scope="row">Level-1</th>' in out.read_text()
    again = CliRunner().invoke(app, arguments)
    assert "exists already" in str(again.exception)


MAPPINGS = [
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, turned: yes, columns: {A: ignore}}}",
        "turned with describes: building only",
    ),
    (
        mapped("A", "sides/a.space.stoery", {}),
        "did you mean: storey",
    ),
    (
        mapped("A", "leaves/a.width.storey", {}),
        "leads to nothing that the building has a list of",
    ),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {describes: bulding, name: NO, columns: {A: ignore}}}",
        "did you mean: building",
    ),
    ("schema: clauseway-mapping/9\nsheets: {doors: {name: NO, columns: {}}}", "clauseway-mapping/1"),
    ("schema: clauseway-mapping/1\nsheets: {dors: {name: NO, columns: {A: ignore}}}", "did you mean: doors"),
    ("schema: clauseway-mapping/1\nsheets: {doors: {name: NUM, columns: {A: ignore}}}", "name: no column NUM"),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {}}}",
        "the column A of doors is not in the mapping",
    ),
    ("schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {A: {to: kind}}}}", "is not confirmed"),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {A: {to: leafs/a.width, confirmed: yes}}}}",
        "did you mean: leaves",
    ),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {A: {to: clear_widht, confirmed: yes}}}}",
        "did you mean: clear_width",
    ),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {A: {to: kind, blank: q, confirmed: yes}}}}",
        "blank: q",
    ),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, describes: gates, columns: {A: ignore}}}",
        "describes: gates",
    ),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, heading: 1, columns: {A: ignore}}}",
        "did you mean: headings",
    ),
    ("schema: clauseway-mapping/1\nsheets: {doors: {name: NO, headings: zero, columns: {A: ignore}}}", "zero as a row"),
    (
        "schema: clauseway-mapping/1\nsheets: {doors: {name: NO, columns: {B: ignore, A: ignore}}}",
        "no column B in doors",
    ),
]


@pytest.mark.parametrize(("text", "message"), MAPPINGS)
def test_a_wrong_mapping_is_refused_with_its_place(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "doors.csv"
    path.write_text("NO,A\nd1,x\n")
    with pytest.raises(ClausewayError) as caught:
        imported(path, text)
    assert message in str(caught.value)
    assert caught.value.problems[0].place.line


def test_a_base_outside_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "doors.csv").write_text("NO,A\nd1,x\n")
    (tmp_path / "map.yaml").write_text(
        "schema: clauseway-mapping/1\nbase: ../other.yaml\nsheets: {doors: {name: NO, columns: {A: ignore}}}\n"
    )
    arguments = [
        "schedule",
        "import",
        str(tmp_path / "doors.csv"),
        str(tmp_path / "map.yaml"),
        "-o",
        str(tmp_path / "o.yaml"),
    ]
    done = CliRunner().invoke(app, arguments)
    assert "in the folder of the mapping" in str(done.exception)
    assert not (tmp_path / "o.yaml").exists()
