"""A renamed provision still answers to its former id: in layers, excuses, explanations, traces and waivers."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from clauseway.answers.affects import affected
from clauseway.answers.explain import explain
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.clause_code import PROVISIONS, clause_rules
from support.rulebooks import copy_rules

LAYER = """\
layer: XX-A
title: An invented city
code: ibc
changes:
  - {at: old-free/parameters/most, set: 2 motions, was: 1 motion, cite: XX 1, direction: looser}
"""


def renamed(folder: Path) -> Path:
    """A few shipped provisions, `free-egress` and `sensor-release` having got new ids without a change elsewhere."""
    copy_rules(folder)
    code = folder / "codes" / "ibc"
    for old, new in (("free-egress", "leaving-freely"), ("sensor-release", "freed-by-sensor")):
        text = (code / f"{old}.yaml").read_text(encoding="utf-8")
        (code / f"{old}.yaml").unlink()
        assert f"id: {old}\n" in text
        text = text.replace(f"id: {old}\n", f"id: {new}\naliases: [{old}]\n")
        (code / f"{new}.yaml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def rulebook(tmp_path: Path) -> Rulebook:
    return from_json(resolve(load(shipped=renamed(tmp_path)), ["ibc@2021"]).json)


def test_an_excuse_finds_the_condition(rulebook: Rulebook) -> None:
    always_free = next(c for c in rulebook.provisions["ibc.leaving-freely"].conditions if c.label == "always-free")
    assert "ibc.freed-by-sensor" in always_free.excused_by


def test_an_explanation_finds_it(rulebook: Rulebook) -> None:
    for name in ("sensor-release", "ibc.sensor-release"):
        assert explain(rulebook, name).id == "ibc.freed-by-sensor"
        assert explain(rulebook, f"{name}/listing").id == "ibc.freed-by-sensor/listing"
        assert explain(rulebook, f"{name}/hold_min").id == "ibc.freed-by-sensor/hold_min"
    assert "ibc.leaving-freely" in affected(rulebook, "free-egress", None).provisions
    with pytest.raises(ClausewayError, match="nothing is called sensor-releas"):
        explain(rulebook, "sensor-releas")


def test_a_layer_finds_its_target(tmp_path: Path) -> None:
    rules = clause_rules(tmp_path / "rules")
    wide = PROVISIONS["wide"].replace("id: wide\n", "id: broad\naliases: [wide]\n")
    (rules / "codes" / "xx" / "wide.yaml").unlink()
    (rules / "codes" / "xx" / "broad.yaml").write_text(wide, encoding="utf-8")
    place = rules / "jurisdictions" / "XX"
    place.mkdir(parents=True)
    layer = LAYER.replace("ibc", "xx").replace("old-free/parameters/most", "wide/parameters/least")
    layer = layer.replace("2 motions", "36 in").replace("1 motion", "32 in")
    (place / "city.yaml").write_text(layer, encoding="utf-8")
    found = resolve(load(shipped=rules), ["xx@2021"], ["XX-A"])
    assert found.parameters["xx.broad/least"].printed == ("36 in",)
    twice = layer + "  - {at: broad/parameters/least, set: 38 in, was: 36 in, cite: XX 2, direction: stricter}\n"
    (place / "city.yaml").write_text(twice, encoding="utf-8")
    with pytest.raises(ClausewayError, match="is changed twice in XX-A"):
        resolve(load(shipped=rules), ["xx@2021"], ["XX-A"])


@pytest.mark.parametrize(
    ("aliases", "message"),
    [
        ("[tall]", "tall is a provision"),
        ("[former, Former Name]", "alias Former Name"),
        ("[gone]", "the alias gone is there already"),
    ],
)
def test_an_alias_belongs_to_one_provision(tmp_path: Path, aliases: str, message: str) -> None:
    rules = clause_rules(tmp_path)
    (rules / "codes" / "xx" / "wide.yaml").write_text(PROVISIONS["wide"] + f"aliases: {aliases}\n", encoding="utf-8")
    (rules / "codes" / "xx" / "tall.yaml").write_text(PROVISIONS["tall"] + "aliases: [gone]\n", encoding="utf-8")
    with pytest.raises(ClausewayError, match=message) as raised:
        load(shipped=rules)
    assert raised.value.problems[0].place.line > 1


def test_what_is_known_is_not_taken_for_a_former_id(tmp_path: Path) -> None:
    rulebook = resolve(load(shipped=renamed(tmp_path)), ["ibc@2021"])
    assert rulebook.current("lock.kind") == "lock.kind"
    assert rulebook.current("hardware-height/height_max") == "hardware-height/height_max"
    assert rulebook.current("free-egress/no-key") == "ibc.leaving-freely/no-key"


def invoke(*arguments: str) -> Any:
    return CliRunner().invoke(app, list(arguments))


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder of one's own rules in which a provision has a former id, and a door that fails it."""
    rules = clause_rules(tmp_path / "rules")
    for name in ("facts", "schemas"):
        shutil.rmtree(rules / name)
    wide = PROVISIONS["wide"].replace("id: wide\n", "id: broad\naliases: [wide]\n")
    (rules / "codes" / "xx" / "wide.yaml").unlink()
    (rules / "codes" / "xx" / "broad.yaml").write_text(wide, encoding="utf-8")
    (tmp_path / "door.yaml").write_text(
        "project: A door\ncodes: [xx@2021]\nopenings: {d: {clear_width: 30 in, clear_height: 84 in}}\n",
        encoding="utf-8",
    )
    (tmp_path / "waivers.yaml").write_text(
        "waivers:\n  - {finding: xx.wide/width, opening: d, granted_by: Somebody, "
        "evidence: A letter, until: 2027-06-30}\n",
        encoding="utf-8",
    )
    return tmp_path


def test_a_trace_finds_it(own: Path) -> None:
    done = invoke("trace", str(own / "door.yaml"), "d", "xx.wide/width", "--rules", str(own / "rules"))
    assert done.exit_code == 0, done.output
    assert "xx.broad/width" in done.output


def test_a_waiver_still_stands(own: Path) -> None:
    files = [str(own / "door.yaml"), str(own / "waivers.yaml"), "--on", "2026-05-01", "--rules", str(own / "rules")]
    done = invoke("waivers", *files)
    assert done.exit_code == 0, done.output
    assert "xx.broad/width: unmet" in done.output
    done = invoke(
        "check", files[0], "--waivers", files[1], "--on", "2026-05-01", "--rules", files[-1], "--format", "json"
    )
    assert [each["state"] for each in json.loads(done.output)["waivers"]] == ["stands"]
