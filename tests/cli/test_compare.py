"""`clauseway compare` on the command line: editions, places, dates, drafts, and the doors that change."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from clauseway.law.folders import shipped_rules
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from clauseway_cli.compare_text import shortened
from support.places import CITY, CITY_LAYER, STATE, utopia


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    draft = CITY_LAYER.replace("layer: harbour", "layer: harbour\nstatus: draft")
    return utopia(tmp_path / "mine", city=CITY.replace("layers: [harbour]", "layers: []"), harbour=draft)


@pytest.fixture
def door(tmp_path: Path) -> Path:
    """A magnet whose button is 45 1/2 in high."""
    base = (shipped_rules() / "examples" / "sensor-magnet.yaml").read_text(encoding="utf-8")
    path = tmp_path / "door.yaml"
    path.write_text(base.replace("height: 42 in", "height: 45 1/2 in"), encoding="utf-8")
    return path


def compare(*arguments: object) -> Result:
    found = CliRunner().invoke(app, ["compare", *(str(each) for each in arguments)])
    if isinstance(found.exception, ClausewayError):
        raise found.exception
    return found


def test_two_editions() -> None:
    done = compare("ibc@2018", "ibc@2021")
    assert done.exit_code == 1
    assert "provisions differ, " in done.output
    assert "\nRenumbered only\n" in done.output
    assert "ibc.clinical-containment  Locks" in done.output
    same = compare("ibc@2021", "ibc@2021")
    assert same.exit_code == 0
    assert "Nothing differs in" in same.output


def test_two_dates_of_one_place(rules: Path) -> None:
    done = compare("XX-A@2024-03-14", "XX-A@2024-03-15", "--only", "sensor-release", "--rules", rules)
    assert "tightened: value height_max\n      47 in -> 46 in\n      by north-2021, NBC 10.1" in done.output
    assert "ibc.delayed-egress" not in done.output


def test_before_and_after_a_draft_with_the_doors_that_change(rules: Path, door: Path) -> None:
    done = compare("XXABC@2024-05-01", "XXABC@2024-05-01+harbour", door, "demo", "--rules", rules)
    assert done.exit_code == 1
    assert "1 provision differs, 0 renumbered only" in done.output
    assert f"{door}: 1 verdict changes in 1 opening" in done.output
    assert "  not decided -> does not comply" in done.output
    assert "because ibc.sensor-release/height_max is tightened: 46 in -> 45 in" in done.output
    assert "demo: 0 verdicts change in 16 openings" in done.output
    data = json.loads(
        compare("XXABC@2024-05-01", "XXABC@2024-05-01+harbour", door, "--rules", rules, "--format", "json").output
    )
    assert [step["id"] for part in data["differs"] for step in part["steps"]] == ["ibc.sensor-release/height_max"]
    (changed,) = data["files"][0]["changed"]
    assert (changed["id"], changed["was"], changed["now"]) == ("d", "undetermined", "does-not-comply")
    assert changed["findings"][0]["because"] == ["ibc.sensor-release/height_max"]


def test_two_jurisdictions(rules: Path) -> None:
    assert "Nothing differs" in compare("XX-A@2024-05-01", "XXABC@2024-05-01", "--rules", rules).output


def test_a_choice_picks_a_reading(tmp_path: Path) -> None:
    state = STATE.replace("until: nbc-2021", "until: 2024-09-01").replace(
        "    layers: [north-2021]", "    layers: [north-2021]\n    choice: [nbc-2018]"
    )
    rules = utopia(tmp_path, state=state)
    with pytest.raises(ClausewayError, match="2 readings of the law"):
        compare("XX-A@2024-05-01", "XX-A@2024-10-01", "--rules", rules)
    done = compare("XX-A/nbc-2021@2024-05-01", "XX-A@2024-10-01", "--rules", rules)
    assert "Nothing differs" in done.output


@pytest.mark.parametrize(
    ("a", "more", "message"),
    [
        ("ibc", [], "ibc names no law"),
        ("ibc@2021+", [], "names no law"),
        ("", [], "nothing names no law"),
        ("ibc@2020", [], "no edition 2020"),
        ("icb@2021", [], "no code icb"),
        ("XXABD@2024-05-01", ["RULES"], "did you mean: XXABC"),
        ("XXABC@2024-13-01", [], "no code XXABC"),
        ("XXABC@2014-01-01", ["RULES"], "no edition of ibc that is encoded in force on 2014-01-01"),
        ("XXABC@2024-05-01+harbor", ["RULES"], "did you mean: harbour"),
        ("ibc@2021", ["--only", "sensor-relase"], "did you mean: sensor-release"),
    ],
)
def test_a_side_that_names_nothing_is_refused(rules: Path, a: str, more: list[str], message: str) -> None:
    with pytest.raises(ClausewayError, match=message):
        compare(a, "ibc@2021", *(["--rules", str(rules)] if more == ["RULES"] else more))


def test_long_texts_are_shown_where_they_differ() -> None:
    words = [f"w{number}" for number in range(60)]
    was, now = shortened(" ".join(words), " ".join([*words[:30], "new", *words[30:]]))
    assert was == "... w24 w25 w26 w27 w28 w29 w30 w31 w32 w33 w34 w35 ..."
    assert now == "... w24 w25 w26 w27 w28 w29 new w30 w31 w32 w33 w34 w35 ..."
    assert shortened("a b", "a c") == ("a b", "a c")
