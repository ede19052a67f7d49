"""Bad input: one clear message on one screen, status 2, no traceback, nothing written; and the other statuses."""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from clauseway_cli.app import main

RULES = Path(__file__).parents[2] / "rules"
GOOD = (RULES / "examples" / "sensor-magnet.yaml").read_text(encoding="utf-8")
SCREEN = 40
"""Lines of a message that still fit on a screen."""


class Answer(NamedTuple):
    status: int
    out: str
    err: str


Run = Callable[..., Answer]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command line in an empty folder that holds one good file, good.yaml."""
    monkeypatch.chdir(tmp_path)
    Path("good.yaml").write_text(GOOD, encoding="utf-8")

    def running(*arguments: str) -> Answer:
        monkeypatch.setattr("sys.argv", ["clauseway", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        printed = capsys.readouterr()
        assert isinstance(stopped.value.code, int)
        return Answer(stopped.value.code, printed.out, printed.err)

    return running


def refused(run: Run, *arguments: str) -> str:
    """The message of a refusal; whatever is refused leaves the folder as it was."""
    before = sorted(Path.cwd().rglob("*"))
    answer = run(*arguments)
    assert answer.status == 2, answer
    assert answer.out == ""
    assert answer.err.strip()
    assert "Traceback" not in answer.err
    assert "Error(" not in answer.err
    assert len(answer.err.splitlines()) <= SCREEN
    assert sorted(Path.cwd().rglob("*")) == before
    return answer.err


# --- openings: what stands in the file ------------------------------------------------------------------


def changed(old: str, new: str) -> str:
    assert old in GOOD, old
    return GOOD.replace(old, new, 1)


def place(text: str, word: str) -> str:
    """Line and column of a word in a text."""
    before, _, _ = text.partition(word)
    return f"{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


BUTTON = "ready_access: true\n        sign_text"

# Each: what in the good file gives way to what, and what the message says.
WRONG = {
    "misspelt fact": (BUTTON, BUTTON.replace("ready", "redy"), ["redy_access", "did you mean: ready_access?"]),
    "misspelt collection": ("openings:", "opennings:", ["opennings", "did you mean: openings?"]),
    "misspelt value": ("kind: push-button", "kind: push-buton", ["push-buton", "did you mean: push-button?"]),
    "misspelt event": ("loss-of-lock-power:", "los-of-lock-power:", ["did you mean: loss-of-lock-power?"]),
    "misspelt reference": ("space: hall,", "space: hal,", ["no room called hal", "did you mean: hall?"]),
    "no unit": ("height: 42 in", "height: 42", ["device.height", "such as 42 in or 1067 mm"]),
    "wrong unit": ("height: 42 in", "height: 42 lbf", ["`42 lbf` is a force", "a length"]),
    "unknown unit": ("height: 42 in", "height: 42 inchs", ["`inchs` is not a unit", "did you mean: 42 inches?"]),
    "wrong type": ("occupant_load: 40", "occupant_load: many", ["room.occupant_load", "a count"]),
    "half a person": ("occupant_load: 40", "occupant_load: 40.5", ["room.occupant_load: `40.5`", "a count"]),
    "out of range": ("height: 42 in", "height: -42 in", ["device.height"]),
    "list for a thing": ("leaf: {width", "leaf: [a]\n      b: {width", ["a list where a leaf is described"]),
    "unknown group": ("group: B, use: office", "group: Q, use: office", ["Q is not a value of room.group", "A-1"]),
    "duplicate key": ("kind: swinging", "kind: swinging\n    kind: sliding", ["`kind` is given twice"]),
    "duplicate opening": ("openings:\n", "openings:\n  d: {location: again}\n", ["`d` is given twice"]),
    "no for false": ("fire_alarm: true", "fire_alarm: no", ["no for building.fire_alarm", "did you mean: false?"]),
    "a clock": ("hold_time: 30 s", "hold_time: 12:30", ["`12:30`", "a time, such as 15 s"]),
    "twice in a list": ("secures: [out, in]", "secures: [out, out]", ["out is named twice"]),
    "unknown set": ("leaf: leaf\n", "leaf: leaf\n        like: magnet-600\n", ["no set magnet-600"]),
    "more than claimed": ("    locks:\n", "    count: {locks: 0}\n    locks:\n", ["1 locks where 0 are claimed"]),
    "no openings": (GOOD[GOOD.index("openings:") :], "openings: none\n", ["no openings are described"]),
}


@pytest.mark.parametrize(("old", "new", "says"), WRONG.values(), ids=WRONG)
def test_a_wrong_word_is_told_with_its_place(run: Run, old: str, new: str, says: list[str]) -> None:
    Path("bad.yaml").write_text(changed(old, new), encoding="utf-8")
    message = refused(run, "check", "bad.yaml")
    assert re.match(r"bad\.yaml:\d+:\d+: ", message)
    for part in says:
        assert part in message


def test_the_place_is_exact(run: Run) -> None:
    text = changed(BUTTON, BUTTON.replace("ready", "redy"))
    Path("bad.yaml").write_text(text, encoding="utf-8")
    assert refused(run, "check", "bad.yaml").startswith(f"bad.yaml:{place(text, 'redy_access')}: ")


def test_all_that_is_wrong_comes_together_and_fits_a_screen(run: Run) -> None:
    facts = "".join(f"    fact_{number}: 1\n" for number in range(50))
    Path("bad.yaml").write_text(changed("    kind: swinging\n", facts), encoding="utf-8")
    message = refused(run, "check", "bad.yaml")
    assert "fact_0" in message
    assert "and 38 more" in message


# --- files that are no description ------------------------------------------------------------------------

BOMB = "a: &a [x, x]\n" + "".join(f"{chr(98 + n)}: &{chr(98 + n)} [{f'*{chr(97 + n)}, ' * 9}]\n" for n in range(20))
BROKEN: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "this is empty"),
    "only a comment": (b"# nothing yet\n", "this is empty"),
    "not UTF-8": ("project: caf\u00e9\n".encode("latin-1"), "is not UTF-8"),
    "a bomb of aliases": (BOMB.encode(), "anchor"),
    "a Python tag": (b'project: !!python/object/apply:os.system ["touch written"]\n', "tag"),
    "a merge key": (b"project: x\nbuilding: {<<: {stories: 1}}\n", "<<"),
    "deep nesting": (b"project: " + b"[" * 50_000 + b"]" * 50_000, "nested deeper"),
    "deep maps": (b"project: " + b"{a: " * 50_000, "nested deeper"),
    "not closed": (b"project: [x\n", "bad.yaml:"),
    "a list": (b"- project: x\n", "a list"),
    "a word": (b"project\n", "text"),
    "two documents": (b"project: x\n---\nproject: y\n", "bad.yaml:2"),
    "binary": (bytes(range(256)), "bad.yaml"),
}


@pytest.mark.parametrize(("content", "says"), BROKEN.values(), ids=BROKEN)
def test_what_is_no_description_is_refused_at_once(run: Run, content: bytes, says: str) -> None:
    Path("bad.yaml").write_bytes(content)
    started = time.monotonic()
    message = refused(run, "check", "bad.yaml", "--code", "ibc@2021")
    assert time.monotonic() - started < 20
    assert "bad.yaml" in message
    assert says in message


def test_a_huge_file_is_refused_unread(run: Run) -> None:
    with Path("huge.yaml").open("wb") as stream:
        stream.truncate(100 * 1024 * 1024)
    assert "too large" in refused(run, "check", "huge.yaml")


def test_a_folder_is_refused(run: Run) -> None:
    Path("doors.yaml").mkdir()
    assert "this is a folder" in refused(run, "check", "doors.yaml")


def test_a_missing_file_offers_the_nearest(run: Run) -> None:
    message = refused(run, "check", "god.yaml")
    assert "there is no such file" in message
    assert "did you mean: good.yaml?" in message


def test_one_bad_file_among_good_ones_stops_all(run: Run) -> None:
    assert "missing.yaml" in refused(run, "check", "good.yaml", "missing.yaml", "--format", "json")


# --- the command itself -----------------------------------------------------------------------------------

COMMANDS = {
    "unknown code": (["--code", "ibx@2021"], ["no code ibx", "did you mean: ibc?"]),
    "edition it lacks": (["--code", "ibc@1999"], ["has no edition 1999", "2015, 2018, 2021 or 2024"]),
    "no edition": (["--code", "ibc"], ["ibc names no edition", "ibc@2021"]),
    "two editions": (["--code", "ibc@2018", "--code", "ibc@2021"], ["two editions of ibc"]),
    "no date": (["--on", "nonsense"], ["--on nonsense", "2026-05-01"]),
    "no such day": (["--on", "2026-02-30"], ["--on 2026-02-30"]),
    "unknown opening": (["--opening", "e"], ["no opening e", "expected: d"]),
    "unknown layer": (["--layer", "XX-A"], ["no layer XX-A"]),
    "unknown format": (["--format", "xml"], ["xml"]),
    "unknown option": (["--cod", "ibc@2021"], ["--cod"]),
    "no rules there": (["--rules", "nowhere"], ["nowhere"]),
    "a file for rules": (["--rules", "good.yaml"], ["good.yaml"]),
}


@pytest.mark.parametrize(("arguments", "says"), COMMANDS.values(), ids=COMMANDS)
def test_a_wrong_option_is_told(run: Run, arguments: list[str], says: list[str]) -> None:
    message = refused(run, "check", "good.yaml", *arguments)
    for part in says:
        assert part in message


def test_no_code_named(run: Run) -> None:
    Path("bad.yaml").write_text(changed("codes: [ibc@2021]\n", ""), encoding="utf-8")
    message = refused(run, "check", "bad.yaml")
    assert "which code governs" in message
    assert "--code" in message


def test_no_file_named(run: Run) -> None:
    refused(run, "check")


def test_an_unknown_command(run: Run) -> None:
    assert "chek" in refused(run, "chek", "good.yaml")


# --- a folder of one's own rules --------------------------------------------------------------------------

PROVISION = """\
id: own-rule
code: ibc
kind: requirement
title: A rule of our own
about: A rule that a test writes.
subject: lock
sections: {2021: "1"}
basis: {2021: practice}
parameters:
  height_max: {value: 44 in}
