"""Terms for which only few ranges of a column's numbers matter: worked out once for each range, then looked up.

The number of a row becomes the number of its range, by as many comparisons as there are ends of ranges.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clauseway.language import core
from clauseway.language.possible import Interval, System, Truth, compare
from clauseway.readers.decide import Env
from clauseway.survey import spans
from clauseway.survey.block import Block, Held, Listed, Plain
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.planes import packed
from clauseway.survey.spans import Spans
from clauseway.survey.turning import LARGEST, Turns, following, last

MOST = 1 << 12
"""Tables with more combinations than this are not made."""


def ends_of_lookup(node: core.Lookup, env: Env, turns: Turns) -> dict[Key, list[float]] | None:
    """Where the ranges of the columns of numbers end that a lookup reads; none where it does more with them."""
    table = turns.decider.rulebook.tables[node.table]
    found: dict[Key, list[float]] = {}
    keys = [(at, column) for at, column in enumerate(table.columns) if column.key]
    for (at, band), key in zip(keys, node.keys, strict=True):
        if not turns.dependence.of(key, env) & turns.columns.wide:
            continue
        column, ends = turns.column(key, env), set[float]()
        if column is None or column.scale is None or not band.banded or column.key in found:
            return None
        for cell in (row[at] for row in table.rows.values()):
            own = ends_of(partial(_up_to, cell), column.scale.system) if isinstance(cell, Interval) else None
            if own is None:
                return None
            ends.update(own)
        found[column.key] = sorted(ends)
    return found


def ends_of(truth: Callable[[Interval], Truth], system: System | None) -> list[float] | None:
    """The numbers after which a truth changes that is true of small numbers and false of large ones; none for others.

    Where it is undetermined in between, these are two.
    """

    def at(number: float) -> Truth:
        return truth(Interval(number, number, system))

    if at(-LARGEST) is not True or at(LARGEST) is not False:
        return None
    sure = last(lambda number: at(number) is True, -LARGEST, LARGEST)
    open_to = last(lambda number: at(number) is not False, -LARGEST, LARGEST)
    return sorted({sure, open_to})


def _up_to(cell: Interval, value: Interval) -> Truth:
    return compare("<=", value, cell)


class Tabled:
    """A term of which a table is made: `ends` are the last numbers of the ranges of each column of numbers."""

    def __init__(
        self,
        find: Callable[[Block], Spans],
        columns: Columns,
        read: frozenset[Key],
        ends: Mapping[Key, Sequence[float]],
    ) -> None:
        self.find = find
        self.columns = columns
        self.read = sorted(read)
        self.ends = ends
        self._table: tuple[list[int], Spans] | None = None

    def __call__(self, block: Block) -> Spans:
        """The intervals of a block."""
        sizes = [self._size(key) for key in self.read]
        if math.prod(sizes) > MOST:
            return self.find(block)
        if self._table is None or self._table[0] != sizes:
            self._table = sizes, self._made(sizes)
        at: NDArray[Any] = np.zeros(block.rows, dtype=np.int64)
        for key, size in zip(self.read, sizes, strict=True):
            if key is not self.read[0]:
                at *= size
            at += self._digits(block, key) if key in self.ends else block.array(key)
        return spans.taken(self._table[1], at)

    def _size(self, key: Key) -> int:
        return len(self.ends[key]) + 2 if key in self.ends else len(self.columns.all[key].values)

    def _digits(self, block: Block, key: Key) -> NDArray[Any]:
        """The number of the range of each row; the last is that of a blank."""
        column, ends = block.plain(key), self.ends[key]
        found = np.zeros(block.rows, dtype=np.min_scalar_type(len(ends) + 1))
        numbers = column.filled(0.0)
        for end in ends:
            found += numbers > end
        found[column.blanks] = len(ends) + 1
        return found

    def _made(self, sizes: Sequence[int]) -> Spans:
        ways = np.array(list(product(*map(range, sizes))), dtype=np.int64).reshape(-1, len(sizes)).T
        columns: dict[Key, Held] = {}
        for key, codes in zip(self.read, ways, strict=True):
            many = len(codes)
            if key not in self.ends:
                columns[key] = Listed(many, codes, range(self._size(key)), None)
                continue
            ends = self.ends[key]
            some = np.array([*ends, following(ends[-1]), math.nan])[codes]
            columns[key] = Plain(many, some, packed(some == some), 1.0, 0.0)
        found, shape = self.find(Block(ways.shape[1], columns)), (ways.shape[1],)
        low = np.broadcast_to(found.low, shape)
        high = low if found.are_points else np.broadcast_to(found.high, shape)
        return Spans(low, high, np.broadcast_to(found.system, shape), is_natural=bool((low >= 0).all()))
