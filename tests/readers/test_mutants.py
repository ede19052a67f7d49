"""Every kind of mistake is made, once, under an id that says where and what; nothing else changes."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.language import core
from clauseway.language.possible import Choice, Interval
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.readers.mutants import NEVER_COMPARED, SAME, UNREAD, Mutant, mutants_of, names_in
from support.small_code import SAYS, small_library

BLOCK = SAYS.replace(", remedy", "\n    remedy")


def book(tmp_path: Path, provision: str, **others: str) -> Rulebook:
    return resolve(small_library(tmp_path / "rules", provision, "", **others), ["xx@2021"])


def found(rulebook: Rulebook, name: str = "xx.matter") -> dict[str, Mutant]:
    mutants = list(mutants_of(rulebook, name))
    assert len({mutant.id for mutant in mutants}) == len(mutants)
    return {mutant.id.removeprefix(f"{name}/"): mutant for mutant in mutants}


def own(mutant: Mutant, label: str = "one") -> core.Node:
    provision = mutant.rulebook().provisions["xx.matter"]
    return next(c.own for c in provision.permitted + provision.conditions if c.label == label)


def one(require: str, parameters: str = "", more: str = "") -> str:
    return f"{parameters}conditions:\n  one: {{require: '{require}', {SAYS}}}\n{more}"


@pytest.mark.parametrize(
    ("printed", "up", "down"),
    [
        ("32 in", "32.1 in", "31.9 in"),
        ("0.25 in", "0.26 in", "0.24 in"),
        ("41.5 in", "41.6 in", "41.4 in"),
        ("900 mm", "901 mm", "899 mm"),
        ("5 ft", "5.1 ft", "4.9 ft"),
        ("0 in", "0.1 in", "-0.1 in"),
    ],
)
def test_a_quantity_moves_by_the_smallest_step(tmp_path: Path, printed: str, up: str, down: str) -> None:
    rulebook = book(tmp_path, one("opening.clear_width >= least", f"parameters: {{least: {{value: {printed}}}}}\n"))
    mutants = found(rulebook)
    for text in (up, down):
        mutant = mutants[f"parameters/least -- {printed} as {text}"]
        assert mutant.rulebook().parameters["xx.matter/least"].printed == (text,)
        assert mutant.part == "xx.matter/least"
    low = mutants[f"parameters/least -- {printed} as {down}"].rulebook().parameters["xx.matter/least"].value
    high = mutants[f"parameters/least -- {printed} as {up}"].rulebook().parameters["xx.matter/least"].value
    middle = rulebook.parameters["xx.matter/least"].value
    assert isinstance(low, Interval)
    assert isinstance(middle, Interval)
    assert isinstance(high, Interval)
    assert low.low < middle.low < high.low
    assert low.low + high.low == pytest.approx(2 * middle.low)
    assert low.system == middle.system == high.system


def test_a_count_moves_by_one(tmp_path: Path) -> None:
    mutants = found(book(tmp_path, one("building.stories <= most", "parameters: {most: {value: 3 stories}}\n")))
    assert {name for name in mutants if name.startswith("parameters")} == {
        "parameters/most -- 3 stories as 4 stories",
        "parameters/most -- 3 stories as 2 stories",
    }


def test_both_printed_numbers_move_apart(tmp_path: Path) -> None:
    least = "parameters: {least: {value: 32 in, also: 813 mm}}\n"
    mutants = found(book(tmp_path, one("opening.clear_width >= least", least)))
    first = mutants["parameters/least -- 32 in as 32.1 in"].rulebook().parameters["xx.matter/least"].value
    second = mutants["parameters/least -- 813 mm as 814 mm"].rulebook().parameters["xx.matter/least"].value
    assert first == Interval(0.81534, 0.81534, "us", 0.813, "si")
    assert second == Interval(0.8128, 0.8128, "us", 0.814, "si")
    assert not mutants["parameters/least -- 813 mm as 814 mm"].equivalent


def test_a_second_number_that_is_only_reckoned_with_cannot_be_noticed(tmp_path: Path) -> None:
    least = "parameters: {least: {value: 16 in, also: 406 mm}, leaves: {value: 2 leaves}}\n"
    mutants = found(book(tmp_path, one("opening.clear_width >= least * leaves", least)))
    assert mutants["parameters/least -- 406 mm as 407 mm"].equivalent == NEVER_COMPARED
    assert not mutants["parameters/least -- 16 in as 16.1 in"].equivalent


def test_a_set_loses_each_printed_member(tmp_path: Path) -> None:
    kinds = "parameters: {kinds: {of: opening.kind, value: [swinging, sliding]}}\n"
    mutants = found(book(tmp_path, one("opening.kind in kinds", kinds)))
    value = mutants["parameters/kinds -- without sliding"].rulebook().parameters["xx.matter/kinds"].value
    assert value == Choice(frozenset({"swinging"}))
    assert "parameters/kinds -- without swinging" in mutants


def test_a_member_that_another_one_includes_changes_nothing(tmp_path: Path) -> None:
    groups = "parameters: {groups: {of: occupancy_group, value: [A, A-3]}}\n"
    asked = "any(any(s.group in groups for s in p.serves) for p in opening.passages)"
    mutants = found(book(tmp_path, one(asked, groups)))
    assert mutants["parameters/groups -- without A-3"].equivalent == SAME
    assert not mutants["parameters/groups -- without A"].equivalent


def test_a_value_that_only_a_sentence_reads_cannot_be_noticed(tmp_path: Path) -> None:
    provision = one("opening.is_pair", "parameters: {said: {value: 3 stories}}\n").replace("It is so.", "'{said}'")
    assert found(book(tmp_path, provision))["parameters/said -- 3 stories as 4 stories"].equivalent == UNREAD


@pytest.mark.parametrize(
    ("asked", "changed"),
    [
        ("<=", ("<", ">")),
        ("<", ("<=", ">=")),
        (">=", (">", "<")),
        (">", (">=", "<=")),
        ("==", ("!=",)),
        ("!=", ("==",)),
    ],
)
def test_a_comparison_becomes_its_neighbour_and_its_opposite(
    tmp_path: Path, asked: str, changed: tuple[str, ...]
) -> None:
    mutants = found(book(tmp_path, one(f"building.stories {asked} n", "parameters: {n: {value: 3 stories}}\n")))
    swapped = {name: mutant for name, mutant in mutants.items() if name.startswith("one")}
    assert set(swapped) == {f"one -- building.stories {asked} n with {other}" for other in changed}
    for name, mutant in swapped.items():
        node = own(mutant)
        assert isinstance(node, core.Compare)
        assert node.operator == name.rpartition(" ")[2]


@pytest.mark.parametrize(
    ("asked", "atom"),
    [
        ("opening.is_pair", "opening.is_pair"),
        ("opening.kind in kinds", "opening.kind in kinds"),
        ("opening.kind not in kinds", "opening.kind in kinds"),
        ('opening.kind == "sliding"', "opening.kind is sliding"),
        ('opening.kind != "sliding"', "opening.kind is sliding"),
    ],
)
def test_an_atom_is_negated(tmp_path: Path, asked: str, atom: str) -> None:
    rulebook = book(tmp_path, one(asked, "parameters: {kinds: {of: opening.kind, value: [sliding]}}\n"))
    original = rulebook.provisions["xx.matter"].conditions[0].own
    inner = original.body if isinstance(original, core.Not) else original
    expected = core.Not(core.Not(inner)) if isinstance(original, core.Not) else core.Not(inner)
    assert own(found(rulebook)[f"one -- not ({atom})"]) == expected


@pytest.mark.parametrize(("asked", "other", "shown"), [("any", "all", "one"), ("all", "any", "each")])
def test_some_and_every_are_taken_for_each_other(tmp_path: Path, asked: str, other: str, shown: str) -> None:
    mutants = found(book(tmp_path, one(f"{asked}(l.active for l in opening.leaves)")))
    node = own(mutants[f"one -- {other} for {shown} l of opening.leaves has: l.active"])
    assert isinstance(node, core.Quantified)
    assert node.quantifier == other


def test_parts_are_left_out(tmp_path: Path) -> None:
    provision = f"""\