conditions:
  low:
    require: lock.by_hand[egress].height <= height_max
    says: {asks: it is low, met: It is low., unmet: It is high.}
    remedy: Move it.
"""
REQUIRE = "lock.by_hand[egress].height <= height_max"

RULES_WRONG = {
    "unknown name": (REQUIRE, "lock.by_hand[egress].height <= height_mx", ["height_mx", "did you mean: height_max?"]),
    "unknown fact": (REQUIRE, "lock.knd == \"mechanical-lock\"", ["knd", "did you mean: "]),
    "unknown value": (REQUIRE, "lock.kind == \"mechanical-lok\"", ["mechanical-lok"]),
    "bare number": (REQUIRE, "lock.by_hand[egress].height <= 44", ["44"]),
    "other units": ("value: 44 in", "value: 44 lbf", ["a length compared with a force"]),
    "an import": (REQUIRE, "__import__('os').system('touch written')", ["__import__"]),
    "a call": (REQUIRE, "open('written', 'w')", ["open"]),
    "an attribute of Python": (REQUIRE, "lock.__class__.__mro__", ["begins with an underscore"]),
    "a lambda": (REQUIRE, "(lambda: true)()", ["own-rule.yaml:13"]),
    "no expression": (REQUIRE, "lock.kind ==", ["own-rule.yaml:13"]),
    "deep expression": (REQUIRE, "(" * 3000 + "lock.kind" + ")" * 3000, ["own-rule.yaml:13"]),
    "a huge power": (REQUIRE, "9 ** 9 ** 9 ** 9 > 1", ["own-rule.yaml:13"]),
    "edition it lacks": ("sections: {2021: \"1\"}", "sections: {1999: \"1\"}", ["has no edition 1999"]),
    "unknown key": ("subject: lock", "subjct: lock", ["subjct", "subject"]),
    "unknown source": ("basis: {2021: practice}", "basis: {2021: hearsay}", ["hearsay"]),
    "unknown arrangement": (REQUIRE, "holds(\"sensor-releas\")", ["sensor-releas"]),
    "other name than file": ("id: own-rule", "id: other-rule", ["other-rule", "own-rule"]),
    "code without a folder": ("code: ibc", "code: ibd", ["ibd"]),
}  # fmt: skip


def own_rules(**files: str) -> str:
    folder = Path("own") / "codes" / "ibc"
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / f"{name.replace('_', '-')}.yaml").write_text(text, encoding="utf-8")
    return "own"


@pytest.mark.parametrize(("old", "new", "says"), RULES_WRONG.values(), ids=RULES_WRONG)
def test_a_wrong_rule_is_refused(run: Run, old: str, new: str, says: list[str]) -> None:
    assert old in PROVISION
    folder = own_rules(own_rule=PROVISION.replace(old, new, 1))
    message = refused(run, "check", "good.yaml", "--rules", folder)
    assert "own-rule.yaml:" in message
    for part in says:
        assert part in message
    assert not Path("written").exists()


def arrangement(name: str, other: str) -> str:
    return f"""\
