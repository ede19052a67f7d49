"""Most command lines of `check` are read without the command line proper: to the very same, or not at all."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest
import typer
from typer.testing import CliRunner

from clauseway_cli import check, entry, plain, say
from clauseway_cli.checking import Asked
from clauseway_cli.plain import FORMATS, MANY, ONE, SWITCHES

VALUES = ["text", "json", "ibc@2021", "US-CA", "2024-01-01", "d104", "a b", "x=y", "é", "-", "--all", "-x", "", "demo"]
STRANGE = [
    "--help",
    "--nope",
    "--",
    "-",
    "-o",
    "--all=yes",
    "--no-all",
    "--code=",
    "--cod",
    "--opening=d104",
    "--in=a=b",
    "",
]


def proper(words: list[str], monkeypatch: pytest.MonkeyPatch) -> Asked | None:
    """What the command line proper makes of the words; None for help or an error."""
    seen: list[Asked] = []

    def noted(asked: Asked) -> tuple[str, int]:
        seen.append(asked)
        return "", 0

    monkeypatch.setattr(check, "checked", noted)
    CliRunner().invoke(entry.only("check"), ["check", *words])
    return seen[0] if seen else None


def drawn(random: Random) -> list[str]:
    words: list[str] = []
    for _ in range(random.randint(1, 6)):
        what = random.choice(("file", "one", "many", "switch", "equals", "strange"))
        if what == "file":
            words.append(random.choice(("demo", "my doors.yaml", "d.json")))
        elif what in ("one", "many"):
            name = random.choice(sorted(ONE if what == "one" else MANY))
            words += [name, random.choice(VALUES)]
        elif what == "equals":
            words.append(f"{random.choice(sorted(ONE | MANY))}={random.choice(VALUES)}")
        elif what == "switch":
            words.append(random.choice(sorted(SWITCHES)))
        elif random.random() < 0.2:
            words.append(random.choice(STRANGE))
    return words


def test_the_plain_reader_knows_the_options_of_the_command() -> None:
    app = entry.group()
    check.register(app)
    options = [each for each in typer.main.get_command(app).params if each.param_type_name == "option"]
    assert all(len(each.opts) == 1 and not each.secondary_opts for each in options)
    known = {each.opts[0]: each for each in options if each.name != "help"}
    switches = {name for name, each in known.items() if getattr(each, "is_flag", False)}
    assert switches == SWITCHES
    assert {name for name, each in known.items() if each.multiple} == MANY
    assert known.keys() - switches - MANY == ONE
    assert {each.nargs for each in known.values()} == {1}
    assert tuple(check.Format) == FORMATS


def test_a_plain_line_asks_for_what_the_command_line_proper_would_ask(monkeypatch: pytest.MonkeyPatch) -> None:
    random = Random(7)
    read = 0
    for _ in range(1500):
        words = drawn(random)
        found = plain.plain(words)
        if found is not None:
            read += 1
            assert found == proper(words, monkeypatch), words
    assert read > 300


@pytest.mark.parametrize(
    "words",
    [
        ["demo", "--opening", "d104", "--code", "ibc@2021"],
        ["--strict", "a.yaml", "b.json", "--code=ibc@2021", "--code", "ada@2010", "--format", "json"],
        ["demo", "--in", "US-CA", "--on", "2024-01-01", "--rules", "mine", "--waivers", "w.yaml", "--all"],
    ],
)
def test_usual_lines_are_plain(words: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    found = plain.plain(words)
    assert found is not None
    assert found == proper(words, monkeypatch)


@pytest.mark.parametrize(
    "line",
    [
        "", "--all", "demo --help", "demo --nope", "demo --code", "demo --code --all", "demo --in= ", "demo -",
        "demo --", "demo --format xml", "demo --format JSON", "demo --in A --in B", "demo --all=1",
        "demo --cod ibc@2021", "-- demo",
    ],
)  # fmt: skip
def test_what_is_not_plainly_right_is_left_to_the_command_line_proper(line: str) -> None:
    assert plain.plain(line.split(" ") if line else []) is None


def ran(*words: str, code: str = "from clauseway_cli.entry import main; main()") -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    return subprocess.run(
        [sys.executable, "-c", code, *words], env=environment, capture_output=True, text=True, check=False
    )


def test_errors_are_told_as_ever(tmp_path: Path) -> None:
    found = ran("check", str(tmp_path / "none.yaml"), "--code", "ibc@2021")
    assert (found.returncode, found.stdout) == (2, "")
    assert found.stderr.endswith("none.yaml: there is no such file\n    expected: a file that exists\n")
    found = ran("check", "demo", "--cod", "ibc@2021")
    assert found.returncode == 2
    assert "No such option: --cod" in found.stderr


def test_an_answer_that_nobody_reads_ends_quietly() -> None:
    code = "import os, sys; os.close(0); r, w = os.pipe(); os.close(r); os.dup2(w, 1)\n"
    found = ran("check", "demo", "--code", "ibc@2021", code=f"{code}from clauseway_cli.entry import main; main()")
    assert (found.returncode, found.stderr) == (1, "")


def test_a_check_that_is_stopped_ends_quietly(monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(asked: Asked) -> tuple[str, int]:
        raise KeyboardInterrupt

    monkeypatch.setattr("clauseway_cli.checking.checked", stop)
    monkeypatch.setattr(sys, "argv", ["clauseway", "check", "demo"])
    with pytest.raises(SystemExit) as ended:
        entry.main()
    assert ended.value.code == 130


def test_codes_that_move_the_cursor_do_not_reach_a_file(capsys: pytest.CaptureFixture[str]) -> None:
    say.say("a\x1b[2Jb\n")
    say.say("plain é\n", err=True)
    assert capsys.readouterr() == ("ab\n", "plain é\n")


NOT_FOR_A_CHECK = """
    typer pydantic rich click jsonschema networkx numpy tempfile difflib subprocess socket
    clauseway_cli.app clauseway_cli.check clauseway_cli.options clauseway.law.library clauseway.law.resolve
    clauseway.law.elaborate clauseway.law.lower clauseway.law.shape clauseway.answers.many clauseway.design.needs
"""


@pytest.mark.parametrize("law", [("--code", "ibc@2021"), ("--in", "US-CA", "--on", "2026-05-01")], ids=" ".join)
def test_a_check_by_a_kept_rulebook_loads_what_it_needs_only(law: tuple[str, ...]) -> None:
    code = (
        "import sys\nfrom clauseway_cli.entry import main\n"
        "try:\n    main()\nexcept SystemExit as ended:\n    status = ended.code\n"
        f"print(status, sorted(set({NOT_FOR_A_CHECK.split()!r}) & set(sys.modules)))"
    )
    for _ in range(2):
        found = ran("check", "demo", "--opening", "d104", *law, code=code)
    assert found.stdout.splitlines()[-1] == "1 []", found.stderr