applies: opening.is_pair and building.fire_alarm
assumes:
  plain: {{require: building.stories <= few, says: It is low.}}
parameters: {{few: {{value: 3 stories}}, wide: {{value: 32 in}}}}
conditions:
  one:
    where: building.high_rise
    any_of:
      a: {{require: opening.pool_barrier}}
      b: {{require: opening.required_accessible}}
    exceptions:
      e: {{require: opening.egress_monitored}}
    {BLOCK}
  two:
    some: {{part: opening.leaves, where: part.active}}
    lines:
      c: {{require: part.width >= wide, {SAYS}}}
      d: {{require: part.active, {SAYS}}}
    {BLOCK}
"""
    rulebook = book(tmp_path, provision)
    mutants = found(rulebook)
    first, second = (condition.own for condition in rulebook.provisions["xx.matter"].conditions)
    assert isinstance(first, core.When)
    assert isinstance(second, core.Quantified)
    assert own(mutants["one -- asked not only where building.high_rise"]) == first.body
    gone = own(mutants["one -- without exception one/e"])
    assert "one/e" not in labels(gone)
    assert labels(gone) == {"one/a", "one/b"}
    assert labels(own(mutants["one -- without alternative one/a"])) == {"one/b", "one/e"}
    assert labels(own(mutants["two -- without line two/c"], "two")) == {"two/d"}
    unfiltered = own(mutants["two -- every part, not only where part.active"], "two")
    assert isinstance(unfiltered, core.Quantified)
    assert unfiltered.where == core.TRUE
    assert mutants["applies -- without opening.is_pair"].rulebook().provisions["xx.matter"].applies == next(
        part for part in parts(rulebook.provisions["xx.matter"].applies) if "fire_alarm" in str(part)
    )
    assert mutants["assumes/plain -- left out"].rulebook().provisions["xx.matter"].assumptions == ()
    assert mutants["two/c -- part.width >= wide with >"].part == "xx.matter/two"


def parts(node: core.Node) -> tuple[core.Node, ...]:
    assert isinstance(node, core.And)
    return node.parts


def labels(node: core.Node) -> set[str]:
    return {part.label for part in core.walk(node) if isinstance(part, core.Labelled)}


def test_what_the_author_named_changes_wherever_it_is_used(tmp_path: Path) -> None:
    provision = f"""\
