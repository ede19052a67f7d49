"""Measured values read back in: met at the limits, unmet one step outside, refused where they are not understood."""

from __future__ import annotations

import csv
import io
import json
from functools import cache
from pathlib import Path

import pytest
from typer.testing import CliRunner

from clauseway.answers import finding as F
from clauseway.case.open import read_openings
from clauseway.handover.build import handover_of
from clauseway.handover.results import Measurements, measure
from clauseway.handover.results_in import Result, Results, read_results
from clauseway.handover.sheet import Handover
from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import NOWHERE, ClausewayError
from clauseway.text.source import Node, read_yaml
from clauseway_cli.app import app
from clauseway_cli.handover_write import form

BASE = shipped_rules() / "examples" / "sensor-magnet.yaml"


@cache
def book() -> Rulebook:
    return resolve(load(), ["ibc@2021"])


@cache
def base() -> Node:
    return read_openings(BASE)


@cache
def sheet() -> Handover:
    from clauseway.case.project import read_project

    return handover_of(book(), read_project(base(), book().vocabulary), "openings/d")


def read_back(**values: str) -> Measurements:
    lines = tuple(Result(step.replace("__", "."), value, "AB", "", NOWHERE) for step, value in values.items())
    return measure(book(), base(), Results("d", lines))


BUTTON = "devices__button__"
SIDES = [
    (BUTTON + "height", "40 in", F.MET),
    (BUTTON + "height", "39.9 in", F.UNMET),
    (BUTTON + "height", "1219 mm", F.MET),
    (BUTTON + "height", "48 1/16 in", F.UNMET),
    (BUTTON + "acts__magnet__hold_time", "30 s", F.MET),
    (BUTTON + "acts__magnet__hold_time", "29.9 s", F.UNMET),
    (BUTTON + "acts__magnet__distance", "5 ft", F.MET),
    (BUTTON + "acts__magnet__distance", "61 in", F.UNMET),
    (BUTTON + "acts__magnet__how", "signals-controller", F.UNMET),
    (BUTTON + "sign_text", "PULL TO EXIT", F.UNMET),
    ("devices__sensor__acts__magnet__unlocks_on_device_power_loss", "no", F.UNMET),
    ("locks__magnet__on__fire-alarm__holds_until", "alarm-silenced", F.UNMET),
    ("locks__magnet__listings", "UL 294, UL 1034", F.MET),
    ("locks__magnet__listings", "none", F.UNMET),
]


@pytest.mark.parametrize(("step", "value", "verdict"), SIDES)
def test_a_value_at_a_limit_is_met_and_one_step_outside_is_not(step: str, value: str, verdict: str) -> None:
    found = read_back(**{step: value})
    assert [(reading.step.id, reading.verdict) for reading in found.readings] == [(step.replace("__", "."), verdict)]
    assert found.before == F.COMPLIES
    assert found.after == (F.COMPLIES if verdict == F.MET else F.FAILS)
    assert found.status == (3 if verdict == F.MET else 1), "what was not measured stays open"


