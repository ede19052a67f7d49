"""Models made by ifcopenshell: doors in, answers out, and read again."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.api
import ifcopenshell.util.element
import pytest
from typer.testing import CliRunner

from clauseway.case.project import read_project
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.model.vocabulary import Vocabulary
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data
from clauseway_cli.app import app
from clauseway_schedules.ifc import read_model

OPERATIONS = ("SINGLE_SWING_LEFT", "DOUBLE_DOOR_SINGLE_SWING", "DOUBLE_SWING_RIGHT", "SLIDING_TO_LEFT", "")
RATINGS = ("90 min", "EI 60", "", "20 min", "NR")
OWN: tuple[dict[str, Any], ...] = (
    {"locks/lock.kind": "electromagnetic-direct-pull", "passages/out.role": "required"},
    {"locks/lock.kind": "magnet"},
    {"is_pair": "false", "loks/lock.kind": "electric-strike"},
    {},
    {},
)


@cache
def vocabulary() -> Vocabulary:
    return resolve(load(), ["ibc@2021"]).vocabulary


def make(path: Path) -> None:
    """A storey with a hall, a corridor and five doors, the last two of one tag."""
    run = ifcopenshell.api.run
    model = run("project.create_file", version="IFC4")
    project = run("root.create_entity", model, ifc_class="IfcProject", name="Invented house")
    run("unit.assign_unit", model, length={"is_metric": True, "raw": "MILLIMETERS"})
    building = run("root.create_entity", model, ifc_class="IfcBuilding", name="House")
    storey = run("root.create_entity", model, ifc_class="IfcBuildingStorey", name="Level 1")
    run("aggregate.assign_object", model, products=[building], relating_object=project)
    run("aggregate.assign_object", model, products=[storey], relating_object=building)
    spaces = [run("root.create_entity", model, ifc_class="IfcSpace", name=name) for name in ("Hall", "Corridor 1")]
    for number in range(5):
        door = run("root.create_entity", model, ifc_class="IfcDoor", name=f"Door {number}")
        door.Tag = f"D{min(number, 3)}"
        door.OverallWidth, door.OverallHeight = 910.0, 2100.0
        door.OperationType = OPERATIONS[number] or None
        run("spatial.assign_container", model, products=[door], relating_structure=storey)
        common = {"SelfClosing": True, "FireExit": False}
        common |= {"FireRating": RATINGS[number]} if RATINGS[number] else {}
        made = run("pset.add_pset", model, product=door, name="Pset_DoorCommon")
        run("pset.edit_pset", model, pset=made, properties=common)
        if OWN[number]:
            made = run("pset.add_pset", model, product=door, name="Clauseway_Opening")
            run("pset.edit_pset", model, pset=made, properties=OWN[number])
        for space in spaces if number == 0 else ():
            model.create_entity(
                "IfcRelSpaceBoundary",
                GlobalId=ifcopenshell.guid.new(),
                RelatingSpace=space,
                RelatedBuildingElement=door,
                PhysicalOrVirtualBoundary="PHYSICAL",
                InternalOrExternalBoundary="INTERNAL",
            )
    model.write(str(path))


@pytest.fixture(scope="module")
def model(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("model") / "house.ifc"
    make(path)
    return path


def value(opening: Any, *steps: str) -> Any:
    for step in steps:
        opening = opening.get(step, {})
    return opening.get("value") if isinstance(opening, dict) else opening


def test_doors_come_in_and_what_is_not_said_stays_unknown(model: Path) -> None:
    found = read_model(model, {}, vocabulary())
    openings = found.data["openings"]
    assert (found.schema, found.doors, len(openings)) == ("IFC4", 5, 5)
    assert value(openings, "D0", "kind") == "swinging"
    assert value(openings, "D0", "is_pair") == "false"
    assert value(openings, "D1", "is_pair") == "true"
    assert value(openings, "D2", "leaves", "leaf", "swing") == "double-acting"
    assert {value(each, "kind") for name, each in openings.items() if name.startswith("D3")} == {"sliding", None}
    assert value(openings, "D0", "fire_rating") == "90 min"
    assert value(openings, "D0", "locks", "lock", "kind") == "electromagnetic-direct-pull"
    assert value(openings, "D0", "leaves", "leaf", "self_closing") == "true"
    assert "leaves" not in openings["D1"], "which leaf of a pair closes by itself is not said"
    assert {value(openings["D0"]["sides"], side, "space") for side in ("side-1", "side-2")} == {"Hall", "Corridor-1"}
    assert found.data["rooms"]["Hall"] == {"storey": "Level-1"}
    assert all("complete" not in each and "clear_width" not in each for each in openings.values())
    last = [name for name in openings if name.startswith("D3")]
    assert len(last) == 2, "two doors of one tag are two openings"
    read_project(node_from_data(found.data, "model"), vocabulary())


def test_what_is_not_understood_is_told(model: Path) -> None:
    unread = {(each.what, each.text) for each in read_model(model, {}, vocabulary()).unread}
    assert unread == {
        ("Pset_DoorCommon.FireRating", "EI 60"),
        ("Pset_DoorCommon.FireRating", "NR"),
        ("Clauseway_Opening.locks/lock.kind", "magnet"),
        ("Clauseway_Opening.loks/lock.kind", "electric-strike"),
    }


def test_answers_go_out_and_are_read_again(model: Path, tmp_path: Path) -> None:
    openings, out, again = tmp_path / "o.yaml", tmp_path / "answered.ifc", tmp_path / "again.ifc"
    run = CliRunner()
    done = run.invoke(app, ["model", "import", str(model), "-o", str(openings)])
    assert done.exit_code == 3, done.exception
    for before, after in ((model, out), (out, again)):
        arguments = ["model", "answer", str(before), str(openings), "-o", str(after), "--code", "ibc@2021"]
        done = run.invoke(app, arguments)
        assert after.exists(), done.exception
        assert "answers on 5 doors, of 5" in done.output
    first, second = ifcopenshell.open(str(out)), ifcopenshell.open(str(again))
    for door in second.by_type("IfcDoor"):
        sets = ifcopenshell.util.element.get_psets(door)
        assert sets["Clauseway_Answer"]["Verdict"] in ("not decided", "does not comply")
        assert "authority having jurisdiction" in sets["Clauseway_Answer"]["Caution"]
        assert sets["Pset_DoorCommon"]["SelfClosing"] is True
    assert len(second.by_type("IfcPropertySet")) == len(first.by_type("IfcPropertySet")), "the older answers stay"
    assert read_model(out, {}, vocabulary()).data == read_model(model, {}, vocabulary()).data


def test_an_older_schema_is_read(tmp_path: Path) -> None:
    old = ifcopenshell.file(schema="IFC2X3")
    for mark in ("D0", "D1"):
        old.create_entity("IfcDoor", GlobalId=ifcopenshell.guid.new(), Name="Door", Tag=mark)
    path = tmp_path / "old.ifc"
    old.write(str(path))
    found = read_model(path, {}, vocabulary())
    assert (found.schema, found.doors) == ("IFC2X3", 2)
    assert set(found.data["openings"]["D0"]) == {"model_id", "location"}


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (b"", "no IFC model"),
        (b"hello", "no IFC model"),
        (b"ISO-10303-21;\nHEADER;\n", "cannot be read"),
        (b"ISO-10303-21;\nHEADER;FILE_SCHEMA(('IFC9'));ENDSEC;DATA;ENDSEC;END-ISO-10303-21;", "cannot be read"),
    ],
)
def test_a_broken_model_is_refused(tmp_path: Path, text: bytes, message: str) -> None:
    path = tmp_path / "broken.ifc"
    path.write_bytes(text)
    with pytest.raises(ClausewayError, match=message):
        read_model(path, {}, vocabulary())


def test_a_model_cut_off_is_refused_or_told(model: Path, tmp_path: Path) -> None:
    path = tmp_path / "cut.ifc"
    path.write_bytes(model.read_bytes()[:-4000])
    try:
        found = read_model(path, {}, vocabulary())
    except ClausewayError:
        return
    assert found.doors < 5, "a model that was cut off gives all its doors"
