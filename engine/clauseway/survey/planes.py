"""Truths of many rows as bits: a truth is a pair of planes, those rows where it is true and those where it is false.

A program is a list of steps over planes in which equal steps stand once; it runs block by block, so that the planes of
a block stay in the processor's cache. Where neither plane has the bit of a row, the truth is undetermined there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clauseway.language.possible import Truth

Plane = NDArray[np.uint64]
Rows = NDArray[np.bool_]

ZERO, ONE = 0, 1
"""The planes of no row and of every row, as numbers of planes of a program."""


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


class Program:
    """Steps over planes. A step is `&` or `|` of two earlier planes, `~` of one, or a side of a leaf."""

    def __init__(self) -> None:
        self.steps: list[tuple[str, int, int]] = [("0", 0, 0), ("1", 0, 0)]
        self._known: dict[tuple[str, int, int], int] = {}
        self._joins: dict[int, frozenset[int]] = {}
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
        return self._joined("&", a, b)

    def either(self, a: int, b: int) -> int:
        """The rows of either plane."""
        return self._joined("|", a, b)

    def _joined(self, name: str, a: int, b: int) -> int:
        """`&` or `|` of two planes, without what the other one makes needless."""
        none, every = (ZERO, ONE) if name == "&" else (ONE, ZERO)
        if a == b or b == every:
            return a
        if a == every:
            return b
        if none in (a, b):
            return none
        own, others = self._parts(name, a), self._parts(name, b)
        if others <= own:
            return a
        if own <= others:
            return b
        if any(self._excludes(name, each, others) for each in own):
            return none
        for one, parts, other in ((a, own, b), (b, others, a)):
            less = self._without(name, other, parts)
            if less != other:
                return self._joined(name, one, less)
        number = self._step((name, min(a, b), max(a, b)))
        if number not in self._joins:
            self._joins[number] = own | others
        return number

    def _without(self, name: str, plane: int, others: frozenset[int]) -> int:
        """A plane without what is needless where it is joined with others."""
        turned, every = ("|", ONE) if name == "&" else ("&", ZERO)
        step = self.steps[plane]
        if step[0] == turned:
            inner = self._parts(turned, plane)
            if any(self._parts(turned, each) <= inner for each in others):
                return every
            left = [each for each in sorted(inner) if not self._is_apart(name, each, others)]
            return plane if len(left) == len(inner) else self._all_of(turned, left)
        if step[0] == "~" and name == "&":
            inner = self._parts("|", step[1])
            left = [each for each in sorted(inner) if not self._is_apart("&", each, others)]
            return plane if len(left) == len(inner) else self.other(self._all_of("|", left))
        return plane

    def _all_of(self, name: str, planes: Sequence[int]) -> int:
        found = ONE if name == "&" else ZERO
        for each in planes:
            found = self._joined(name, found, each)
        return found

    def _is_apart(self, name: str, plane: int, others: frozenset[int]) -> bool:
        """Whether any part of a plane excludes, or for `|` completes, one of others."""
        return any(self._excludes(name, each, others) for each in self._parts(name, plane))

    def _parts(self, name: str, plane: int) -> frozenset[int]:
        """What a plane is joined of, by so many steps of a name."""
        return self._joins[plane] if self.steps[plane][0] == name else frozenset((plane,))

    def _excludes(self, name: str, plane: int, others: frozenset[int]) -> bool:
        """Whether no row is in a plane and one of the others; or for `|`, whether every row is in either."""
        step = self.steps[plane]
        if (step[1] if step[0] == "~" else self._known.get(("~", plane, ONE))) in others:
            return True
        # The two sides of a leaf have no row in common, but there may be rows in neither.
        side = {"true": "false", "false": "true"}.get(step[0])
        return name == "&" and side is not None and self._known.get((side, *step[1:])) in others

    def other(self, plane: int) -> int:
        """The rows that a plane has not."""
        if plane in (ZERO, ONE):
            return ONE - plane
        name, of, _ = self.steps[plane]
        return of if name == "~" else self._step(("~", plane, ONE))

    def every(self, pairs: Iterable[Pair]) -> Pair:
        """Kleene conjunction."""
        true, false = ONE, ZERO
        for pair in pairs:
            true, false = self.both(true, pair.true), self.either(false, pair.false)
        return Pair(true, false)

    def some(self, pairs: Iterable[Pair]) -> Pair:
        """Kleene disjunction."""
        return ~self.every(~pair for pair in pairs)

    def certain(self, truth: Truth, _gaps: object = None) -> Pair:
        """The pair of a truth that is the same in every row."""
        return UNKNOWN if truth is None else ALWAYS if truth else NEVER

    def inverse(self, pair: Pair) -> Pair:
        """Kleene negation."""
        return ~pair

    def surely(self, pair: Pair) -> Pair:
        """Whether it is true: false where it is undetermined."""
        return Pair(pair.true, self.other(pair.true))

    def if_any(self, found: Pair, any_passes: Pair, _gap: object = None) -> Pair:
        """What was found of all members, but undetermined where it is true and not sure that there is any."""
        return Pair(self.both(found.true, any_passes.true), found.false)

    def under(self, assumption: Pair, body: Pair) -> Pair:
        """The body where the assumption is true, else undetermined."""
        return Pair(self.both(assumption.true, body.true), self.both(assumption.true, body.false))

    def unverified(self, body: Pair, _clause: object = None) -> Pair:
        """The body, but undetermined where it is true."""
        return Pair(ZERO, body.false)


def packed(rows: Rows) -> Plane:
    """The plane of some rows; what is left of its last word is zero."""
    return _words(np.packbits(rows, bitorder="little"))


def of_bits(buffer: Any, first: int, rows: int) -> Plane:
    """The plane of some bits of a buffer, from the bit `first` on; what is left of its last word is zero.

    It is not to be written to: where the bits stand as they are wanted, it is the buffer itself.
    """
    if first % 64 == rows % 64 == 0:
        return np.frombuffer(buffer, dtype=np.uint64, count=rows // 64, offset=first // 8)
    whole = np.frombuffer(buffer, dtype=np.uint8, count=-(-(first + rows) // 8))[first // 8 :]
    if first % 8:
        return packed(np.unpackbits(whole, count=first % 8 + rows, bitorder="little")[first % 8 :].view(np.bool_))
    plane = _words(whole, copied=True)
    if rows % 64:
        plane[-1] &= np.uint64((1 << rows % 64) - 1)
    return plane


def _words(octets: NDArray[np.uint8], copied: bool = False) -> Plane:
    if len(octets) % 8 == 0:
        return (octets.copy() if copied else octets).view(np.uint64)
    padded = np.zeros(-(-len(octets) // 8) * 8, dtype=np.uint8)
    padded[: len(octets)] = octets
    return padded.view(np.uint64)


@lru_cache(maxsize=8)
def every_row(rows: int) -> Plane:
    """The plane of all of some rows; it is not to be written to."""
    plane = np.full(-(-rows // 64), np.uint64(2**64 - 1))
    if rows % 64:
        plane[-1] = np.uint64((1 << rows % 64) - 1)
    plane.setflags(write=False)
    return plane


def rows_of(plane: Plane, rows: int) -> Rows:
    """The rows of a plane, one by one."""
    return np.unpackbits(plane.view(np.uint8), count=rows, bitorder="little").view(np.bool_)


def count(plane: Plane) -> int:
    """How many rows a plane has."""
    return int(counts(plane[np.newaxis])[0])


def counts(planes: NDArray[np.uint64]) -> NDArray[np.int64]:
    """How many rows each of some planes has. The counts of eight words are added at once, in the bytes of one."""
    many, words = planes.shape
    found = np.zeros(many, dtype=np.int64)
    for start in range(0, words, _SUMMED):
        some = np.bitwise_count(planes[:, start : start + _SUMMED])
        if some.shape[1] % 8:
            some = np.pad(some, ((0, 0), (0, -some.shape[1] % 8)))
        eights = some.view(np.uint64)
        pairs = (eights & _EVERY_OTHER) + ((eights >> np.uint64(8)) & _EVERY_OTHER)
        for sums in np.add.reduce(pairs, axis=1, dtype=np.uint64)[:, np.newaxis].view(np.uint16).T:
            found += sums
    return found


_EVERY_OTHER = np.uint64(0x00FF00FF00FF00FF)
_SUMMED = 4 * 8 * 64
"""Words whose counts can be added in this way: each of four sums stays below 2 ** 16."""

_OF: dict[str, Callable[[Plane, Plane, Plane], object]] = {
    "&": np.bitwise_and,
    "|": np.bitwise_or,
    "~": np.bitwise_xor,
}


class Runner:
    """Runs a program for the planes that are wanted; what they do not need is not computed.

    Which plane is put where is settled once: the wanted ones into a row each of one array, the others into a few that
    are used again and again. So the planes of a block are good until the next block runs. What a leaf gives is not
    written to.
    """

    def __init__(self, program: Program, wanted: Iterable[int]) -> None:
        self.steps = program.steps
        self.wanted = sorted(set(wanted))
        self.at = {number: at for at, number in enumerate(self.wanted)}
        needed = {*self.wanted}
        for number in range(len(self.steps) - 1, ONE, -1):
            name, a, b = self.steps[number]
            if number in needed and name in _OF:
                needed |= {a, b}
        self.order = [number for number in sorted(needed) if number > ONE]
        self.leaves = sorted({a for name, a, _ in map(self.steps.__getitem__, self.order) if name not in _OF})
        self.registers = self.sides = 0
        self._steps = self._placed()
        self._block: tuple[int, list[Plane], NDArray[np.uint64]] = (-1, [], np.zeros((0, 0), np.uint64))

    def _placed(self) -> list[tuple[Callable[[Plane, Plane, Plane], object] | None, int, int, int]]:
        """The steps with the places that they read and write: first the wanted planes, then none and every row, then
        sides of leaves, which stay where the leaf has put them, then registers. A leaf, without a function, has its
        number and the places of its two sides, -1 for none."""
        last: dict[int, int] = {}
        for number in self.order:
            name, a, b = self.steps[number]
            if name in _OF:
                last[a] = last[b] = number
        place = {**self.at, ZERO: len(self.at), ONE: len(self.at) + 1}
        sides = [n for n in self.order if self.steps[n][0] not in _OF and n not in self.at]
        place |= {number: at for at, number in enumerate(sides, len(self.at) + 2)}
        self.sides = len(sides)
        first = len(self.at) + 2 + self.sides
        spare: list[int] = []
        found: list[tuple[Callable[[Plane, Plane, Plane], object] | None, int, int, int]] = []
        leaves: dict[int, int] = {}
        for number in self.order:
            name, a, b = self.steps[number]
            if name in _OF:
                left, right = place[a], place[b]
                # What is read here for the last time makes room for the result: a step may write where it reads.
                spare += [place[done] for done in {a, b} if last[done] == number and place[done] >= first]
                if number not in place:
                    if not spare:
                        spare.append(first + self.registers)
                        self.registers += 1
                    place[number] = spare.pop()
                found.append((_OF[name], left, right, place[number]))
            elif a in leaves:
                _, _, true, false = found[leaves[a]]
                found[leaves[a]] = None, a, *((place[number], false) if name == "true" else (true, place[number]))
            else:
                leaves[a] = len(found)
                found.append((None, a, *((place[number], -1) if name == "true" else (-1, place[number]))))
        return found

    def run(self, rows: int, leaf: Callable[[int], tuple[Plane, Plane]]) -> NDArray[np.uint64]:
        """The wanted planes of a block, a row each, in the order of `wanted`."""
        wanted = len(self.wanted)
        if self._block[0] != rows:
            kept = np.zeros((wanted, -(-rows // 64)), dtype=np.uint64)
            planes = [*kept, np.zeros_like(every_row(rows)), every_row(rows), *[every_row(rows)] * self.sides]
            planes += [np.empty_like(planes[-1]) for _ in range(self.registers)]
            if ONE in self.at:
                planes[self.at[ONE]][:] = every_row(rows)
            self._block = rows, planes, kept
        _, planes, kept = self._block
        for run, a, b, out in self._steps:
            if run is not None:
                run(planes[a], planes[b], planes[out])
                continue
            for place, plane in zip((b, out), leaf(a), strict=True):
                if place >= wanted:
                    planes[place] = plane
                elif place >= 0:
                    planes[place][:] = plane
        return kept
