"""clauseway rules mutate: what is open is named and fails; a changed file stands for the provisions it touches."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from clauseway_cli.app import main
from support.small_code import CODE, HEAD, OPENING, SAYS

PROVISION = (
    HEAD
    + f"""\
parameters: {{least: {{value: 32 in}}}}
conditions:
  one: {{require: opening.clear_width >= least, {SAYS}}}
examples:
  base: door
  conditions:
    one:
      met: [{{}}]
      undetermined: [{{openings.d.clear_width: unknown}}]
"""
)
NOTICED = "      unmet: [{openings.d.clear_width: 31.9 in}]\n"


def folder(tmp_path: Path, provision: str, mutants: str = "") -> Path:
    code = tmp_path / "codes" / "xx"
    code.mkdir(parents=True)
    (code / "code.yaml").write_text(CODE, encoding="utf-8")
    (code / "matter.yaml").write_text(provision, encoding="utf-8")
    (code / "second.yaml").write_text(
        provision.replace("id: matter", "id: second").replace("base: door", "base: door2"), encoding="utf-8"
    )
    if mutants:
        (code / "mutants.yaml").write_text(mutants, encoding="utf-8")
    (tmp_path / "examples").mkdir()
    for name in ("door", "door2"):
        (tmp_path / "examples" / f"{name}.yaml").write_text(OPENING, encoding="utf-8")
    return tmp_path


def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    monkeypatch.setattr("sys.argv", ["clauseway", "rules", "mutate", *arguments])
    with pytest.raises(SystemExit) as left:
        main()
    shown = capsys.readouterr()
    return int(left.value.code or 0), shown.out, shown.err


def test_open_mutants_are_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    rules = str(folder(tmp_path, PROVISION))
    status, out, _ = run(monkeypatch, capsys, "--rules", rules, "--code", "xx", "--only", "xx.matter")
    assert status == 1
    assert "open: xx.matter/parameters/least -- 32 in as 31.9 in\n    in 2021, 2024\n" in out
    assert re.search(r"^8 mutants: 6 killed, 0 equivalent, 2 open \(\d+ s\)$", out, re.MULTILINE)


def test_all_noticed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rules = str(folder(tmp_path, PROVISION + NOTICED))
    status, out, _ = run(monkeypatch, capsys, "--rules", rules, "--code", "xx@2021", "--all")
    assert status == 0
    assert "killed: xx.matter/parameters/least -- 32 in as 32.1 in\n    in 2021; matter/one::met-1\n" in out
    status, out, _ = run(monkeypatch, capsys, "--rules", rules, "--code", "xx@2021", "--format", "json")
    assert status == 0
    assert {entry["status"] for entry in json.loads(out)} == {"killed"}
    assert len(json.loads(out)) == 8


def test_an_explanation_of_nothing_fails(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    listed = "code: xx\nequivalent: [{mutants: [xx.matter/one -- left out], reason: So.}]\n"
    rules = str(folder(tmp_path, PROVISION + NOTICED, listed))
    status, out, _ = run(monkeypatch, capsys, "--rules", rules, "--code", "xx")
    assert status == 1
    assert "codes/xx/mutants.yaml:2:25: there is no such mutant: xx.matter/one -- left out" in out


@pytest.mark.parametrize(
    ("only", "owners"),
    [
        ("matter", {"xx.matter"}),
        ("codes/xx/matter.yaml", {"xx.matter"}),
        ("examples/door2.yaml", {"xx.second"}),
        ("codes/xx/mutants.yaml", {"xx.matter", "xx.second"}),
        ("facts/opening.yaml", {"xx.matter", "xx.second"}),
        ("codes/xx/sources.yaml", set()),
    ],
)
def test_a_changed_file_stands_for_what_it_touches(
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
    only: str,
    owners: set[str],
) -> None:
    rules = str(folder(tmp_path, PROVISION + NOTICED))
    _, out, _ = run(monkeypatch, capsys, "--rules", rules, "--code", "xx@2021", "--format", "json", "--only", only)
    assert {entry["owner"] for entry in json.loads(out)} == owners


@pytest.mark.parametrize("only", ["mater", "codes/xx/mater.yaml"])
def test_a_misspelt_name_is_refused(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path, only: str
) -> None:
    rules = str(folder(tmp_path, PROVISION + NOTICED))
    status, _, err = run(monkeypatch, capsys, "--rules", rules, "--code", "xx", "--only", only)
    assert status == 2
    assert f"--only {only}" in err
