"""Examples of amendments run where the amendment stands: over its own state, on its own day, before and after."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from clauseway.answers.local_examples import Trials, Tried
from clauseway.law.library import load
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import app
from support.places import CITY, CITY_LAYER, utopia, write

EXAMPLE = """\
examples:
  - says: A button at 45 1/2 inches is too high in the city, and was not in the state.
    base: sensor-magnet
    editions: [2021]
    change: {openings.d.devices.button.height: 45 1/2 in}
    before: {sensor-release/manual-release: met}
    expect: {sensor-release/manual-release: unmet}
"""


def tried(root: Path, name: str = "harbour", **where: str) -> list[Tried]:
    return list(Trials(load([root])).of_layer(name, **where))


def test_an_example_of_a_city_runs_over_the_law_of_its_state(tmp_path: Path) -> None:
    before, after = tried(utopia(tmp_path, harbour=CITY_LAYER + EXAMPLE))
    assert (before.footing, before.when, before.found) == ("XXABC/city", "before", "met")
    assert (after.condition, after.found, after.passed) == ("ibc.sensor-release/manual-release", "unmet", True)


def test_an_example_that_comes_to_something_else_fails(tmp_path: Path) -> None:
    wrong = EXAMPLE.replace("45 1/2 in}", "45 in}")
    before, after = tried(utopia(tmp_path, harbour=CITY_LAYER + wrong))
    assert before.passed
    assert not after.passed
    assert after.found == "met"


def test_a_missing_fact_leaves_it_undecided(tmp_path: Path) -> None:
    unknown = EXAMPLE.replace("45 1/2 in}", "unknown}")
    assert [each.found for each in tried(utopia(tmp_path, harbour=CITY_LAYER + unknown))] == ["undetermined"] * 2


def test_an_example_runs_on_its_own_day(tmp_path: Path) -> None:
    example = EXAMPLE.replace("45 1/2 in}", "40 1/2 in}").replace("editions", "on: DAY\n    editions")
    root = utopia(tmp_path / "a", harbour=CITY_LAYER + example.replace("DAY", "2024-12-31"))
    assert tried(root)[1].found == "met"
    root = utopia(tmp_path / "b", harbour=CITY_LAYER + example.replace("DAY", "2025-01-01"))
    assert tried(root)[1].found == "unmet"
    root = utopia(tmp_path / "c", harbour=CITY_LAYER + EXAMPLE.replace("45 1/2 in}", "40 1/2 in}"))
    assert tried(root)[1].found == "unmet", "without a day: once all of it has begun"


def test_a_draft_is_tried_in_its_place_or_where_one_says(tmp_path: Path) -> None:
    city = CITY.replace("layers: [harbour]", "layers: []")
    draft = CITY_LAYER.replace("layer: harbour", "layer: harbour\nstatus: draft")
    root = utopia(tmp_path, city=city, harbour=draft + EXAMPLE)
    assert {each.footing for each in tried(root)} == {"XXABC"}
    with pytest.raises(ClausewayError, match="harbour is not laid over 2021"):
        tried(root, place="XX-A", on="2023-01-01")
    with pytest.raises(ClausewayError, match="did you mean: XXABC"):
        tried(root, place="XXABD")


def test_a_layer_without_a_jurisdiction_is_tried_over_bare_editions(tmp_path: Path) -> None:
    layer = CITY_LAYER.replace("code: ibc", "code: ibc\neditions: [2021]").replace("was: 46 in", "was: 48 in")
    root = write(tmp_path, {"XXQ/harbour.yaml": layer + EXAMPLE})
    assert [(each.footing, each.passed) for each in tried(root)] == [("ibc@2021", True)] * 2


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("editions: [2021]", "editions: [2018]", "harbour is not laid over 2018"),
        ("expect: {sensor-release/manual-release", "expect: {sensor-release/manual-relese", "did you mean: sensor-rel"),
        ("base: sensor-magnet", "base: sensor-magnets", "no example base sensor-magnets"),
        ("devices.button.height", "devices.button.hieght", "hieght"),
        ("editions: [2021]", "on: 2024-02-30", "on 2024-02-30"),
        ("editions: [2021]", "on: 2015-01-01", "no edition of ibc that is encoded in force on 2015-01-01"),
    ],
)
def test_an_example_that_speaks_of_nothing_is_refused(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in EXAMPLE
    with pytest.raises(ClausewayError, match=message):
        tried(utopia(tmp_path, harbour=CITY_LAYER + EXAMPLE.replace(old, new)))


PROVISION = """\
id: quiet-hours
code: ibc
layer: harbour
cite: Ord. 8
kind: requirement
title: Doors in quiet hours
about: An invented rule of one city.
subject: opening
sections: {2021: "9.9"}
section_basis: {2021: published}
basis: {2021: published}
parameters:
  width_min: {value: 30 in, item: "1"}
conditions:
  width:
    item: "1"
    require: all(leaf.width >= width_min for leaf in opening.leaves)
    says: {asks: "every leaf is at least {width_min} wide", met: It is., unmet: "It is less than {width_min}."}
    remedy: Make it wider.
examples:
  base: lever-latch
  conditions:
    width:
      met: [{openings.d.leaves.leaf.width: 30 in}]
      unmet: [{openings.d.leaves.leaf.width: 29 in}]
      undetermined: [{openings.d.leaves.leaf.width: unknown}]
"""


def test_a_provision_that_a_layer_brings_passes_its_examples(tmp_path: Path) -> None:
    root = write(utopia(tmp_path), {"XXABC/provisions/quiet-hours.yaml": PROVISION})
    found = [each for each in tried(root) if "quiet-hours" in each.condition]
    assert [(each.found, each.passed) for each in found] == [("met", True), ("unmet", True), ("undetermined", True)]


def test_the_examples_of_layers_run_with_those_of_the_rules(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from clauseway.answers import examples

    monkeypatch.setattr(examples, "examples_of", lambda *_: [])
    every = Trials.of_layer
    only = "harbour"
    monkeypatch.setattr(Trials, "of_layer", lambda self, name: every(self, name) if name == only else iter(()))
    root = utopia(tmp_path, harbour=CITY_LAYER + EXAMPLE.replace("45 1/2 in}", "45 in}"))
    done = CliRunner().invoke(app, ["rules", "test", "--rules", str(root)])
    assert done.exit_code == 1
    assert done.output.endswith("\n2 examples, 1 failed\n")
    assert "met, expected unmet with harbour" in done.output
    assert "harbour.yaml:" in done.output
