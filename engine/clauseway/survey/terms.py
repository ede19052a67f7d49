"""The leaves of a program over planes.

A leaf is a truth that comes from columns. Where it is no comparison of numbers, the one-opening checker is asked for
it under each combination of values that occurs in the columns it reads.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from clauseway.language import core
from clauseway.language.possible import Truth, Value
from clauseway.readers.decide import Decider, Env
from clauseway.survey.block import Block
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.numbers import Leaf, Numbers, Unsayable
from clauseway.survey.planes import Pair, Plane, Program, every_row, packed
from clauseway.survey.walk import Walk

Assumed = Mapping[Key, Value]
T = TypeVar("T")
_TABLE = 1 << 16
_FEW = 40
_MOST = 1 << 18


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
        key = (self.decider.mode, same)
        if key not in self._leaves:
            self.leaves.append(leaf)
            self._leaves[key] = self.program.leaf()
        return self._leaves[key]

    def asked(self, read: frozenset[Key], ask: Callable[[Decider], Truth], same: object) -> Pair:
        """A leaf whose truth is asked for under each combination of values of the columns that it reads."""
        if not read:
            return self.program.certain(ask(self.decider))
        told = self.combinations(read, ask)

        def run(block: Block) -> tuple[Plane, Plane]:
            if told.are_few():
                return told.planes(block)
            answers, at = told.answers(block)
            true = np.array([answer is True for answer in answers], dtype=np.bool_)
            false = np.array([answer is False for answer in answers], dtype=np.bool_)
            return packed(true[at]), packed(false[at])

        return self.add(same, Leaf(run, by_row=bool(read & self.columns.wide)))

    def combinations(self, read: frozenset[Key], ask: Callable[[Decider], T]) -> Combinations[T]:
        """A question to the reader, whatever is assumed of some columns."""
        decider = self.decider
        return Combinations(self.columns, read, lambda assumed: ask(decider.trying(assumed, decider.accept_memory)))


class Combinations(Generic[T]):
    """Answers to a question, asked once for each combination of values of some columns that occurs."""

    def __init__(self, columns: Columns, read: frozenset[Key], ask: Callable[[Assumed], T]) -> None:
        self.columns = columns
        self.read = sorted(read)
        self.ask = ask
        self.are_listed = not read & columns.wide
        self.known: dict[tuple[object, ...], T] = {}
        self.coded: dict[tuple[int, ...], T] = {}
        self.sides: tuple[int, bool, list[int], list[int]] | None = None
        self.numbered = _Numbered[T]((), [], np.zeros(0, dtype=np.bool_))

    def are_few(self) -> bool:
        """Whether there are so few combinations that a plane for each costs less than looking up every row."""
        return self.are_listed and math.prod(self._sizes()) <= _FEW

    def _sizes(self) -> list[int]:
        return [len(self.columns.all[key].values) for key in self.read]

    def planes(self, block: Block) -> tuple[Plane, Plane]:
        """Where the answer is true and where it is false, from the planes of the values."""
        if len(self.read) == 1:
            return self._of_one(block, self.read[0])
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

    def _of_one(self, block: Block, key: Key) -> tuple[Plane, Plane]:
        many = self._sizes()[0]
        if self.sides is None or self.sides[0] != many:
            answers = [self._of_codes((code,)) for code in range(many)]
            true, false = ([at for at, answer in enumerate(answers) if answer is side] for side in (True, False))
            self.sides = many, answers[0] is None, true, false
        _, blank_is_open, true, false = self.sides
        few, more = (true, false) if len(true) <= len(false) else (false, true)
        first = _union(block, key, few)
        if len(few) + len(more) == many:
            second = every_row(block.rows) & ~first
        elif len(few) + len(more) == many - 1 and blank_is_open:
            # All values have an answer, and a blank has none.
            second = every_row(block.rows) & ~(first | block.plane(key, 0))
        else:
            second = _union(block, key, more)
        return (first, second) if few is true else (second, first)

    def _of_codes(self, codes: tuple[int, ...]) -> T:
        if codes not in self.coded:
            stated = [(key, self.columns.all[key], code) for key, code in zip(self.read, codes, strict=True)]
            self.coded[codes] = self.ask({key: it.values[code] for key, it, code in stated if it.known[code]})
        return self.coded[codes]

    def answers(self, block: Block) -> tuple[list[T | None], NDArray[np.int64]]:
        """Answers by number, and the number that each row has; those that no row has are not asked for."""
        sizes = self._sizes()
        if self.are_listed and math.prod(sizes) <= _TABLE:
            return self._listed(block, sizes)
        at, size = np.zeros(block.rows, dtype=np.int64), 1
        kept: tuple[object, ...] | None = ()
        for key in self.read:
            codes, many, numbers = self._numbers(block, key)
            kept = None if kept is None or numbers is None else (*kept, numbers)
            if size * many > 2**62:
                values, at = np.unique(at, return_inverse=True)
                size = len(values)
            at, size = at * many + codes, size * many
        if size > _TABLE:
            values, at = np.unique(at, return_inverse=True)
            size = len(values)
            kept = None
        told = _Numbered[T](kept or (), [None] * size, np.zeros(size, dtype=np.bool_))
        if kept is not None and self.numbered.is_of(kept):
            told = self.numbered
        elif kept is not None:
            self.numbered = told
        new = np.flatnonzero((np.bincount(at, minlength=size) > 0) & ~told.asked)
        if len(new):
            first = np.zeros(size, dtype=np.int64)
            first[at[::-1]] = np.arange(block.rows - 1, -1, -1)
            for number in new:
                told.answers[number] = self.answer(block, int(first[number]))
            told.asked[new] = True
        return told.answers, np.asarray(at, dtype=np.int64)

    def _listed(self, block: Block, sizes: list[int]) -> tuple[list[T | None], NDArray[np.int64]]:
        size = math.prod(sizes)

        def find() -> tuple[NDArray[np.int64], list[int]]:
            at = np.zeros(block.rows, dtype=np.int64)
            for key, many in zip(self.read, sizes, strict=True):
                at *= many
                at += block.array(key)
            return at, np.flatnonzero(np.bincount(at, minlength=size)).tolist()

        at, occurring = block.once(("combinations", *self.read), find)
        found: list[T | None] = [None] * size
        for number in occurring:
            codes, rest = [], number
            for many in reversed(sizes):
                rest, code = divmod(rest, many)
                codes.append(code)
            found[number] = self._of_codes(tuple(reversed(codes)))
        return found, at

    def answer(self, block: Block, row: int) -> T:
        """The answer for one row."""
        found = [(key, *self.columns.value(key, block, row)) for key in self.read]
        written = tuple((known, value) if known else None for _, known, value in found)
        if written not in self.known:
            if len(self.known) >= _MOST:
                self.known.clear()
            self.known[written] = self.ask({key: value for key, known, value in found if known})
        return self.known[written]

    def _numbers(self, block: Block, key: Key) -> tuple[NDArray[Any], int, object]:
        """The number of a column's value in each row, how many there are, and what numbers them in other blocks too."""
        if key in self.columns.wide:
            return block.numbered(key)
        many = len(self.columns.all[key].values)
        return block.array(key), many, many


@dataclass
class _Numbered(Generic[T]):
    """Answers by the numbers of combinations, which hold as long as every column is numbered as before."""

    by: tuple[object, ...]
    answers: list[T | None]
    asked: NDArray[np.bool_]

    def is_of(self, by: tuple[object, ...]) -> bool:
        return len(by) == len(self.by) and all(
            a is b or (isinstance(a, int) and a == b) for a, b in zip(by, self.by, strict=True)
        )


def _union(block: Block, key: Key, codes: Sequence[int]) -> Plane:
    if len(codes) == 1:
        return block.plane(key, codes[0])
    found = np.zeros(-(-block.rows // 64), dtype=np.uint64)
    for code in codes:
        np.bitwise_or(found, block.plane(key, code), found)
    return found