let: {{tall: building.stories > few}}
parameters: {{few: {{value: 3 stories}}}}
conditions:
  one: {{require: tall or opening.is_pair, {SAYS}}}
  two: {{require: not tall, {SAYS}}}
"""
    mutants = found(book(tmp_path, provision))
    changed = mutants["let/tall -- building.stories > few with >="].rulebook().provisions["xx.matter"]
    operators = [
        part.operator for c in changed.conditions for part in core.walk(c.own) if isinstance(part, core.Compare)
    ]
    assert operators == [">=", ">="]
    assert "one -- building.stories > few with >=" not in mutants
    assert "one -- without tall" in mutants


TABLE = """\
id: grid
code: xx
kind: table
title: A table
about: For tests.
sections: {"2021": "2"}
section_basis: practice
basis: practice
keys: {kind: {of: opening.kind}}
columns:
  wide: {unit: length, about: a width}
  leaves: {unit: leaves, about: how many}
  held: {unit: time, about: how long}
rows:
  a: {kind: swinging, wide: 30 in, leaves: 2, held: 20 min}
  b: {kind: sliding, wide: 40 in, leaves: 1, held: 15 s}
"""
DERIVATION = """\
id: width
code: xx
kind: derivation
title: A width
about: For tests.
subject: opening
sections: {"2021": "3"}
section_basis: practice
basis: practice
gives: opening.clear_height
cases:
  pair: {when: opening.is_pair, value: 'lookup("grid", "wide", opening.kind)'}
"""


def test_tables_and_derivations(tmp_path: Path) -> None:
    rulebook = book(
        tmp_path,
        one("opening.clear_height >= least", "parameters: {least: {value: 32 in}}\n"),
        grid=TABLE,
        width=DERIVATION,
    )
    assert names_in(rulebook, "xx") == ["xx.grid", "xx.matter", "xx.width"]
    cells = found(rulebook, "xx.grid")
    assert {name.partition("/")[2] for name in cells} == {
        f"{row}{rest}"
        for row, held in (("a", "1 min"), ("b", "1%"))
        for rest in (
            " -- left out",
            *(f"/wide -- 1% {way}" for way in ("more", "less")),
            *(f"/leaves -- one {way}" for way in ("more", "less")),
            *(f"/held -- {held} {way}" for way in ("more", "less")),
        )
    }
    assert cells["rows/a/held -- 1 min less"].rulebook().tables["xx.grid"].rows["a"][3] == Interval(1140, 1140)
    table = cells["rows/a/wide -- 1% more"].rulebook().tables["xx.grid"]
    assert table.rows["a"][1] == Interval(0.762 * 1.01, 0.762 * 1.01, "us")
    assert list(table.rows) == ["a", "b"]
    assert cells["rows/a/leaves -- one more"].equivalent == UNREAD
    assert not cells["rows/a/wide -- 1% more"].equivalent
    whens = {mutant.id for mutant in mutants_of(rulebook, "xx.width")}
    assert whens == {"xx.width -- not (opening.is_pair)", "xx.width -- without the case opening.is_pair"}


def test_a_rulebook_is_not_changed_by_its_mutants(tmp_path: Path) -> None:
    provision = one("opening.clear_width >= least", "parameters: {least: {value: 32 in}}\n")
    rulebook = book(tmp_path, provision)
    before = rulebook.digest
    changed = {mutant.rulebook().digest for mutant in mutants_of(rulebook, "xx.matter")}
    assert before not in changed
    assert rulebook.json == resolve(small_library(tmp_path / "again", provision), ["xx@2021"]).json


def test_a_row_that_the_fixed_keys_bar_cannot_be_noticed(tmp_path: Path) -> None:
    asked = 'opening.clear_height >= lookup("grid", "wide", "swinging")'
    cells = found(book(tmp_path, one(asked), grid=TABLE), "xx.grid")
    assert not cells["rows/a/wide -- 1% more"].equivalent
    assert cells["rows/b/wide -- 1% more"].equivalent == UNREAD
