"""The leaves of a program over planes.

A leaf is a truth that comes from columns. Where it is no comparison of numbers, the one-opening checker is asked for
it under each combination of values that occurs in the columns it reads.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from clauseway.language import core
from clauseway.language.possible import Truth
from clauseway.readers.decide import Decider, Env
from clauseway.survey.block import Block
from clauseway.survey.columns import Columns
from clauseway.survey.combinations import Combinations
from clauseway.survey.dependence import Key
from clauseway.survey.numbers import Leaf, Numbers, Unsayable
from clauseway.survey.planes import Pair, Plane, Program, packed
from clauseway.survey.walk import Walk

T = TypeVar("T")


class Terms(Walk[Pair]):
    """Compiles terms for one reader; `program` is shared by all readers of one survey."""

    def __init__(self, decider: Decider, columns: Columns, program: Program, leaves: list[Leaf]) -> None:
        super().__init__(decider, columns.all, program)
        self.columns = columns
        self.program = program
        self.leaves = leaves
        self.numbers = Numbers(decider, columns, self.dependence, self.combinations)
        self._leaves: dict[object, Pair] = {}

    def leaf(self, node: core.Node, env: Env, read: frozenset[Key]) -> Pair:
        """A term that is no junction of truths: worked out from numbers, or asked for by combinations of values."""
        if isinstance(node, core.Compare):
            try:
                return self.add(*self.numbers.comparison(node, env))
            except Unsayable:
                pass
        return self.asked(read, lambda decider: decider.truth(node, env)[0], self.same(node, env))

    def add(self, same: object, leaf: Leaf) -> Pair:
        """A leaf of the program; leaves with equal `same` are one."""
        if same not in self._leaves:
            self.leaves.append(leaf)
            self._leaves[same] = self.program.leaf()
        return self._leaves[same]

    def asked(self, read: frozenset[Key], ask: Callable[[Decider], Truth], same: object) -> Pair:
        """A leaf whose truth is asked for under each combination of values of the columns that it reads."""
        if not read:
            return self.program.certain(ask(self.decider))
        told = self.combinations(read, ask)

        def run(block: Block) -> tuple[Plane, Plane]:
            if told.are_few():
                return told.planes(block)
            answers, at = told.answers(block)
            return packed(answers.where(True).take(at)), packed(answers.where(False).take(at))

        return self.add(same, Leaf(run, by_row=bool(read & self.columns.wide)))

    def combinations(self, read: frozenset[Key], ask: Callable[[Decider], T]) -> Combinations[T]:
        """A question to the reader, whatever is assumed of some columns."""
        decider = self.decider
        return Combinations(self.columns, read, lambda assumed: ask(decider.trying(assumed, decider.accept_memory)))
