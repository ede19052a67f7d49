"""Truths of many rows as bits: a truth is a pair of planes, those rows where it is true and those where it is false.

A program is a list of steps over planes in which equal steps stand once; it runs block by block, so that the planes of
a block stay in the processor's cache. Where neither plane has the bit of a row, the truth is undetermined there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from clauseway.language.possible import Truth

Plane = NDArray[np.uint64]
Rows = NDArray[np.bool_]

ZERO, ONE = 0, 1
"""The planes of no row and of every row."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Where a truth is true and where it is false, as numbers of planes of a program."""

    true: int
    false: int

    def __invert__(self) -> Pair:
        return Pair(self.false, self.true)


NEVER = Pair(ZERO, ONE)
ALWAYS = Pair(ONE, ZERO)
UNKNOWN = Pair(ZERO, ZERO)


def certain(truth: Truth) -> Pair:
    """The pair of a truth that is the same in every row."""
    return UNKNOWN if truth is None else ALWAYS if truth else NEVER


class Program:
    """Steps over planes. A step is `&` or `|` of two earlier planes, `~` of one, or a side of a leaf."""

    def __init__(self) -> None:
        self.steps: list[tuple[str, int, int]] = [("0", 0, 0), ("1", 0, 0)]
        self._known: dict[tuple[str, int, int], int] = {}
        self.leaves = 0

    def _step(self, step: tuple[str, int, int]) -> int:
        if step not in self._known:
            self._known[step] = len(self.steps)
            self.steps.append(step)
        return self._known[step]

    def leaf(self) -> Pair:
        """A new leaf, whose two planes come from outside; leaves are numbered in order."""
        self.leaves += 1
        return Pair(self._step(("true", self.leaves - 1, 0)), self._step(("false", self.leaves - 1, 0)))

    def both(self, a: int, b: int) -> int:
        """The rows of both planes."""
        if a == b or b == ONE:
            return a
        if ZERO in (a, b):
            return ZERO
        return b if a == ONE else self._step(("&", min(a, b), max(a, b)))

    def either(self, a: int, b: int) -> int:
        """The rows of either plane."""
        if a == b or b == ZERO:
            return a
        if ONE in (a, b):
            return ONE
        return b if a == ZERO else self._step(("|", min(a, b), max(a, b)))

    def other(self, plane: int) -> int:
        """The rows that a plane has not."""
        if plane in (ZERO, ONE):
            return ONE - plane
        return self._step(("~", plane, ONE))

    def every(self, pairs: Iterable[Pair]) -> Pair:
        """Kleene conjunction."""
        true, false = ONE, ZERO
        for pair in pairs:
            true, false = self.both(true, pair.true), self.either(false, pair.false)
        return Pair(true, false)

    def some(self, pairs: Iterable[Pair]) -> Pair:
        """Kleene disjunction."""
        return ~self.every(~pair for pair in pairs)


def packed(rows: Rows) -> Plane:
    """The plane of some rows; what is left of its last word is zero."""
    bits = np.packbits(rows, bitorder="little")
    padded = np.zeros(-(-len(bits) // 8) * 8, dtype=np.uint8)
    padded[: len(bits)] = bits
    return padded.view(np.uint64)


def rows_of(plane: Plane, rows: int) -> Rows:
    """The rows of a plane, one by one."""
    return np.unpackbits(plane.view(np.uint8), count=rows, bitorder="little").view(np.bool_)


def count(plane: Plane) -> int:
    """How many rows a plane has."""
    return int(np.bitwise_count(plane).sum())


_OF: dict[str, Callable[[Plane, Plane, Plane], Plane]] = {"&": np.bitwise_and, "|": np.bitwise_or, "~": np.bitwise_xor}


class Runner:
    """Runs a program for the planes that are wanted; what they do not need is not computed."""

    def __init__(self, program: Program, wanted: Iterable[int]) -> None:
        self.steps = program.steps
        keep = set(wanted) | {ZERO, ONE}
        needed = set(keep)
        for number in range(len(self.steps) - 1, 1, -1):
            name, a, b = self.steps[number]
            if number in needed and name in "&|~":
                needed |= {a, b}
        self.order = [number for number in sorted(needed) if number > ONE]
        last: dict[int, int] = {}
        for number in self.order:
            name, a, b = self.steps[number]
            if name in "&|~":
                last[a] = last[b] = number
        self.freed: dict[int, list[int]] = {}
        for plane, at in last.items():
            if plane not in keep:
                self.freed.setdefault(at, []).append(plane)

    def run(self, rows: int, leaf: Callable[[int], tuple[Plane, Plane]]) -> Sequence[Plane | None]:
        """The planes of a block, by number; those that were needed on the way only are gone."""
        planes: list[Plane | None] = [None] * len(self.steps)
        planes[ONE] = packed(np.ones(rows, dtype=np.bool_))
        planes[ZERO] = np.zeros_like(planes[ONE])
        second: dict[int, Plane] = {}
        spare: list[Plane] = []
        for number in self.order:
            name, a, b = self.steps[number]
            if name in ("true", "false"):
                if a in second:
                    planes[number] = second.pop(a)
                    continue
                true, false = leaf(a)
                planes[number], second[a] = (true, false) if name == "true" else (false, true)
                continue
            left, right = planes[a], planes[b]
            assert left is not None
            assert right is not None
            out = spare.pop() if spare else np.empty_like(left)
            planes[number] = _OF[name](left, right, out)
            for done in self.freed.get(number, ()):
                old = planes[done]
                planes[done] = None
                if old is not None and self.steps[done][0] in "&|~":
                    spare.append(old)
        return planes
