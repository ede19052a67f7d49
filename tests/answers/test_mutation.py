"""A mutant dies by an example that gives another verdict; what nobody notices is open until it is explained."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.answers.mutation import Fate, bench, fates, mutated, stale
from clauseway.law.equivalents import Equivalents, equivalents_of
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.text.problems import ClausewayError
from support.small_code import CODE, OPENING, SAYS, small_library

ASKED = f"""\
parameters: {{least: {{value: 32 in, also: 813 mm}}}}
conditions:
  one: {{require: opening.clear_width >= least, {SAYS}}}
"""
EXAMPLES = """\
examples:
  base: door
  conditions:
    one:
      met: [{}, {openings.d.clear_width: 813 mm}]
      unmet: [{openings.d.clear_width: 31.9 in}, {openings.d.clear_width: 812 mm}]
      undetermined: [{openings.d.clear_width: unknown}]
"""


def run(library: Library, edition: str = "2021", name: str = "xx.matter") -> dict[str, Fate]:
    code = library.codes["xx"]
    prepared = bench(library, code, resolve(library, [f"xx@{edition}"]))
    return {fate.mutant: fate for fate in fates(prepared, name, equivalents_of(library, code))}


def test_examples_on_both_sides_of_both_numbers_notice_everything(tmp_path: Path) -> None:
    found = run(small_library(tmp_path / "rules", ASKED + EXAMPLES))
    assert {fate.status for fate in found.values()} == {"killed"}
    assert len(found) == 6
    assert found["xx.matter/parameters/least -- 813 mm as 812 mm"].by == "matter/one::unmet-2"


def test_what_no_example_notices_is_open(tmp_path: Path) -> None:
    found = run(small_library(tmp_path / "rules", ASKED + EXAMPLES.replace(", {openings.d.clear_width: 812 mm}", "")))
    assert [name for name, fate in found.items() if fate.status == "open"] == [
        "xx.matter/parameters/least -- 813 mm as 812 mm"
    ]


def test_a_missing_fact_tells_a_mutant_as_well(tmp_path: Path) -> None:
    asked = f"conditions:\n  one: {{require: opening.is_pair or building.fire_alarm, {SAYS}}}\n"
    examples = EXAMPLES.split("      met")[0]
    unknown = "      undetermined: [{openings.d.is_pair: unknown, building.fire_alarm: false}]\n"
    without = run(small_library(tmp_path / "a", asked + examples + "      met: [{}]\n"))
    with_unknown = run(small_library(tmp_path / "b", asked + examples + "      met: [{}]\n" + unknown))
    mutant = "xx.matter/one -- without opening.is_pair"
    assert without[mutant].status == "open"
    assert with_unknown[mutant].status == "killed"


def test_an_explanation_closes_a_mutant_in_the_editions_it_names(tmp_path: Path) -> None:
    listed = """\
code: xx
equivalent:
  - mutants: ["xx.matter/parameters/least -- 813 mm as 812 mm"]
    editions: ["2021"]
    reason: Nobody measures so.
"""
    examples = EXAMPLES.replace(", {openings.d.clear_width: 812 mm}", "")
    library = small_library(tmp_path / "rules", ASKED + examples, listed)
    mutant = "xx.matter/parameters/least -- 813 mm as 812 mm"
    assert run(library)[mutant].status == "equivalent"
    assert run(library)[mutant].by == "Nobody measures so."
    assert run(library, "2024")[mutant].status == "open"


def test_an_explanation_that_explains_nothing_is_told(tmp_path: Path) -> None:
    listed = """\
code: xx
equivalent:
  - mutants: ["xx.matter/parameters/least -- 813 mm as 812 mm", "xx.matter/parameters/leats -- 813 mm as 812 mm"]
    reason: Nobody measures so.
"""
    library = small_library(tmp_path / "rules", ASKED + EXAMPLES, listed)
    found = list(run(library).values())
    told = stale(equivalents_of(library, library.codes["xx"]), found, frozenset({"xx.matter"}))
    assert [why for _, why in told] == ["an example notices it", "there is no such mutant"]
    assert stale(equivalents_of(library, library.codes["xx"]), found, frozenset({"xx.other"})) == []


@pytest.mark.parametrize(
    ("listed", "word"),
    [
        ("code: yy\nequivalent: []\n", "code yy"),
        ('code: xx\nequivalent: [{mutants: [a], editions: ["2022"], reason: So.}]\n', "no edition 2022"),
        ("code: xx\nequivalent: [{mutants: [a]}]\n", "reason"),
        ("code: xx\nequivalent: [{mutants: [xx.mater/one -- left out], reason: So.}]\n", "no provision xx.mater"),
    ],
)
def test_a_wrong_list_of_explanations_is_refused(tmp_path: Path, listed: str, word: str) -> None:
    library = small_library(tmp_path / "rules", ASKED + EXAMPLES, listed)
    with pytest.raises(ClausewayError, match=word):
        equivalents_of(library, library.codes["xx"])


def test_examples_that_fail_without_a_mistake_tell_nothing(tmp_path: Path) -> None:
    library = small_library(tmp_path / "rules", ASKED + EXAMPLES.replace("31.9 in", "33 in"))
    with pytest.raises(ClausewayError, match="gives met already"):
        bench(library, library.codes["xx"], resolve(library, ["xx@2021"]))


def test_a_mistake_in_an_arrangement_is_noticed_where_it_excuses(tmp_path: Path) -> None:
    arrangement = f"""\
