"""Whether something goes round is the library of graphs' own answer, and it says what goes round."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import networkx as nx
import pytest

from clauseway.law.graph import cycle_in


@pytest.mark.parametrize("edges", [[], [("a", "b")], [("a", "b"), ("a", "b"), ("b", "c"), ("a", "c")]])
def test_nothing_goes_round(edges: list[tuple[str, str]]) -> None:
    assert cycle_in(edges) == []


@pytest.mark.parametrize(
    ("edges", "found"),
    [
        ([("a", "a")], ["a", "a"]),
        ([("b", "a"), ("a", "b"), ("b", "c")], ["a", "b", "a"]),
        ([("x", "a"), ("c", "a"), ("b", "c"), ("a", "b"), ("c", "y")], ["a", "b", "c", "a"]),
    ],
)
def test_what_goes_round_is_said(edges: list[tuple[str, str]], found: list[str]) -> None:
    assert cycle_in(edges) == found


def test_random_graphs_are_judged_as_by_the_library() -> None:
    random = Random(3)
    round_ones = 0
    for _ in range(400):
        names = [str(number) for number in range(random.randint(2, 12))]
        edges = [(random.choice(names), random.choice(names)) for _ in range(random.randint(1, 12))]
        found = cycle_in(edges)
        assert bool(found) is not nx.is_directed_acyclic_graph(nx.DiGraph(edges))
        assert all(pair in edges for pair in pairwise(found))
        assert not found or found[0] == found[-1]
        round_ones += bool(found)
    assert 100 < round_ones < 300
