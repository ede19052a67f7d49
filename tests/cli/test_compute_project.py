"""The sheet of a whole project: what is described is computed, what is not stays undetermined."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from typer.testing import CliRunner

from clauseway.compute import battery, wire
from clauseway.compute.units import FOOT
from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app


def run(*words: str) -> str:
    done = CliRunner().invoke(app, ["compute", "project", *words], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return done.output


def data(*words: str) -> Any:
    return json.loads(run(*words, "--format", "json"))


def page(sheet: Any, identity: str) -> Any:
    return next(page for page in sheet["pages"] if page["id"] == identity)


def item(found: Any, identity: str) -> Any:
    return next(item for item in found["items"] if item["id"] == f"engineering.{identity}")


def test_each_door_and_supply_of_the_demo_has_its_page() -> None:
    sheet = data("demo")
    doors = [each["id"] for each in sheet["pages"] if each["kind"] == "opening"]
    assert doors == [f"d{number}" for number in range(101, 117)]
    assert [each["id"] for each in sheet["pages"] if each["kind"] == "supply"] == ["basement-supply", "office-supply"]
    works = {each["id"]: each["works"] for each in sheet["pages"]}
    assert works["d101"] == "yes"
    assert works["d102"] == works["d104"] == works["d105"] == works["basement-supply"] == "no"
    assert works["d103"] == works["d107"] == "not-described"


def test_the_numbers_are_those_of_the_computations() -> None:
    sheet = data("demo")
    (step,) = item(page(sheet, "d102"), "lock-voltage/wire")["computations"]
    drop = wire.voltage_drop(420 * FOOT, 0.25, 0.32555e-6)
    assert step["least"] == step["most"] == pytest.approx(drop, rel=1e-9)
    assert step["unit"] == "V"
    assert "2·128 m·0.25 A" in step["numbers"]
    (needed,) = item(page(sheet, "basement-supply"), "standby/access-control")["computations"]
    assert needed["least"] == pytest.approx(battery.capacity(0.55, 7200.0))
    lasting = item(page(sheet, "office-supply"), "standby-time")
    assert lasting["verdict"] == "computed"
    assert lasting["computations"][0]["least"] == pytest.approx(14 * 3600.0)


def test_ranges_give_ranges_and_what_is_not_described_is_not_computed() -> None:
    sheet = data("demo")
    (step,) = item(page(sheet, "d105"), "released-door/opens")["computations"]
    assert step["numbers"] is None
    assert step["least"] < step["most"]
    for each in page(sheet, "d103")["items"]:
        if each["verdict"] == "undetermined":
            assert each["missing"], each["id"]
            assert all(step["least"] is None or step["most"] is None for step in each["computations"])
    open_ones = [each for each in page(sheet, "d103")["items"] if each["id"].startswith("engineering.lock-voltage")]
    assert {each["verdict"] for each in open_ones} == {"undetermined"}


def test_the_text_shows_formula_numbers_result_and_remedy() -> None:
    text = run("demo", "--opening", "d102")
    assert "Engineering, not code" in text
    assert "d102  First floor, programme office to office corridor             DOES NOT WORK" in text
    assert "Voltage drop of a pair: ΔV = 2·L·I·R'(A, T, s)" in text
    assert "= 3.39 V" in text
    assert "To do: Use thicker conductors" in text
    assert "d101" not in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_same_input_gives_the_same_bytes() -> None:
    assert run("demo", "--format", "json") == run("demo", "--format", "json")
    assert run("demo") == run("demo")


def test_the_data_is_what_the_schema_says() -> None:
    schema = json.loads((shipped_rules() / "schemas" / "project-sheet.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    for words in (("demo",), ("demo", "demo"), (str(shipped_rules() / "examples" / "wired-magnet.yaml"),)):
        Draft202012Validator(schema).validate(data(*words))


def test_daisy_chain_temperature_and_lists_of_one_cable_show_up(tmp_path: Path) -> None:
    text = (shipped_rules() / "examples" / "wired-magnet.yaml").read_text(encoding="utf-8")
    (tmp_path / "doors.yaml").write_text(
        text.replace("cable_length: 100 ft", "cable_length: unknown"), encoding="utf-8"
    )
    known = data(str(shipped_rules() / "examples" / "wired-magnet.yaml"))
    unknown = data(str(tmp_path / "doors.yaml"))

    def of_magnet(sheet: Any) -> Any:
        found = [i for i in page(sheet, "d")["items"] if i["id"].endswith("/wire") and "magnet" in i["subject"]["id"]]
        return found[0]

    assert of_magnet(known)["verdict"] == "met"
    assert of_magnet(known)["computations"][0]["least"] == pytest.approx(
        wire.chain_drop((100 * FOOT, 50 * FOOT), (0.25, 0.25), 0.82309e-6), rel=1e-9
    )
    # Wherever on the cable the other lock hangs, the wire takes at most what it would with both at its end.
    assert of_magnet(unknown)["verdict"] == "met"
    most = of_magnet(unknown)["computations"][0]["most"]
    assert most == pytest.approx(wire.voltage_drop(150 * FOOT, 0.5, 0.82309e-6), rel=1e-9)


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("project",), "no file"),
        (("project", "no-such-file.yaml"), "no-such-file.yaml"),
        (("project", "demo", "--opening", "d999"), "no opening d999"),
        (("project", "demo", "--plot", "x.svg"), "--plot with project"),
        (("wire.voltage-drop", "--opening", "d101"), "--opening without project"),
    ],
)
def test_refusals(words: tuple[str, ...], found: str) -> None:
    with pytest.raises(ClausewayError) as error:
        CliRunner().invoke(app, ["compute", *words], catch_exceptions=False)
    assert found in str(error.value)