id: way
code: xx
kind: locking-arrangement
title: A way
about: For tests.
subject: opening
sections: {{"2021": "2"}}
section_basis: practice
basis: practice
recognised_by: opening.is_pair
conditions:
  two: {{require: opening.pool_barrier, {SAYS}}}
"""
    asked = f'conditions:\n  one: {{require: holds("way"), {SAYS}}}\n'
    examples = """\
examples:
  base: door
  conditions:
    one:
      met: [{openings.d.is_pair: true, openings.d.pool_barrier: true}]
      unmet: [{openings.d.pool_barrier: true}]
"""
    library = small_library(tmp_path / "rules", asked + examples, "", way=arrangement)
    found = run(library, name="xx.way")
    assert found["xx.way/two -- not (opening.pool_barrier)"].by == "matter/one::met-1"
    assert found["xx.way/recognised -- left out"].by == "matter/one::unmet-1"
    assert {fate.status for fate in found.values()} == {"killed"}


def test_a_table_and_a_derivation_are_noticed_where_they_are_read(tmp_path: Path) -> None:
    head = 'code: xx\ntitle: T\nabout: For tests.\nsections: {"2021": "2"}\nsection_basis: practice\nbasis: practice\n'
    table = f"id: grid\nkind: table\n{head}" + (
        "keys: {kind: {of: opening.kind}}\ncolumns: {wide: {unit: length, about: a width}}\n"
        "rows: {a: {kind: swinging, wide: 32 in}, b: {kind: sliding, wide: 40 in}}\n"
    )
    derivation = f"id: width\nkind: derivation\nsubject: opening\ngives: opening.clear_width\n{head}" + (
        'value: lookup("grid", "wide", opening.kind)\n'
    )
    examples = EXAMPLES.split("      met")[0] + "      met: [{openings.d.clear_width: unknown}]\n"
    library = small_library(tmp_path / "rules", ASKED + examples, "", grid=table, width=derivation)
    found = run(library, name="xx.grid")
    assert found["xx.grid/rows/a/wide -- 1% less"].by == "matter/one::met-1"
    assert found["xx.grid/rows/a/wide -- 1% more"].status == "open"
    assert found["xx.grid/rows/a -- left out"].status == "killed"


def test_no_explanations_without_a_file(tmp_path: Path) -> None:
    library = small_library(tmp_path / "rules", ASKED + EXAMPLES)
    assert equivalents_of(library, library.codes["xx"]) == Equivalents()


def test_an_example_may_start_from_another_base(tmp_path: Path) -> None:
    examples = EXAMPLES.replace("{openings.d.clear_width: 812 mm}", "{base: narrow}")
    (tmp_path / "mine" / "examples").mkdir(parents=True)
    (tmp_path / "mine" / "codes").mkdir()
    narrow = OPENING.replace("32 in", "812 mm")
    (tmp_path / "mine" / "examples" / "narrow.yaml").write_text(narrow, encoding="utf-8")
    small_library(tmp_path / "rules", ASKED + examples)
    found = run(load([tmp_path / "mine"], shipped=tmp_path / "rules"))
    assert found["xx.matter/parameters/least -- 813 mm as 812 mm"].status == "killed"


def test_an_example_from_a_base_that_is_not_there_is_refused(tmp_path: Path) -> None:
    library = small_library(
        tmp_path / "rules", ASKED + EXAMPLES.replace("{openings.d.clear_width: 812 mm}", "{base: narow}")
    )
    with pytest.raises(ClausewayError, match="no example base narow"):
        run(library)


def test_a_code_that_always_speaks_is_noticed_by_the_examples_of_others(tmp_path: Path) -> None:
    other = CODE.replace("code: xx", "code: yy").replace("law-when-adopted", "description")
    derivation = (
        "id: width\ncode: yy\nkind: derivation\ntitle: T\nabout: For tests.\nsubject: opening\n"
        'gives: opening.clear_width\nsections: {"2021": "2", "2024": "2"}\nsection_basis: practice\nbasis: practice\n'
        "parameters: {usual: {value: 32 in}, wide: {value: 40 in}}\n"
        "cases: {pair: {when: opening.is_pair, value: wide}, single: {when: not opening.is_pair, value: usual}}\n"
    )
    root = tmp_path / "rules"
    examples = EXAMPLES.split("      met")[0] + "      met: [{openings.d.clear_width: unknown}]\n"
    small_library(root, ASKED + examples)
    (root / "codes" / "yy").mkdir()
    (root / "codes" / "yy" / "code.yaml").write_text(other, encoding="utf-8")
    (root / "codes" / "yy" / "width.yaml").write_text(derivation, encoding="utf-8")
    library = load(shipped=root)
    code = library.codes["yy"]
    found = {f.mutant: f for f in mutated(library, code, ["2024"], frozenset({"yy.width"}), Equivalents())}
    assert found["yy.width/parameters/usual -- 32 in as 31.9 in"].by == "xx: matter/one::met-1"
    assert found["yy.width/parameters/usual -- 32 in as 32.1 in"].status == "open"
    assert found["yy.width/parameters/wide -- 40 in as 39.9 in"].status == "open"
