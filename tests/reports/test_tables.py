"""Tables and issues out of reports, read back by other readers."""

from __future__ import annotations

import csv
import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from clauseway.answers.report import CAUTION
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from clauseway_reports.bcf import bcf
from clauseway_reports.summary import line_of
from clauseway_reports.tables import FINDING_COLUMNS, arrangement_matrix, as_csv, findings_rows
from support.demo_report import demo

MODEL_ID = "2O2Fr$t4X7Zf8NOew3FLOH"


def rows(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def findings_table(report: dict[str, Any]) -> list[tuple[str, ...]]:
    return [row for door in report["openings"] for row in findings_rows(door)]


def test_every_finding_is_a_row() -> None:
    found = rows(as_csv(FINDING_COLUMNS, findings_table(demo())))
    assert found[0] == list(FINDING_COLUMNS)
    assert found[-1] == [CAUTION]
    assert len(found) - 2 == sum(len(door["findings"]) for door in demo()["openings"])
    assert {len(row) for row in found[:-1]} == {len(FINDING_COLUMNS)}


def test_doors_by_arrangement() -> None:
    titles, found = arrangement_matrix([line_of(door) for door in demo()["openings"]])
    by_door = {row[0]: dict(zip(titles, row[1:], strict=True)) for row in found}
    assert len(found) == 16
    assert by_door["d101"]["Sensor release of an electrically locked egress door"] == "meant: met"
    assert by_door["d102"]["Sensor release of an electrically locked egress door"] == "meant: not met (manual-release)"


@pytest.mark.parametrize("nasty", ["=1+1", "+x", "-x", "@x", "\tx"])
def test_no_cell_is_a_formula(nasty: str) -> None:
    report = demo()
    report["openings"][0]["id"] = nasty
    report["openings"][0]["findings"][0]["says"] = nasty
    for row in rows(as_csv(FINDING_COLUMNS, findings_table(report))):
        assert not any(cell.startswith(("=", "+", "@", "\t")) or cell == "-x" for cell in row)


@pytest.mark.parametrize("version", ["2.1", "3.0"])
def test_issues_are_read_by_another_reader(tmp_path: Path, version: str) -> None:
    """bcf-client's classes are generated from the schemas that buildingSMART publishes, and refuse what they lack."""
    from bcf.bcfxml import load as load_bcf

    report = demo()
    path = tmp_path / "issues.bcfzip"
    path.write_bytes(bcf([report], {"d102": MODEL_ID}, version, "2026-11-25"))
    wanted = {door["id"] for door in report["openings"] if door["verdict"] != "complies"}
    with load_bcf(path) as read:
        topics = {topic.topic.title.partition(",")[0]: topic for topic in read.topics.values()}
        assert set(topics) == wanted
        one = topics["d102"]
        assert one.topic.title.endswith("does not comply")
        assert "IBC 2021 1010.2" in one.topic.description
        assert one.topic.description.endswith(CAUTION)
        (view,) = one.viewpoints.values()
        (component,) = view.visualization_info.components.selection.component
        assert component.ifc_guid == MODEL_ID
        assert not topics["d103"].viewpoints


@pytest.mark.parametrize("version", ["2.1", "3.0"])
def test_the_same_issues_are_the_same_bytes(version: str) -> None:
    first, second = (bcf([demo()], {}, version, "2026-11-25") for _ in range(2))
    assert first == second
    later = bcf([demo()], {}, version, "2026-11-26")
    names = [sorted(zipfile.ZipFile(io.BytesIO(data)).namelist()) for data in (first, later)]
    assert names[0] == names[1], "an issue keeps its id when it is written again"


@pytest.mark.parametrize(("version", "on", "message"), [("1.0", "2026-11-25", "2.1 or 3.0"), ("3.0", "", "--on")])
def test_issues_that_cannot_be_written(version: str, on: str, message: str) -> None:
    with pytest.raises(ClausewayError, match=message):
        bcf([demo()], {}, version, on)


def test_what_people_typed_stays_text_in_issues() -> None:
    report = demo()
    report["openings"][1]["location"] = "a < b & \x00 ]]> <Topic/>"
    data = bcf([report], {}, "3.0", "2026-11-25")
    from xml.etree import ElementTree

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        for name in archive.namelist():
            ElementTree.fromstring(archive.read(name))


@pytest.mark.parametrize(("name", "more"), [("r.csv", []), ("m.csv", ["--matrix"]), ("r.json", []), ("r.bcfzip", [])])
def test_the_command_writes(tmp_path: Path, name: str, more: list[str]) -> None:
    out = tmp_path / name
    done = CliRunner().invoke(app, ["report", "demo", "-o", str(out), "--on", "2026-11-25", *more])
    assert done.exit_code == 1, done.exception
    assert out.stat().st_size > 1000
