"""explain, facts, rules list, graph: every id works, an unknown one offers the nearest."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest

from clauseway.answers.explain import every_id, explain
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError
from clauseway_cli.app import main
from clauseway_cli.text import explanation_text


@cache
def rulebook(edition: str) -> Rulebook:
    return resolve(load(), [f"ibc@{edition}"])


def run(monkeypatch: pytest.MonkeyPatch, *arguments: str) -> int:
    monkeypatch.setattr("sys.argv", ["clauseway", *arguments])
    with pytest.raises(SystemExit) as left:
        main()
    return int(left.value.code or 0)


@pytest.mark.parametrize("edition", ["2015", "2018", "2021", "2024"])
def test_every_id_is_explained_within_80_columns(edition: str) -> None:
    names = list(every_id(rulebook(edition)))
    assert len(names) > 300
    for name in names:
        explanation = explain(rulebook(edition), name)
        assert explanation.id == name
        text = explanation_text(explanation)
        assert "What it" in text or "Value" in text
        for line in text.splitlines():
            assert len(line) <= 80 or " " not in line.strip().removeprefix("- ")


def test_an_id_may_leave_out_its_code() -> None:
    assert explain(rulebook("2021"), "sensor-release/listing").id == "ibc.sensor-release/listing"


def test_a_section_names_what_is_encoded_of_it() -> None:
    text = explanation_text(explain(rulebook("2021"), "IBC 2021 1010.2.12"))
    assert "ibc.sensor-release/manual-release" in text


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("sensor-relase", "sensor-release"),
        ("lock.knd", "lock.kind"),
        ("ibc.sensor-release/lstng", "ibc.sensor-release/listing"),
    ],
)
def test_an_unknown_id_offers_the_nearest(wrong: str, right: str) -> None:
    with pytest.raises(ClausewayError, match=f"did you mean: {right}"):
        explain(rulebook("2021"), wrong)


def test_an_unknown_id_on_the_command_line(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(monkeypatch, "explain", "sensor-relase") == 2
    said = capsys.readouterr()
    assert "did you mean" in said.err
    assert not said.out


def test_one_sentence_serves_check_and_explain() -> None:
    condition = next(
        c for c in rulebook("2021").provisions["ibc.sensor-release"].conditions if c.label == "lock-power-loss"
    )
    sentence = "".join(part for part in condition.line.unmet if isinstance(part, str))
    text = explanation_text(explain(rulebook("2021"), "ibc.sensor-release/lock-power-loss"))
    assert sentence in text


def test_facts_are_listed_and_filtered(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(monkeypatch, "facts", "sprinkler") == 0
    out = capsys.readouterr().out
    assert "building.sprinklers" in out
    assert "lock.kind" not in out


def test_what_rests_on_memory_is_listed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(monkeypatch, "rules", "list", "--basis", "memory", "--code", "ibc@2024") == 0
    assert "ibc.sensor-release/" in capsys.readouterr().out


def test_a_graph_picture_is_well_formed_and_the_same_each_time(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    for name in ("a.svg", "b.svg", "a.dot"):
        assert run(monkeypatch, "graph", "sensor-release", "-o", str(tmp_path / name)) == 0
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    root = ElementTree.fromstring((tmp_path / "a.svg").read_text())
    texts = {node.text for node in root.iter("{http://www.w3.org/2000/svg}text")}
    assert "ibc.free-egress/always-free" in texts
    assert "lock.arrangement" in texts
    assert '"lock.arrangement" -> "ibc.sensor-release"' in (tmp_path / "a.dot").read_text()
    assert run(monkeypatch, "graph", "sensor-release", "-o", str(tmp_path / "a.svg")) == 2
    assert "exists already" in capsys.readouterr().err


def test_the_shipped_rules_have_nothing_to_look_at(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(monkeypatch, "rules", "lint") == 0, capsys.readouterr().out
