"""Picking an edition: half-open values, lines that begin and end, items and bases by edition."""

from __future__ import annotations

from typing import Any

import pytest

from clauseway.law.edition import exists_in, pick
from clauseway.text.problems import ClausewayError
from clauseway.text.source import Node, parse_yaml
from support.rulebooks import rulebook

ORDER = ("2015", "2018", "2021", "2024")

PROVISION = """\
id: rule
title: {2015: kept as it is}
sections: {2015: "1.9", 2018: "1.9", 2021: "2.1"}
section_basis: {2018: a, 2021: memory}
basis: {2015: b, 2021: c}
parameters:
  always: {value: 48 in}
  from_2018: {values: {2018: 30 s}, item: {2015: "3", 2018: "4"}}
  closed: {values: {2015: [A, B], 2021: none}, basis: {2021: memory}}
  both: {values: {2015: 40 in, 2021: 42 in}, also: {2015: 1016 mm, 2021: 1067 mm}}
conditions:
  first: {until: 2018, item: "1", require: one}
  second: {since: 2018, item: {2018: "2", 2024: "3"}, require: two}
  third: {since: 2018, until: 2021, require: three}
  fourth:
    item: "4"
    any_of:
      old: {until: 2021, require: old}
      new: {since: 2021, require: new}
  fifth: {require: {2015: before, 2021: after}, basis: {2021: d}}
examples:
  conditions: {2015: {since: 1066}}
"""


def picked(edition: str, text: str = PROVISION) -> dict[str, Any]:
    plain = pick(parse_yaml(text, "rule.yaml"), edition, ORDER).plain()
    assert isinstance(plain, dict)
    return plain


@pytest.mark.parametrize(
    ("edition", "conditions"),
    [
        ("2015", ["first", "fourth", "fifth"]),
        ("2018", ["second", "third", "fourth", "fifth"]),
        ("2021", ["second", "fourth", "fifth"]),
        ("2024", ["second", "fourth", "fifth"]),
    ],
)
def test_since_and_until_are_half_open(edition: str, conditions: list[str]) -> None:
    assert list(picked(edition)["conditions"]) == conditions
    assert "since" not in str(picked(edition)["conditions"])


def test_alternatives_begin_and_end_too() -> None:
    names = {edition: list(picked(edition)["conditions"]["fourth"]["any_of"]) for edition in ORDER}
    assert names == {"2015": ["old"], "2018": ["old"], "2021": ["new"], "2024": ["new"]}


def test_a_value_stands_until_a_later_one() -> None:
    for edition, value in (("2015", "40 in"), ("2018", "40 in"), ("2021", "42 in"), ("2024", "42 in")):
        assert picked(edition)["parameters"]["both"]["value"] == value
    assert picked("2018")["parameters"]["both"]["also"] == "1016 mm"
    assert picked("2024")["parameters"]["both"]["also"] == "1067 mm"


def test_a_value_that_begins_later_is_not_there_before() -> None:
    assert "from_2018" not in picked("2015")["parameters"]
    assert picked("2018")["parameters"]["from_2018"] == {"value": "30 s", "item": "4"}
    assert picked("2024")["parameters"]["from_2018"]["value"] == "30 s"


def test_none_closes_a_value() -> None:
    assert picked("2018")["parameters"]["closed"]["value"] == ["A", "B"]
    assert "closed" not in picked("2021")["parameters"]
    assert "closed" not in picked("2024")["parameters"]


def test_an_expression_may_change_with_the_edition() -> None:
    found = [picked(edition)["conditions"]["fifth"]["require"] for edition in ORDER]
    assert found == ["before", "before", "after", "after"]


def test_items_are_half_open_per_edition() -> None:
    items = {edition: picked(edition)["conditions"]["second"]["item"] for edition in ORDER[1:]}
    assert items == {"2018": "2", "2021": "2", "2024": "3"}


def test_a_basis_speaks_of_its_edition_alone() -> None:
    assert picked("2015")["basis"] == "b"
    assert "basis" not in picked("2018")
    assert picked("2021")["basis"] == "c"
    assert "basis" not in picked("2024")
    assert "section_basis" not in picked("2015")
    assert picked("2018")["section_basis"] == "a"
    assert "basis" not in picked("2018")["conditions"]["fifth"]
    assert picked("2021")["conditions"]["fifth"]["basis"] == "d"
    assert "basis" not in picked("2024")["conditions"]["fifth"]


def test_the_section_is_exact() -> None:
    assert picked("2021")["section"] == "2.1"
    assert "section" not in picked("2024")


def test_prose_and_examples_are_left_alone() -> None:
    assert picked("2024")["title"] == {"2015": "kept as it is"}
    assert picked("2024")["examples"] == {"conditions": {"2015": {"since": "1066"}}}


def test_a_provision_stands_only_where_it_has_a_section() -> None:
    node = parse_yaml(PROVISION, "rule.yaml")
    assert [edition for edition in ORDER if exists_in(node, edition)] == ["2015", "2018", "2021"]
    assert not exists_in(parse_yaml("id: rule", "rule.yaml"), "2015")


def test_the_order_of_editions_is_the_codes_own() -> None:
    order = ("sixth", "seventh", "eighth")
    node = parse_yaml("a: {values: {sixth: x, eighth: y}}\nb: {since: seventh, c: d}", "rule.yaml")
    assert pick(node, "seventh", order).plain() == {"a": {"value": "x"}, "b": {"c": "d"}}
    assert pick(node, "sixth", order).plain() == {"a": {"value": "x"}}


@pytest.mark.parametrize("key", ["since", "until"])
def test_a_limit_that_is_no_edition(key: str) -> None:
    node: Node = parse_yaml(f"conditions:\n  one: {{{key}: 2019, require: x}}", "rule.yaml")
    with pytest.raises(ClausewayError, match=f"rule.yaml:2:16: {key} 2019") as error:
        pick(node, "2021", ORDER)
    assert error.value.problems[0].expected == "an edition of the code: 2015, 2018, 2021, 2024"


# --- in a rulebook --------------------------------------------------------------------------------------


def test_a_basis_that_is_not_given_for_an_edition_is_memory() -> None:
    bases = {}
    for edition in ORDER:
        provision = rulebook(f"ibc@{edition}").provisions["ibc.free-egress"]
        bases[edition] = (provision.citation.basis.kind, provision.citation.basis.source)
    assert bases["2018"] == ("reprint", "mn-2020")
    assert bases["2024"] == ("memory", "")


def test_items_of_shipped_conditions_follow_the_edition() -> None:
    items = {}
    for edition in ORDER:
        provision = rulebook(f"ibc@{edition}").provisions["ibc.sensor-release"]
        condition = next(c for c in provision.conditions if c.label == "lock-power-loss")
        items[edition] = condition.line.citation.item
    assert items == {"2015": "2", "2018": "3", "2021": "3", "2024": "3"}


def test_a_parameter_carries_the_item_and_basis_of_its_edition() -> None:
    parameter = rulebook("ibc@2018").parameters["ibc.sensor-release/height_min"]
    assert (parameter.citation.item, parameter.citation.edition) == ("4", "2018")
    assert parameter.printed == ("40 in", "1016 mm")
    assert "ibc.sensor-release/groups" in rulebook("ibc@2015").parameters
    assert "ibc.sensor-release/groups" not in rulebook("ibc@2018").parameters
