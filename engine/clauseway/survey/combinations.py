"""Questions that are asked of the one-opening checker once for each combination of values that occurs in columns."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from clauseway.language.possible import Value
from clauseway.survey.block import Block
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.planes import Plane, every_row

Assumed = Mapping[Key, Value]
T = TypeVar("T")
_TABLE = 1 << 16
_BYTE = 1 << 7
_FEW = 40
_MOST = 1 << 18


@dataclass
class Told(Generic[T]):
    """Answers by the numbers of combinations; what numbers them is `by`. None stands where no row has asked yet."""

    by: tuple[object, ...]
    answers: list[T | None]
    asked: NDArray[np.bool_]
    _made: dict[object, Any] = field(default_factory=dict)

    @classmethod
    def none(cls, by: tuple[object, ...], size: int) -> Told[T]:
        """No answers yet."""
        return cls(by, [None] * size, np.zeros(size, dtype=np.bool_))

    def is_of(self, by: tuple[object, ...]) -> bool:
        """Whether combinations are numbered in the same way."""
        return len(by) == len(self.by) and all(
            a is b or (isinstance(a, int) and a == b) for a, b in zip(by, self.by, strict=True)
        )

    def tell(self, numbers: NDArray[np.int64], answer: Callable[[int], T]) -> None:
        """Ask what was not asked before."""
        for number in numbers.tolist():
            self.answers[number] = answer(number)
        if len(numbers):
            self.asked[numbers] = True
            self._made.clear()

    def where(self, answer: object) -> NDArray[np.bool_]:
        """Which of the combinations have an answer."""
        found: NDArray[np.bool_] = self.made(
            ("where", answer), lambda answers: np.array([each is answer for each in answers], np.bool_)
        )
        return found

    def made(self, what: object, make: Callable[[list[T | None]], Any]) -> Any:
        """What is made of the answers, made once for as long as they are the same."""
        if what not in self._made:
            self._made[what] = make(self.answers)
        return self._made[what]


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
        self.told = Told[T].none((None,), 0)
        self._one = columns.all[self.read[0]].values if self.are_listed and len(self.read) == 1 else None

    def are_few(self) -> bool:
        """Whether there are so few combinations that a plane for each costs less than looking up every row."""
        if self._one is not None:
            return len(self._one) <= _FEW
        return self.are_listed and math.prod(self._sizes()) <= _FEW

    def _sizes(self) -> list[int]:
        return [len(self.columns.all[key].values) for key in self.read]

    def planes(self, block: Block) -> tuple[Plane, Plane]:
        """Where the answer is true and where it is false, from the planes of the values."""
        if self._one is not None:
            return self._of_one(block, self.read[0], len(self._one))
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

    def _of_one(self, block: Block, key: Key, many: int) -> tuple[Plane, Plane]:
        if self.sides is None or self.sides[0] != many:
            answers = [self._of_codes((code,)) for code in range(many)]
            true, false = ([at for at, answer in enumerate(answers) if answer is side] for side in (True, False))
            self.sides = many, answers[0] is None, true, false
        _, blank_is_open, true, false = self.sides
        if len(true) == len(false) == 1:
            return block.plane(key, true[0]), block.plane(key, false[0])
        few, more = (true, false) if len(true) <= len(false) else (false, true)
        first = _union(block, key, few)
        if len(more) == 1:
            second = block.plane(key, more[0])
        elif len(few) + len(more) == many:
            second = every_row(block.rows) ^ first
        elif len(few) + len(more) == many - 1 and blank_is_open:
            # All values have an answer, and a blank has none.
            second = every_row(block.rows) ^ (first | block.plane(key, 0))
        else:
            second = _union(block, key, more)
        return (first, second) if few is true else (second, first)

    def _of_codes(self, codes: tuple[int, ...]) -> T:
        if codes not in self.coded:
            stated = [(key, self.columns.all[key], code) for key, code in zip(self.read, codes, strict=True)]
            self.coded[codes] = self.ask({key: it.values[code] for key, it, code in stated if it.known[code]})
        return self.coded[codes]

    def answers(self, block: Block) -> tuple[Told[T], NDArray[Any]]:
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
        told = Told[T].none(kept or (), size)
        if kept is not None and self.told.is_of(kept):
            told = self.told
        elif kept is not None:
            self.told = told
        new = np.flatnonzero((np.bincount(at, minlength=size) > 0) & ~told.asked)
        if len(new):
            first = np.zeros(size, dtype=np.int64)
            first[at[::-1]] = np.arange(block.rows - 1, -1, -1)
            told.tell(new, lambda number: self.answer(block, int(first[number])))
        return told, at

    def _listed(self, block: Block, sizes: list[int]) -> tuple[Told[T], NDArray[Any]]:
        size = math.prod(sizes)

        def find() -> tuple[NDArray[Any], NDArray[np.bool_]]:
            at: NDArray[Any] = np.zeros(block.rows, dtype=np.uint8 if size <= _BYTE else np.int64)
            for key, many in zip(self.read, sizes, strict=True):
                if key is not self.read[0]:
                    at *= at.dtype.type(many)
                at += block.array(key)
            return at, np.bincount(at, minlength=size) > 0

        at, occurs = block.once(("combinations", *self.read), find)
        by = tuple(sizes)
        if not self.told.is_of(by):
            self.told = Told[T].none(by, size)
        self.told.tell(np.flatnonzero(occurs & ~self.told.asked), lambda number: self._of_number(number, sizes))
        return self.told, at

    def _of_number(self, number: int, sizes: Sequence[int]) -> T:
        codes = []
        for many in reversed(sizes):
            number, code = divmod(number, many)
            codes.append(code)
        return self._of_codes(tuple(reversed(codes)))

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


def _union(block: Block, key: Key, codes: Sequence[int]) -> Plane:
    if len(codes) == 1:
        return block.plane(key, codes[0])
    found = np.zeros(-(-block.rows // 64), dtype=np.uint64)
    for code in codes:
        np.bitwise_or(found, block.plane(key, code), found)
    return found