def filled(**instead: str) -> str:
    """The form of the base, filled in with what is described, or with other values by step."""
    rows = list(csv.DictReader(io.StringIO(form(sheet()))))
    for row in rows:
        step = sheet().step(row["step"])
        assert step is not None
        row["value"] = instead.get(row["step"], step.described)
        row["by"] = "AB"
    stream = io.StringIO()
    writer = csv.DictWriter(stream, list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return stream.getvalue()


def test_a_form_filled_in_with_what_is_described_passes_whole(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text(filled(), encoding="utf-8-sig")
    found = measure(book(), base(), read_results(path))
    assert found.not_measured == ()
    assert {reading.verdict for reading in found.readings} == {F.MET}
    assert found.status == 0


def test_lines_left_blank_stay_open(tmp_path: Path) -> None:
    path = tmp_path / "r.csv"
    path.write_text(filled(**{"devices.button.height": "", "clear_width": "unknown"}), encoding="utf-8")
    found = measure(book(), base(), read_results(path))
    assert [step.id for step in found.not_measured] == ["clear_width", "devices.button.height"]
    assert found.status == 3


def test_the_description_carries_the_values_as_measured(tmp_path: Path) -> None:
    mine, results, out = tmp_path / "doors.yaml", tmp_path / "r.yaml", tmp_path / "out.yaml"
    mine.write_text(BASE.read_text(encoding="utf-8"), encoding="utf-8")
    results.write_text("opening: d\nresults: {devices.button.height: {value: 41 in, by: AB, note: chalk}}", "utf-8")
    run = CliRunner().invoke(app, ["measured", str(mine), str(results), "--code", "ibc@2021", "-o", str(out)])
    assert run.exit_code == 3, run.output
    assert mine.read_text(encoding="utf-8") == BASE.read_text(encoding="utf-8")
    height = read_yaml(out).at(["openings", "d", "devices", "button", "height"])
    assert height.plain() == {"value": "41 in", "known_by": "measured", "note": "measured by AB, chalk"}
    again = CliRunner().invoke(app, ["measured", str(out), str(results), "--code", "ibc@2021", "-o", str(out)])
    assert again.exit_code == 3, again.output
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


WRONG = [
    ("opening: d\nresults: {devices.button.hight: 41 in}", "no step devices.button.hight", "devices.button.height"),
    ("opening: d\nresults: {devices.button.height: high}", "devices.button.height", ""),
    ("opening: d\nresults: {devices.button.height: 41 kg}", "kg", ""),
    ("opening: x\nresults: {devices.button.height: 41 in}", "no opening x", ""),
    ("opening: d\nresults: {devices.button.height: {valu: 41 in}}", "a result has no valu", "value"),
    ("opening: d\nresult: {devices.button.height: 41 in}", "a result has no result", "results"),
    ("results: {devices.button.height: 41 in}", "it is not said which opening was tested", ""),
    ("opening: d\nresults: {locks.magnet.on.fire-alarm.unlocks: perhaps}", "perhaps", ""),
]


@pytest.mark.parametrize(("text", "found", "near"), WRONG)
def test_what_is_not_understood_is_refused_with_its_place(tmp_path: Path, text: str, found: str, near: str) -> None:
    path = tmp_path / "r.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ClausewayError) as error:
        measure(book(), base(), read_results(path))
    said = str(error.value)
    assert found.rpartition(".")[2] in said
    assert "r.yaml" in said or "sensor-magnet" in said
    if near:
        assert near in said


BAD_CSV = [
    ("step;value\nclear_width;34 in\n", "no opening"),
    ("opening,step\nd,clear_width\n", "no column value"),
    ("opening,step,value,colour\nd,clear_width,34 in,red\n", "a column colour"),
    ("opening,step,value\nd,clear_width\n", "2 cells"),
    ("opening,step,value\nd,clear_width,34 in\nd,clear_width,35 in\n", "stands here twice"),
    ("opening,step,value\nd,clear_width,34 in\ne,clear_height,82 in\n", "of several"),
    ("", "no column step"),
]


@pytest.mark.parametrize(("text", "said"), BAD_CSV)
def test_a_form_that_is_out_of_order_is_refused(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "r.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ClausewayError, match=said):
        read_results(path)


def test_a_claim_that_there_is_nothing_is_not_overwritten(tmp_path: Path) -> None:
    text = BASE.read_text(encoding="utf-8")
    mine = tmp_path / "doors.yaml"
    mine.write_text(text, encoding="utf-8")
    run = CliRunner().invoke(app, ["handover", str(mine), "d", "--code", "ibc@2021", "-o", str(mine)])
    assert run.exit_code != 0
    assert mine.read_text(encoding="utf-8") == text


def test_a_description_that_is_called_json_is_written_as_json(tmp_path: Path) -> None:
    results, out = tmp_path / "r.yaml", tmp_path / "out.json"
    results.write_text("opening: d101\nresults: {devices.button.height: 41 in}\n", encoding="utf-8")
    run = CliRunner().invoke(app, ["measured", "demo", str(results), "-o", str(out)])
    assert run.exit_code == 3, run.output
    data = json.loads(out.read_text(encoding="utf-8"))
    assert data["openings"]["d101"]["devices"]["button"]["height"] == {"value": "41 in", "known_by": "measured"}
