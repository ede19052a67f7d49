"""The JSON report: of the published shape, and the same bytes each time."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from clauseway.answers import report as report_module
from clauseway.answers.check import check
from clauseway.answers.finding import Report
from clauseway.answers.report import report_data, report_json
from clauseway.case.open import open_project
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook, from_json
from clauseway_cli.app import main

RULES = Path(__file__).parents[2] / "rules"
FILES = [*sorted(RULES.glob("examples/*.yaml")), RULES / "demo" / "harbour-hall.yaml"]
SCHEMA = json.loads((RULES / "schemas" / "report.schema.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)


@cache
def library() -> Library:
    return load()


@cache
def rulebook(edition: str) -> Rulebook:
    return resolve(library(), [f"ibc@{edition}"])


def report(path: Path, edition: str, on: str = "") -> Report:
    return check(rulebook(edition), open_project(path, rulebook(edition)), on=on)


def departures(data: Any) -> list[str]:
    return [f"{error.json_path}: {error.message}" for error in VALIDATOR.iter_errors(data)]


@pytest.mark.parametrize("edition", ["2018", "2021"])
@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_report_has_the_published_shape_and_the_same_bytes_each_time(path: Path, edition: str) -> None:
    written = report_json([report(path, edition, on="2026-05-01")])
    assert departures(json.loads(written)) == []
    assert report_json([report(path, edition, on="2026-05-01")]) == written


def test_several_files_are_a_list() -> None:
    both = [report(path, "2021") for path in FILES[:2]]
    data = json.loads(report_json(both))
    assert isinstance(data, list)
    assert departures(data) == []
    assert departures(data[:1]), "one report in a list"


def test_a_compiled_rulebook_gives_the_same_bytes() -> None:
    compiled = from_json(rulebook("2021").json)
    for path in FILES:
        project = open_project(path, compiled)
        assert report_json([check(compiled, project)]) == report_json([report(path, "2021")])


def test_the_schema_is_strict() -> None:
    """Each map in a report refuses a key that is not published, and misses each key that is."""
    good = report_data(report(RULES / "examples" / "sensor-magnet.yaml", "2021"))
    good = json.loads(json.dumps(good))
    assert departures(good) == []
    for data in (good, good["rulebook"], good["openings"][0], good["openings"][0]["findings"][0]):
        data["surprise"] = 1
        assert departures(good)
        del data["surprise"]
        for key in list(data):
            kept = data.pop(key)
            assert departures(good), key
            data[key] = kept
    assert departures(good) == []


def test_the_schema_name_is_the_one_that_is_written() -> None:
    assert SCHEMA["$defs"]["report"]["properties"]["schema"]["const"] == report_module.SCHEMA


def test_the_verdicts_and_the_findings_agree() -> None:
    for path in FILES:
        for answer in report_data(report(path, "2021"))["openings"]:
            verdicts = {finding["verdict"] for finding in answer["findings"] if finding["of"] == "requirement"}
            assert (answer["verdict"] == "does-not-comply") == ("unmet" in verdicts), answer["id"]
            good = bool(verdicts) and verdicts <= {"met", "not-applicable"}
            assert (answer["verdict"] == "complies") == good, answer["id"]


def test_whatever_is_found_can_be_walked_back() -> None:
    """A finding names its clause and the place where it is written; an undetermined one says what is missing."""
    for path in FILES:
        for answer in report_data(report(path, "2021"))["openings"]:
            for finding in answer["findings"]:
                assert finding["at"], finding["id"]
                if not finding["id"].startswith("described."):
                    assert finding["citations"], finding["id"]
                    assert all(citation["section"] for citation in finding["citations"]), finding["id"]
                if finding["verdict"] == "undetermined":
                    assert finding["missing"], finding["id"]


@pytest.mark.parametrize("arguments", [[], ["--on", "2026-05-01", "--code", "ibc@2018"]], ids=["plain", "dated"])
def test_the_command_writes_it(
    arguments: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    written = []
    for _ in range(2):
        monkeypatch.setattr("sys.argv", ["clauseway", "check", "demo", "--format", "json", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        assert stopped.value.code == 1
        written.append(capsys.readouterr().out)
    assert written[0] == written[1]
    data = json.loads(written[0])
    assert departures(data) == []
    assert data["file"] == "demo"
    assert data["rulebook"]["on"] == ("2026-05-01" if arguments else None)
    assert str(RULES) not in written[0], "a path of this machine"
