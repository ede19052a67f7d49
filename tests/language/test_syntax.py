"""Expressions are what Python's own parser makes of them, read once for each text, and refused at each place."""

from __future__ import annotations

import ast

import pytest

from clauseway.language import core
from clauseway.language.syntax import DEEPEST, parse
from clauseway.text.problems import ClausewayError, Place

HERE, THERE = Place("a.yaml", 3, 5), Place("b.yaml", 7, 9)


@pytest.mark.parametrize(
    "text",
    ["a", "a.b", "lock.delay", "match.case.type", "x1.y_2", "a == b", 'any(d.on for d in x.devices) and not y["k"].z'],
)
def test_trees_are_those_of_the_parser(text: str) -> None:
    found = parse(text, HERE)
    assert ast.dump(found.tree) == ast.dump(ast.parse(text, mode="eval").body)
    assert ast.unparse(found.tree) == ast.unparse(ast.parse(text, mode="eval"))
    again = parse(text, THERE)
    assert again.tree is found.tree
    assert (found.at(found.tree), again.at(again.tree)) == (HERE, THERE)


@pytest.mark.parametrize(
    "text", ["", "is", "a.in", "lambda", "a.not.b", "_a", "a._b", "A.b.", "a..b", "a b", "1", "True", "x if y else z"]
)
def test_what_is_no_expression_is_refused_where_it_stands_each_time(text: str) -> None:
    for place in (HERE, THERE, HERE):
        with pytest.raises(ClausewayError) as refused:
            parse(text, place)
        (problem,) = refused.value.problems
        assert (problem.place.file, problem.place.line) == (place.file, place.line)


def test_names_may_be_chained_as_far_as_anything_may_be_nested() -> None:
    longest = ".".join(["a"] * DEEPEST)
    assert ast.dump(parse(longest, HERE).tree) == ast.dump(ast.parse(longest, mode="eval").body)
    with pytest.raises(ClausewayError, match="nested too deeply"):
        parse(longest + ".a", HERE)
    with pytest.raises(ClausewayError, match="nested too deeply"):
        parse("A." + longest, HERE)


def test_a_term_in_which_nothing_changes_stays_the_same_object() -> None:
    inner = core.Compare("<=", core.Get(core.Name("lock"), "lock.delay"), core.Parameter("p/x"))
    term = core.And((core.Not(inner), core.Cases(((core.TRUE, inner),), core.Anything("a.b"))))
    assert core.rebuilt(term, lambda part: part) is term

    def other(part: core.Node) -> core.Node:
        return core.Parameter("p/y") if part == core.Parameter("p/x") else core.rebuilt(part, other)

    changed = core.rebuilt(term, other)
    assert changed != term
    assert core.Parameter("p/x") not in list(core.walk(changed))
    assert core.Parameter("p/x") in list(core.walk(term))
