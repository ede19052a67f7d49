"""From terms of the core form to a program over planes.

Nothing here says what a term means. What is the same in every row is asked of the one-opening checker once; a term
that joins truths becomes the steps that Kleene's logic has for it; any other term is a leaf, and the checker is asked
for its truth under each combination of values that occurs in the columns it reads.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from clauseway.language import core
from clauseway.language.possible import Truth, Value
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Block, Columns
from clauseway.survey.dependence import Dependence, Key
from clauseway.survey.numbers import Numbers, Unsayable
from clauseway.survey.planes import (
    ZERO,
    Pair,
    Plane,
    Program,
    certain,
    packed,
)

Assumed = Mapping[Key, Value]
Ask = Callable[[Assumed], Truth]
T = TypeVar("T")
_TABLE = 1 << 16
_FEW = 40
_MOST = 1 << 18
Leaf = Callable[[Block], tuple[Plane, Plane]]


class Terms:
    """Compiles terms for one reader; `program` is shared by all readers of one survey."""

    def __init__(self, decider: Decider, columns: Columns, program: Program, leaves: list[Leaf]) -> None:
        self.decider = decider
        self.columns = columns
        self.program = program
        self.leaves = leaves
        self.dependence = Dependence(decider, columns.all.keys())
        self.numbers = Numbers(decider, columns, self.dependence)
        self._known: dict[tuple[object, ...], tuple[core.Node, Pair]] = {}

    def truth(self, node: core.Node, env: Env) -> Pair:
        """The planes of a truth."""
        names = core.free_names(node)
        things = env.items() if core.ANY_NAME in names else [(name, env.get(name)) for name in names]
        key = (id(node), *things)
        if key not in self._known:
            self._known[key] = (node, self._truth(node, env))
        return self._known[key][1]

    def _truth(self, node: core.Node, env: Env) -> Pair:
        read = self.dependence.of(node, env)
        if not read:
            return certain(self.decider.truth(node, env)[0])
        program = self.program
        if isinstance(node, core.And):
            return program.every(self.truth(part, env) for part in node.parts)
        if isinstance(node, core.Or):
            return program.some(self.truth(part, env) for part in node.parts)
        if isinstance(node, core.Not):
            return ~self.truth(node.body, env)
        if isinstance(node, core.When):
            return program.some([~self.truth(node.where, env), self.truth(node.body, env)])
        if isinstance(node, core.Labelled | core.Named):
            return self.truth(node.body, env)
        if isinstance(node, core.Holds):
            return self.truth(self.decider.rulebook.holds[node.arrangement], env)
        if isinstance(node, core.Assuming):
            assumed, body = self.truth(node.assumption, env).true, self.truth(node.body, env)
            return Pair(program.both(assumed, body.true), program.both(assumed, body.false))
        if isinstance(node, core.Unverified):
            body = self.truth(node.body, env)
            return body if self.decider.accept_memory else Pair(ZERO, body.false)
        if isinstance(node, core.Quantified):
            return self._quantified(node, env)
        return self._leaf(node, env, read)

    def passing(self, node: core.Quantified, env: Env) -> list[tuple[Pair, Env]]:
        """Whether each member belongs and passes the filter, with the things bound for it."""
        found: list[tuple[Pair, Env]] = []
        for member in self.decider.collection(node.members, env).all:
            inner = {**env, node.variable: member.thing}
            belongs = certain(member.belongs)
            found.append((self.program.every([belongs, self.truth(node.where, inner)]), inner))
        return found

    def _quantified(self, node: core.Quantified, env: Env) -> Pair:
        members = self.passing(node, env)
        if node.quantifier == "any":
            return self.program.some(
                self.program.every([passes, self.truth(node.body, inner)]) for passes, inner in members
            )
        found = self.program.every(
            self.program.some([~passes, self.truth(node.body, inner)]) for passes, inner in members
        )
        if node.quantifier == "each":
            return found
        sure = self.program.some(passes for passes, _ in members).true
        return Pair(self.program.both(found.true, sure), found.false)

    def _leaf(self, node: core.Node, env: Env, read: frozenset[Key]) -> Pair:
        if isinstance(node, core.Compare):
            try:
                return self.add(self.numbers.comparison(node, env))
            except Unsayable:
                pass
        decider = self.decider
        return self.asked(read, lambda assumed: decider.trying(assumed, decider.accept_memory).truth(node, env)[0])

    def add(self, leaf: Leaf) -> Pair:
        """A leaf of the program."""
        self.leaves.append(leaf)
        return self.program.leaf()

    def asked(self, read: frozenset[Key], ask: Ask) -> Pair:
        """A leaf whose truth is asked for under each combination of values of the columns that it reads."""
        if not read:
            return certain(ask({}))
        told = Combinations(self.columns, read, ask)

        def run(block: Block) -> tuple[Plane, Plane]:
            if told.are_few():
                return told.planes(block)
            answers, at = told.answers(block)
            true = np.array([answer is True for answer in answers], dtype=np.bool_)
            false = np.array([answer is False for answer in answers], dtype=np.bool_)
            return packed(true[at]), packed(false[at])

        return self.add(run)


class Combinations(Generic[T]):
    """Answers to a question, asked once for each combination of values of some columns that occurs."""

    def __init__(self, columns: Columns, read: frozenset[Key], ask: Callable[[Assumed], T]) -> None:
        self.columns = columns
        self.read = sorted(read)
        self.ask = ask
        self.known: dict[tuple[object, ...], T] = {}
        self.coded: dict[tuple[int, ...], T] = {}

    def are_few(self) -> bool:
        """Whether there are so few combinations that a plane for each costs less than looking up every row."""
        columns = [self.columns.all[key] for key in self.read]
        return all(column.scale is None for column in columns) and math.prod(len(c.values) for c in columns) <= _FEW

    def planes(self, block: Block) -> tuple[Plane, Plane]:
        """Where the answer is true and where it is false, from the planes of the values."""
        ways: list[tuple[tuple[int, ...], Plane | None]] = [((), None)]
        for key in self.read:
            ways = [
                ((*codes, code), both)
                for codes, plane in ways
                for code in range(len(self.columns.all[key].values))
                if (both := block.plane(key, code) if plane is None else plane & block.plane(key, code)).any()
            ]
        true, false = (np.zeros(-(-block.rows // 64), dtype=np.uint64) for _ in range(2))
        for codes, plane in ways:
            answer = self._of_codes(codes)
            if answer is not None and plane is not None:
                into = true if answer else false
                np.bitwise_or(into, plane, into)
        return true, false

    def _of_codes(self, codes: tuple[int, ...]) -> T:
        if codes not in self.coded:
            stated = [(key, self.columns.all[key], code) for key, code in zip(self.read, codes, strict=True)]
            self.coded[codes] = self.ask({key: it.values[code] for key, it, code in stated if it.known[code]})
        return self.coded[codes]

    def answers(self, block: Block) -> tuple[list[T | None], NDArray[np.int64]]:
        """Answers by number, and the number that each row has; those that no row has are not asked for."""
        at, size = np.zeros(block.rows, dtype=np.int64), 1
        for key in self.read:
            codes, many = self._numbers(block, key)
            if size * many > 2**62:
                values, at = np.unique(at, return_inverse=True)
                size = len(values)
            at, size = at * many + codes, size * many
        if size > _TABLE:
            values, at = np.unique(at, return_inverse=True)
            size = len(values)
        found: list[T | None] = [None] * size
        first = np.zeros(size, dtype=np.int64)
        first[at[::-1]] = np.arange(block.rows - 1, -1, -1)
        for number in np.flatnonzero(np.bincount(at)):
            found[number] = self.answer(block, int(first[number]))
        return found, np.asarray(at, dtype=np.int64)

    def answer(self, block: Block, row: int) -> T:
        """The answer for one row."""
        found = [(key, *self.columns.value(key, block, row)) for key in self.read]
        written = tuple((known, value) if known else None for _, known, value in found)
        if written not in self.known:
            if len(self.known) >= _MOST:
                self.known.clear()
            self.known[written] = self.ask({key: value for key, known, value in found if known})
        return self.known[written]

    def _numbers(self, block: Block, key: Key) -> tuple[NDArray[Any], int]:
        if key in self.columns.wide:
            return block.numbered(key)
        return block.array(key), len(self.columns.all[key].values)
