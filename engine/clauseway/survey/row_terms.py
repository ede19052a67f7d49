"""Terms as nodes of a graph of truths of one row, and its leaves, for which the one-opening checker is asked."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from clauseway.language import core
from clauseway.language.possible import Truth
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.graph import Compared, Given, Graph
from clauseway.survey.row_numbers import Assumed, RowNumber, RowNumbers
from clauseway.survey.turning import Turn, Turns
from clauseway.survey.walk import Walk

Asking = Callable[[Decider], tuple[Truth, Gaps]]


@dataclass(frozen=True, slots=True)
class RowLeaf:
    """A truth that some columns give: the checker's answer for what they say; for a number, where it turns.

    Where the column `of` is blank, it is false without asking.
    """

    columns: tuple[Key, ...]
    ask: Callable[[Assumed], tuple[Truth, Gaps]]
    turn: Turn | None = None
    of: Key | None = None


@dataclass(frozen=True, slots=True)
class Parts:
    """What the code for a row is written from, shared by the readers of all modes."""

    graph: Graph = field(default_factory=Graph)
    leaves: list[RowLeaf] = field(default_factory=list)
    numbers: list[RowNumber] = field(default_factory=list)
    known: dict[object, int] = field(default_factory=dict)


class RowTerms(Walk[int]):
    """Takes terms to references of a graph, for one reader."""

    def __init__(self, decider: Decider, columns: Columns, parts: Parts) -> None:
        super().__init__(decider, columns.all, parts.graph)
        self.columns = columns
        self.graph = parts.graph
        self.parts = parts
        self.turns = Turns(decider, columns, self.dependence)
        self.numbers = RowNumbers(decider, columns, self.dependence, parts.numbers, parts.known)

    def leaf(self, node: core.Node, env: Env, read: frozenset[Key]) -> int:
        """A term that is no junction of truths."""
        turn = None
        if isinstance(node, core.Compare):
            against = self.turns.against(node, env)
            turn = self.turns.of(against, env) if against is not None else None
            if turn is None and read & self.columns.wide:
                left, right = self.numbers.of(node.left, env), self.numbers.of(node.right, env)
                return self.graph.add(Compared(node.operator, left, right))
        return self.asked(read, lambda decider: decider.truth(node, env), turn or self.same(node, env), turn)

    def asked(
        self, read: frozenset[Key], ask: Asking, same: object, turn: Turn | None = None, of: Key | None = None
    ) -> int:
        """A leaf that is asked for; leaves with equal `same` are one."""
        decider, known, leaves = self.decider, self.parts.known, self.parts.leaves
        if not read:
            return self.graph.certain(*ask(decider))

        def answer(assumed: Assumed) -> tuple[Truth, Gaps]:
            return ask(decider.trying(assumed, decider.accept_memory))

        key = (decider.mode, same)
        if key not in known:
            known[key] = self.graph.add(Given(len(leaves)))
            leaves.append(RowLeaf(tuple(sorted(read)), answer, turn, of))
        return known[key]
