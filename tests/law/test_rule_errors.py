"""A rule file that is wrong says where, what was found, what was expected and what was probably meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError, Problem
from support.rulebooks import small_rules

CODE = """\
code: mine
title: Mine
publisher: nobody
editions: [2020, 2023]
force: test
about: A code for tests.
"""
HEAD = """\
id: {name}
code: mine
kind: requirement
title: A rule
about: A rule for tests.
subject: lock
sections: {{2020: "1", 2023: "1"}}
basis: memory
"""
SAYS = """\
    says: {asks: it is so, met: It is so., unmet: It is not so.}
    remedy: Change it.
"""
PARAMETERS = """\
parameters:
  height_max: {value: 48 in, also: 1219 mm}
  delay_max: {value: 15 s}
  groups: {of: occupancy_group, value: [A, B]}
  kinds: {of: lock.kind, value: [electric-strike]}
  single: {value: 1 lock}
"""


def rule(require: str, name: str = "one", extra: str = "") -> str:
    """A requirement whose only condition asks `require`; its expression begins at 16:14."""
    return HEAD.format(name=name) + PARAMETERS + extra + f"conditions:\n  so:\n    require: {require}\n" + SAYS


def problems(tmp_path: Path, *codes: str, **files: str) -> tuple[Problem, ...]:
    """What is wrong with the rules in some files, named without their ending."""
    folder = tmp_path / "codes" / "mine"
    folder.mkdir(parents=True)
    (folder / "code.yaml").write_text(CODE, encoding="utf-8")
    for name, text in files.items():
        (folder / f"{name.replace('_', '-')}.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(ClausewayError) as error:
        resolve(load([tmp_path], shipped=small_rules()), codes or ["mine@2023"])
    return error.value.problems


GOOD = "lock.hardware_height <= height_max"


@pytest.mark.parametrize(
    ("require", "column", "found", "expected", "near"),
    [
        ("lock.hardware_height <= hieght_max", 38, "unknown name: hieght_max", "a parameter", "height_max"),
        ("lock.hardware_heigth <= height_max", 14, "a lock has no hardware_heigth", "fact or rel", "hardware_height"),
        ("lok.hardware_height <= height_max", 14, "unknown name: lok", "thing in scope", "lock"),
        ("lock.hardware_height", 14, "is a length", "a yes or no", ""),
        ("lock.kind <= height_max", 14, "one of lock.kind <= a length", "numbers around", ""),
        ("lock.hardware_height <= delay_max", 14, "a length compared with a time", "one dimension", ""),
        ("lock.delay + height_max <= delay_max", 14, "a time + a length", "one dimension", ""),
        ("lock.hardware_height <= 48", 38, "a bare number in an expression: 48", "the name of a parameter", ""),
        ("not 0", 18, "a bare number", "the name of a parameter", ""),
        ("lock.self_locking == True", 35, "True in an expression", "the fact itself", ""),
        ("__import__('os')", 14, "a call of __import__", "any, all", ""),
        ("lock.__class__", 14, "begins with an underscore: __class__", "a declared name", ""),
        ("lock.kind.upper()", 14, "a call of lock.kind.upper", "any, all", ""),
        ("(lambda: lock)()", 14, "a call of lambda: lock", "any, all", ""),
        ("any(lambda x=lock.self_locking: x)", 18, "a lambda", "plain expressions", ""),
        ("[lock.self_locking]", 14, "a list in an expression", "plain expressions", ""),
        ("lock.self_locking if lock.kind in kinds else lock.self_locking", 14, "an if expression", "plain", ""),
        ("import os", 14, "not an expression", "comparisons", ""),
        ("lock.self_locking;", 31, "not an expression", "comparisons", ""),
        ('lock.kind == "electric-stirke"', 27, "is not a value of lock.kind", "a listed value", "electric-strike"),
        ("lock.kind in groups", 14, "one of lock.kind in a set parameter of occupancy_group", "the same list", ""),
        ('lock.on["fire-alrm"].unlocks', 22, "unknown event: fire-alrm", "a value of event", "fire-alarm"),
        ("lock.by_hand[passage].always_opens", 27, "passage is a passage", "a side", ""),
        ("lock.on.unlocks", 14, "lock.on is a on[...] that needs a key", "a thing", ""),
        ("lock.leaf is passage", 14, "a leaf is a passage", "two things of one kind", ""),
        ("any(l.self_locking for l in lock)", 42, "lock is a lock", "a list of things", ""),
        ("count(l.kind for l in opening.locks) <= single", 20, "count of l.kind", "count(l for", ""),
        ("any(lock.self_locking for lock in opening.locks)", 40, "the loop name lock is taken", "another name", ""),
        ('holds("sensor-release")', 20, "no locking arrangement", "the id of a locking arrangement", ""),
        ('lookup("table", "column", lock.kind) <= height_max', 21, "no table table", "the id of a table", ""),
        ("sqrt(lock.delay) <= delay_max", 14, "sqrt of a time", "a square", ""),
        ("overlap(lock.kind, kinds)", 14, "overlap of one of lock.kind", "a set fact", ""),
        ("max(lock.delay) <= delay_max", 14, "max of 1", "two values or more", ""),
        ("- lock.delay <= delay_max", 14, "a minus sign", "a difference", ""),
    ],
)  # fmt: skip
def test_an_expression_that_cannot_be(
    tmp_path: Path, require: str, column: int, found: str, expected: str, near: str
) -> None:
    written = f"'{require}'" if require[0] in "[-" or ": " in require else require
    problem = problems(tmp_path, one=rule(written))[0]
    shift = 1 if written != require else 0
    assert problem.place.file.endswith("codes/mine/one.yaml")
    assert (problem.place.line, problem.place.column) in {(17, column), (17, column + shift)}
    assert found in problem.found
    assert expected in problem.expected
    assert problem.nearest == near
    assert f"one.yaml:17:{problem.place.column}: " in str(problem)


def test_all_errors_of_a_file_come_together(tmp_path: Path) -> None:
    text = rule("lock.hardware_heigth <= height_max", extra="let: {first: lock.nothing, second: height_max}\n")
    text = text.replace("unmet: It is not so.", 'unmet: "{lock.nobody}"').replace("also: 1219 mm", "also: 1219 s")
    found = problems(tmp_path, one=text)
    assert [problem.place.line for problem in found] == sorted(problem.place.line for problem in found)
    joined = "\n".join(str(problem) for problem in found)
    for part in ("1219 s", "lock has no nothing", "hardware_heigth", "lock has no nobody"):
        assert part in joined
    assert len(found) >= 4


def test_errors_of_several_files_come_together(tmp_path: Path) -> None:
    found = problems(tmp_path, one=rule("lock.nothing"), two=rule("lock.nobody", "two"))
    assert {problem.place.file.rsplit("/", 1)[1] for problem in found} == {"one.yaml", "two.yaml"}


def test_a_missing_sentence(tmp_path: Path) -> None:
    text = HEAD.format(name="one") + PARAMETERS + f"conditions:\n  so:\n    require: {GOOD}\n    remedy: Change it.\n"
    found = problems(tmp_path, one=text)
    assert any("says" in problem.found + problem.expected for problem in found)
    assert found[0].place.line >= 15


def test_a_missing_part_of_a_sentence(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace("met: It is so., ", ""))[0]
    assert "met" in problem.found + problem.expected
    assert problem.place.line in (16, 18)


@pytest.mark.parametrize(
    ("old", "new", "found", "near"),
    [
        ("value: [A, B]", "value: [A, Bee]", "Bee is not a value of occupancy_group", ""),
        ("value: [electric-strike]", "value: [electric-stirke]", "electric-stirke is not a value", "electric-strike"),
        ("of: occupancy_group", "of: occupancy_gruop", "no value list occupancy_gruop", "occupancy_group"),
        ("of: lock.kind", "of: lock.kin", "no value list lock.kin", "lock.kind"),
        ("value: 48 in, also: 1219 mm", "value: 48 furlong", "a length compared with a count of furlong", ""),
        ("value: 48 in", "value: 48 furlong", "1219 mm", ""),
        ("also: 1219 mm", "also: 1219 s", "1219 s", ""),
        ("basis: memory", "basis: hearsay", "no source hearsay", ""),
    ],
)
def test_a_parameter_that_cannot_be(tmp_path: Path, old: str, new: str, found: str, near: str) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace(old, new))[0]
    assert found in problem.found
    assert problem.place.line
    assert problem.place.column
    if near:
        assert problem.nearest == near


def test_a_parameter_without_a_value_in_an_edition_is_no_parameter_there(tmp_path: Path) -> None:
    text = rule(GOOD).replace("{value: 48 in, also: 1219 mm}", "{values: {2020: 48 in, 2023: none}}")
    problem = problems(tmp_path, one=text)[0]
    assert problem.found == "unknown name: height_max"
    assert problem.place.line == 17


def test_an_edition_the_code_lacks(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace('2023: "1"', '2022: "1"'))[0]
    assert (problem.place.line, problem.found) == (7, "mine has no edition 2022")
    assert "2020" in problem.expected
    assert "2023" in problem.expected
    assert problem.nearest in ("2020", "2023")


def test_since_an_edition_the_code_lacks(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace("  so:\n", "  so:\n    since: 2021\n"))[0]
    assert (problem.place.line, problem.place.column, problem.found) == (17, 12, "since 2021")
    assert "2020" in problem.expected


@pytest.mark.parametrize(
    ("codes", "found", "near"),
    [
        (["mine@2021"], "Mine has no edition 2021", "2020"),
        (["mien@2020"], "no code mien", "mine"),
        (["mine"], "mine names no edition", ""),
        (["mine@2020", "mine@2023"], "two editions of mine", ""),
    ],
)
def test_a_code_or_edition_that_is_not_there(tmp_path: Path, codes: list[str], found: str, near: str) -> None:
    problem = problems(tmp_path, *codes, one=rule(GOOD))[0]
    assert found in problem.found
    assert problem.expected
    assert problem.nearest in (near, "2023")


def test_no_code_at_all() -> None:
    with pytest.raises(ClausewayError, match="no code is named"):
        resolve(load(shipped=small_rules()), [])


def arrangement(name: str, recognised: str, *, excuses: str = "[]") -> str:
    head = HEAD.format(name=name).replace("kind: requirement", "kind: locking-arrangement")
    return (
        head
        + f"recognised_by: {recognised}\nexcuses: {excuses}\n"
        + PARAMETERS
        + (f"conditions:\n  so:\n    require: {GOOD}\n" + SAYS)
    )


def test_a_cycle_between_arrangements_is_printed(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        one=arrangement("one", 'holds("two") and lock.self_locking'),
        two=arrangement("two", 'holds("three")'),
        three=arrangement("three", 'holds("one")'),
    )
    assert len(found) == 1
    names = found[0].found.removeprefix("a cycle: ").split(" -> ")
    assert names[0] == names[-1]
    assert set(names) == {"mine.one", "mine.two", "mine.three"}
    assert found[0].place.line


def test_an_arrangement_that_needs_itself(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=arrangement("one", 'holds("one")'))[0]
    assert problem.found == "a cycle: mine.one -> mine.one"


def derivation(name: str, gives: str, value: str) -> str:
    head = HEAD.format(name=name).replace("kind: requirement", "kind: derivation")
    return head + f"gives: {gives}\nvalue: {value}\n"


def test_a_cycle_of_derivations_is_printed(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        one=derivation("one", "lock.delay", "lock.initiation_time"),
        two=derivation("two", "lock.initiation_time", "lock.delay"),
    )
    assert found[0].found in (
        "a cycle: lock.delay -> lock.initiation_time -> lock.delay",
        "a cycle: lock.initiation_time -> lock.delay -> lock.initiation_time",
    )


def test_two_derivations_of_one_fact(tmp_path: Path) -> None:
    value = "lock.initiation_time"
    found = problems(tmp_path, one=derivation("one", "lock.delay", value), two=derivation("two", "lock.delay", value))
    assert "lock.delay is derived already" in found[0].found
    assert "one.yaml:1:1" in found[0].found


def test_a_derivation_of_no_fact_and_of_another_type(tmp_path: Path) -> None:
    found = problems(
        tmp_path,
        one=derivation("one", "lock.dealy", "lock.initiation_time"),
        two=derivation("two", "lock.delay", "lock.hardware_height"),
    )
    assert (found[0].found, found[0].nearest) == ("no fact lock.dealy", "lock.delay")
    assert (found[1].found, found[1].expected) == ("lock.hardware_height is a length", "a time")


def test_an_excuse_of_nothing(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD), two=arrangement("two", "lock.self_locking", excuses="[one/sa]"))[0]
    assert problem.found == "two excuses one/sa, which is not there"
    assert problem.nearest == "one/so"
    assert problem.place.file.endswith("two.yaml")


def test_an_excuse_for_another_subject(tmp_path: Path) -> None:
    opening = rule("opening.is_pair").replace("subject: lock", "subject: opening")
    problem = problems(tmp_path, one=opening, two=arrangement("two", "lock.self_locking", excuses="[one/so]"))[0]
    assert "is about a lock and excuses one/so, which is about a opening" in problem.found


def test_the_id_is_the_name_of_the_file(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD, "other"))[0]
    assert "the id is other, the file is called one" in problem.found


def test_a_misspelt_key_names_the_right_one(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace("    require:", "    requires:"))[0]
    assert (problem.place.line, problem.place.column) == (17, 5)
    assert problem.nearest == "require"


def test_a_key_written_twice(tmp_path: Path) -> None:
    problem = problems(tmp_path, one=rule(GOOD).replace("about: A rule", "title: Again\nabout: A rule"))[0]
    assert problem.place.line == 5
    assert "title" in problem.found