id: {name}
code: ibc
kind: locking-arrangement
title: An arrangement of our own
about: One of two that need each other.
subject: lock
sections: {{2021: "1"}}
basis: {{2021: practice}}
recognised_by: lock.fail_mode == "fail-safe"
excuses: [free-egress/always-free]
permitted:
  anywhere:
    require: lock.fail_mode == "fail-safe"
    says: {{asks: it is fail-safe, met: It is fail-safe., unmet: It is not.}}
    remedy: Make it so.
conditions:
  other:
    require: holds("{other}")
    says: {{asks: the other holds, met: The other holds., unmet: The other does not hold.}}
    remedy: Make it hold.
"""


def test_a_cycle_is_refused_and_printed(run: Run) -> None:
    folder = own_rules(hen=arrangement("hen", "egg"), egg=arrangement("egg", "hen"))
    message = refused(run, "check", "good.yaml", "--rules", folder)
    assert "hen" in message
    assert "egg" in message
    assert "->" in message or "cycle" in message or "circle" in message


def test_a_provision_that_is_there_already_is_refused(run: Run) -> None:
    shipped = (RULES / "codes" / "ibc" / "hardware-height.yaml").read_text(encoding="utf-8")
    assert "is there already" in refused(run, "check", "good.yaml", "--rules", own_rules(hardware_height=shipped))


def test_a_folder_that_holds_no_rules_is_refused(run: Run) -> None:
    Path("notes").mkdir()
    assert "not a folder of rules" in refused(run, "check", "good.yaml", "--rules", "notes")


def test_a_good_rule_of_ones_own_speaks(run: Run) -> None:
    text = PROVISION.replace(REQUIRE, "lock.fail_mode == \"fail-secure\"")  # fmt: skip
    answer = run("check", "good.yaml", "--rules", own_rules(own_rule=text))
    assert answer.status == 1
    assert "It is high." in answer.out


# --- statuses ---------------------------------------------------------------------------------------------


def test_status_0_no_violation_found(run: Run) -> None:
    answer = run("check", str(RULES / "examples" / "lever-latch.yaml"), "--code", "ibc@2021")
    assert (answer.status, answer.err) == (0, "")
    assert "no violation found" in answer.out
    assert "the authority having jurisdiction decides" in " ".join(answer.out.split())


def test_status_1_something_fails(run: Run) -> None:
    Path("high.yaml").write_text(changed("height: 42 in", "height: 60 in"), encoding="utf-8")
    answer = run("check", "high.yaml")
    assert (answer.status, answer.err) == (1, "")
    assert "DOES NOT COMPLY" in answer.out


def test_status_1_for_the_demo(run: Run) -> None:
    answer = run("check", "demo")
    assert (answer.status, answer.err) == (1, "")
    assert "DOES NOT COMPLY" in answer.out
    assert max(map(len, answer.out.splitlines())) <= 80


def test_status_3_something_is_open(run: Run) -> None:
    Path("open.yaml").write_text(changed(" height: 42 in", " height: unknown"), encoding="utf-8")
    answer = run("check", "open.yaml")
    assert (answer.status, answer.err) == (3, "")
    assert "not decided" in answer.out


def test_the_worst_of_several_files_counts(run: Run) -> None:
    Path("open.yaml").write_text(changed(" height: 42 in", " height: unknown"), encoding="utf-8")
    Path("high.yaml").write_text(changed("height: 42 in", "height: 60 in"), encoding="utf-8")
    assert run("check", "good.yaml").status == 0
    assert run("check", "good.yaml", "open.yaml").status == 3
    assert run("check", "open.yaml", "high.yaml", "good.yaml").status == 1


def test_the_examples_of_the_rules_pass(run: Run) -> None:
    answer = run("rules", "test")
    assert answer.status == 0, answer.out
    assert answer.out.endswith(" 0 failed\n")


# --- describe ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "lock", ["electromagnetic-direct-pull", "electromagnetic-shear", "electric-strike", "mechanical-lock"]
)
def test_describe_writes_a_file_that_check_reads(run: Run, lock: str) -> None:
    answer = run("describe", lock, "-o", "new.yaml")
    assert answer.status == 0
    assert "new.yaml is written" in answer.out
    assert sorted(os.listdir()) == ["good.yaml", "new.yaml"]
    assert run("describe", lock).out == Path("new.yaml").read_text(encoding="utf-8")
    answer = run("check", "new.yaml")
    assert (answer.status, answer.err) == (3, ""), "nothing is known, so nothing passes and nothing fails"


def test_describe_overwrites_nothing(run: Run) -> None:
    Path("mine.yaml").write_text("mine", encoding="utf-8")
    assert "exists already" in refused(run, "describe", "electric-strike", "-o", "mine.yaml")
    assert Path("mine.yaml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["electromagnetic-direct-pul"], "did you mean: electromagnetic-direct-pull?"),
        (["electric-strike", "--arrangement", "sensor-releas"], "did you mean: sensor-release?"),
        (["electric-strike", "--code", "ibc@1999"], "has no edition 1999"),
        (["electric-strike", "-o", "nowhere/new.yaml"], "cannot be written"),
        (["electric-strike", "-o", "good.yaml/new.yaml"], "cannot be written"),
        ([], "lock"),
    ],
)
def test_describe_tells_what_is_wrong(run: Run, arguments: list[str], says: str) -> None:
    assert says in refused(run, "describe", *arguments)
