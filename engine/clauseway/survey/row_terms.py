"""Terms as nodes of a graph of truths of one row, and its leaves, for which the one-opening checker is asked."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from clauseway.language import core
from clauseway.language.possible import Truth, Value
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.graph import Given, Graph
from clauseway.survey.turning import Turn, Turns
from clauseway.survey.walk import Walk

Assumed = Mapping[Key, Value]
Asking = Callable[[Decider], tuple[Truth, Gaps]]


@dataclass(frozen=True, slots=True)
class RowLeaf:
    """A truth that some columns give: the checker's answer for what they say; for a number, where it turns."""

    columns: tuple[Key, ...]
    ask: Callable[[Assumed], tuple[Truth, Gaps]]
    turn: Turn | None = None


class RowTerms(Walk[int]):
    """Takes terms to references of a graph, for one reader; `leaves` and `known` are shared by the readers of a row."""

    def __init__(
        self, decider: Decider, columns: Columns, graph: Graph, leaves: list[RowLeaf], known: dict[object, int]
    ) -> None:
        super().__init__(decider, columns.all, graph)
        self.columns = frozenset(columns.all)
        self.graph = graph
        self.leaves = leaves
        self.known = known
        self.turns = Turns(decider, columns, self.dependence)

    def leaf(self, node: core.Node, env: Env, read: frozenset[Key]) -> int:
        """A term that is no junction of truths."""
        against = self.turns.against(node, env) if isinstance(node, core.Compare) else None
        turn = self.turns.of(against, env) if against is not None else None
        return self.asked(read, lambda decider: decider.truth(node, env), turn or self.same(node, env), turn)

    def asked(self, read: frozenset[Key], ask: Asking, same: object, turn: Turn | None = None) -> int:
        """A leaf that is asked for; leaves with equal `same` are one."""
        decider = self.decider
        if not read:
            return self.graph.certain(*ask(decider))

        def answer(assumed: Assumed) -> tuple[Truth, Gaps]:
            return ask(decider.trying(assumed, decider.accept_memory))

        key = (decider.mode, same)
        if key not in self.known:
            self.known[key] = self.graph.add(Given(len(self.leaves)))
            self.leaves.append(RowLeaf(tuple(sorted(read)), answer, turn))
        return self.known[key]
