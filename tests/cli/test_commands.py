"""A command loads its own part of the command line alone, and is there as it is in the whole."""

from __future__ import annotations

import sys

import pytest
import typer
from typer.testing import CliRunner

from clauseway_cli import commands, entry
from clauseway_cli.app import app
from clauseway_cli.commands import MODULES


def names(made: typer.Typer) -> set[str]:
    """The commands of a command line, and the groups of commands."""
    alone = {each.name or str(each.callback.__name__) for each in made.registered_commands if each.callback}
    return alone | {str(each.name) for each in made.registered_groups}


@pytest.mark.parametrize("module", MODULES)
def test_each_module_has_the_commands_that_it_is_said_to_have(module: str) -> None:
    only = entry.group()
    commands.register(only, module)
    assert names(only) == set(MODULES[module])
    assert {commands.module_of(name) for name in MODULES[module]} == {module}


def test_the_whole_command_line_has_them_all() -> None:
    every = [name for each in MODULES.values() for name in each]
    assert len(every) == len(set(every))
    assert names(app) == set(every)
    assert commands.module_of("needz") is None


@pytest.mark.parametrize("words", [["needs", "--help"], ["rules", "--help"], ["rules", "lint", "--nope"], ["explain"]])
def test_a_command_by_itself_says_what_it_says_in_the_whole(words: list[str]) -> None:
    module = commands.module_of(words[0])
    assert module is not None
    whole, alone = (CliRunner().invoke(each, words, prog_name="clauseway") for each in (app, entry.only(module)))
    assert (alone.exit_code, alone.output) == (whole.exit_code, whole.output)
    assert whole.output


def test_what_is_no_command_is_told_by_the_whole(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["clauseway", "explian", "x"])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    assert ended.value.code == 2
    assert "explain" in capsys.readouterr().err
