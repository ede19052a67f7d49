"""Only facts that stand more than once in a term are tried out, and nothing that all values agree on is missed."""

from __future__ import annotations

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from clauseway.case.project import read_project
from clauseway.language import core
from clauseway.language.possible import Choice, Value
from clauseway.readers.decide import Decider
from clauseway.readers.repeated import repeated
from clauseway.readers.settle import settle
from clauseway.text.source import node_from_data
from support.rulebooks import rulebook

YES_NO = ("is_pair", "in_series", "required_accessible")
WORKS = sorted(rulebook().vocabulary.lists["opening.work"].leaves)
OPENING = core.Name("opening")
ATOMS = [core.Get(OPENING, f"opening.{name}") for name in YES_NO]
WORK = core.Get(OPENING, "opening.work")


def _over(inner: st.SearchStrategy[core.Node]) -> st.SearchStrategy[core.Node]:
    several = st.lists(inner, min_size=2, max_size=3).map(tuple)
    return st.one_of(
        several.map(core.And),
        several.map(core.Or),
        inner.map(core.Not),
        st.tuples(inner, inner).map(lambda two: core.When(*two)),
    )


TERMS = st.recursive(
    st.one_of(
        st.sampled_from(ATOMS),
        st.sampled_from(WORKS).map(lambda work: core.Belongs(WORK, core.Options(work, frozenset((work,))))),
    ),
    _over,
    max_leaves=7,
)


def _opening() -> Decider:
    data = {"openings": {"d": {}}}
    return Decider(rulebook(), read_project(node_from_data(data, "doors"), rulebook().vocabulary))


@settings(max_examples=400, deadline=None)
@given(TERMS)
def test_what_all_values_agree_on_is_found(term: core.Node) -> None:
    reader = _opening()
    env = {"opening": reader.project.things["openings/d"], "building": reader.project.things[""]}
    truth, gaps = reader.truth(term, env)
    found = settle(reader, term, env, gaps) if truth is None else truth
    truths = set()
    for values in product(*([True, False] for _ in YES_NO), WORKS):
        assumed: dict[tuple[str, str], Value] = {
            ("openings/d", name): value for name, value in zip(YES_NO, values, strict=False)
        }
        assumed["openings/d", "work"] = Choice(frozenset((values[-1],)))
        truths.add(reader.trying(assumed, False).truth(term, env)[0])
    assert found is (truths.pop() if len(truths) == 1 else None)


def test_what_stands_once_need_not_be_tried() -> None:
    book = rulebook()
    alone = core.Get(core.Name("lock"), "lock.self_locking")
    assert repeated(book, core.Not(alone)) == frozenset()
    assert repeated(book, core.Or((alone, core.Not(alone)))) == {"self_locking"}
    members = core.Members(core.Name("passage"), "locks", "lock")
    loop = core.Quantified("each", "lock", members, core.TRUE, alone)
    assert repeated(book, loop) == frozenset()
    shared = core.Quantified("each", "other", members, core.TRUE, alone)
    assert repeated(book, shared) == {"self_locking"}
    total = core.Quantified("count", "lock", members, alone, core.TRUE)
    assert repeated(book, core.Compare("<=", total, total)) == {"self_locking"}
