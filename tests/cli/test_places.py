"""--in and --on on the command line: what is in force, and the same door under several laws."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry
from referencing.jsonschema import DRAFT202012
from typer.testing import CliRunner, Result

from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.places import STATE, utopia

BASE = (shipped_rules() / "examples" / "sensor-magnet.yaml").read_text(encoding="utf-8")


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    return utopia(tmp_path / "mine")


@pytest.fixture
def door(tmp_path: Path) -> Path:
    """A magnet whose button is 46 1/2 in high."""
    path = tmp_path / "door.yaml"
    assert "height: 42 in" in BASE
    path.write_text(BASE.replace("height: 42 in", "height: 46 1/2 in"), encoding="utf-8")
    return path


def run(*arguments: object) -> Result:
    found = CliRunner().invoke(app, [str(each) for each in arguments])
    if isinstance(found.exception, ClausewayError):
        raise found.exception
    return found


def checked(*arguments: object) -> dict[str, object]:
    data: dict[str, object] = json.loads(run("check", *arguments, "--format", "json").output)
    return data


def amended(data: dict[str, object], condition: str) -> tuple[str, list[str]]:
    findings = data["openings"][0]["findings"]  # type: ignore[index]
    found = next(f for f in findings if f["id"] == condition)
    return found["verdict"], [change["cite"] for change in found["amended_by"]]


def test_the_same_door_under_two_dates_differs_for_a_cited_reason(rules: Path, door: Path) -> None:
    before = checked(door, "--in", "XX-A", "--on", "2024-01-01", "--rules", rules)
    after = checked(door, "--in", "XX-A", "--on", "2024-05-01", "--rules", rules)
    condition = "ibc.sensor-release/manual-release"
    assert amended(before, condition) == ("met", ["NBC 10.1"])
    assert amended(after, condition) == ("unmet", ["NBC 10.1"])
    assert (after["rulebook"]["in"], after["rulebook"]["on"]) == ("XX-A", "2024-05-01")  # type: ignore[index]
    adopted = after["rulebook"]["law"]["adopted"]  # type: ignore[index]
    assert [(each["id"], each["from"], each["decided_by"]) for each in adopted] == [
        ("XX/access", "2012-03-15", "permit-issue"),
        ("XX-A/nbc-2021", "2024-03-15", "permit-application"),
    ]


def test_the_report_fits_its_schema(rules: Path, door: Path) -> None:
    schemas = {
        path.name: json.loads(path.read_text(encoding="utf-8")) for path in (shipped_rules() / "schemas").glob("*.json")
    }
    resources = [(name, DRAFT202012.create_resource(content)) for name, content in schemas.items()]
    validator = Draft202012Validator(schemas["report.schema.json"], registry=Registry().with_resources(resources))
    data = checked(door, "--in", "XXABC", "--on", "2024-05-01", "--rules", rules)
    assert list(validator.iter_errors(data)) == []


def test_a_file_may_say_where_it_is_and_when(rules: Path, door: Path) -> None:
    text = door.read_text(encoding="utf-8")
    said = "in: XX-A\ndates: {permit-application: 2023-05-01, permit-issue: 2023-06-01}\n"
    door.write_text(said + "\n".join(line for line in text.splitlines() if not line.startswith("codes:")), "utf-8")
    data = checked(door, "--rules", rules)
    assert data["rulebook"]["codes"] == ["ada@2010", "ibc@2018"]  # type: ignore[index]
    assert data["rulebook"]["law"]["dates"]["permit-application"] == "2023-05-01"  # type: ignore[index]
    door.write_text(said + text if "codes:" in text else f"{said}codes: [ibc@2021]\n{text}", encoding="utf-8")
    with pytest.raises(ClausewayError, match="codes and in together"):
        run("check", door, "--rules", rules)


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("dates: {permit: 2023-05-01}", "no date permit"),
        ("dates: {permit-issue: 2023-02-30}", "permit-issue 2023-02-30"),
        ("in: XX-B", "did you mean: XX-A"),
    ],
)
def test_what_a_file_says_wrongly_has_its_place(rules: Path, door: Path, line: str, message: str) -> None:
    body = [each for each in door.read_text(encoding="utf-8").splitlines() if not each.startswith("codes:")]
    door.write_text("\n".join([line, *([] if line.startswith("in:") else ["in: XX-A"]), *body]), encoding="utf-8")
    with pytest.raises(ClausewayError) as caught:
        run("check", door, "--rules", rules, "--on", "2024-05-01")
    assert message in str(caught.value)
    assert "door.yaml:1:" in str(caught.value)


def test_no_date_is_no_answer(rules: Path, door: Path) -> None:
    with pytest.raises(ClausewayError, match="which is not given"):
        run("check", door, "--in", "XX-A", "--rules", rules)


def test_where_the_applicant_may_choose_both_results_are_shown(tmp_path: Path, door: Path) -> None:
    state = STATE.replace("until: nbc-2021", "until: 2024-09-01").replace(
        "    layers: [north-2021]", "    layers: [north-2021]\n    choice: [nbc-2018]"
    )
    rules = utopia(tmp_path / "mine", state=state)
    both = run("check", door, "--in", "XX-A", "--on", "2024-05-01", "--rules", rules)
    assert "Reading: nbc-2018. The applicant may choose" in both.output
    assert "Reading: nbc-2021. The applicant may choose" in both.output
    with pytest.raises(ClausewayError, match="2 readings of the law"):
        run("needs", door, "--in", "XX-A", "--on", "2024-05-01", "--rules", rules)
    one = run("needs", door, "--in", "XX-A", "--on", "2024-05-01", "--rules", rules, "--choose", "nbc-2018")
    assert one.exit_code == 0
    assert "IBC 2018" in one.output


def test_codes_says_what_is_in_force_and_why(rules: Path) -> None:
    text = run("codes", "--in", "XXABC", "--on", "2024-05-01", "--rules", rules).output
    assert "International Building Code 2021 (ibc@2021)" in text
    assert "in force from 2024-03-15; the date of permit-application, 2024-05-01," in text
    assert text.index("- north-2021") < text.index("- harbour")
    assert "Look at vestibules." in text
    data = json.loads(run("codes", "--in", "XXABC", "--on", "2024-05-01", "--rules", rules, "--format", "json").output)
    assert data["readings"][0]["codes"] == ["ada@2010", "ibc@2021"]
    over_time = run("codes", "--in", "XX-A", "--rules", rules).output
    assert "from 2023-10-29, known since 2023-06-15" in over_time
    assert "proposed: not law" in over_time


def test_a_place_beside_codes_is_refused(rules: Path, door: Path) -> None:
    with pytest.raises(ClausewayError, match="--in and --code together"):
        run("check", door, "--in", "XX-A", "--code", "ibc@2021", "--rules", rules)
    with pytest.raises(ClausewayError, match="--known without a jurisdiction"):
        run("check", door, "--known", "2020-01-01", "--code", "ibc@2021")


def test_a_record_of_a_place_verifies_by_the_law_of_that_place(rules: Path, door: Path, tmp_path: Path) -> None:
    body = [each for each in door.read_text(encoding="utf-8").splitlines() if not each.startswith("codes:")]
    door.write_text("\n".join(["in: XX-A", *body, ""]), encoding="utf-8")
    kept = tmp_path / "kept.json"
    assert run("record", door, "-o", kept, "--on", "2024-05-01", "--rules", rules).exit_code == 0
    done = run("verify", kept, "--rules", rules)
    assert done.exit_code == 0, done.output
    assert ", 0 changed" in done.output
    state = rules / "jurisdictions/XX-A/north-2021.yaml"
    state.write_text(state.read_text(encoding="utf-8").replace("set: 46 in", "set: 47 in"), encoding="utf-8")
    harbour = rules / "jurisdictions/XXABC/harbour.yaml"
    harbour.write_text(harbour.read_text(encoding="utf-8").replace("was: 46 in", "was: 47 in"), encoding="utf-8")
    changed = run("verify", kept, "--rules", rules)
    assert changed.exit_code == 3
    assert "ibc.sensor-release/manual-release" in changed.output


def test_a_trace_and_what_rests_on_a_layer_in_a_place(rules: Path, door: Path) -> None:
    place = ["--in", "XX-A", "--on", "2024-05-01", "--rules", rules]
    traced = run("trace", door, "d", "ibc.sensor-release/manual-release", *place)
    assert "NBC 10.1" in traced.output
    assert "ibc.sensor-release/manual-release" in run("affects", "north-2021", *place).output
