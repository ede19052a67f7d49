"""What columns hold in the rows of a block: values by number or as bits, and plain numbers, as planes on demand."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from clauseway.survey.dependence import Key
from clauseway.survey.planes import Plane, every_row, packed, rows_of

T = TypeVar("T")
_FEW = 256
_SOUGHT = 64
BLOCK = 1 << 17
"""Rows that are surveyed at once: their planes fit in the cache of a processor."""
_CELLS = 1 << 21
PART = 1 << 14
"""Where numbers are worked out row by row, it is for so many rows at once: theirs have to fit there as well."""


def at_once(columns: int) -> int:
    """How many rows are read and run at once: fewer where they are wide, so that memory is bounded."""
    return min(BLOCK, max(1 << 12, 1 << (_CELLS // max(columns, 1)).bit_length() - 1))


@dataclass
class Listed:
    """A column of values by their places in a list: `codes` gives the number of the value at each place.

    `stated` are the rows that have a value, none for all of them; elsewhere a place means nothing. The values whose
    planes were asked for are `asked`.
    """

    rows: int
    at: NDArray[Any]
    codes: Sequence[int]
    stated: Plane | None
    asked: set[int] = field(default_factory=set)
    _planes: dict[int, Plane] = field(default_factory=dict)

    def plane(self, code: int) -> Plane:
        """The rows in which the column has the value with a number; 0 is that of a blank."""
        found = self._planes.get(code)
        if found is None:
            found = self._planes[code] = self._plane(code)
            self.asked.add(code)
        return found

    def _plane(self, code: int) -> Plane:
        planes = [packed(self.at == place) for place, each in enumerate(self.codes) if each == code]
        if not planes:
            found = np.zeros(-(-self.rows // 64), dtype=np.uint64)
        else:
            found = planes[0]
            for plane in planes[1:]:
                found |= plane
        if self.stated is not None:
            found &= self.stated
            if code == 0:
                found |= every_row(self.rows) ^ self.stated
        return found

    @cached_property
    def array(self) -> NDArray[Any]:
        """The number of the value in each row."""
        wide: Any = np.uint8 if max(self.codes, default=0) < 256 else np.int64
        # What a blank has for a place may be any: it is brought into the list, and then left out.
        found: NDArray[Any] = np.array([*self.codes, 0], dtype=wide).take(self.at, mode="clip")
        if self.stated is not None:
            # Choosing by rows at random is much slower than this.
            found *= rows_of(self.stated, self.rows)
        return found


@dataclass
class Bits:
    """A column of yes and no, as planes; `codes` are the numbers of no and of yes."""

    rows: int
    yes: Plane
    codes: Sequence[int]
    stated: Plane

    def plane(self, code: int) -> Plane:
        """The rows in which the column has the value with a number; 0 is that of a blank."""
        if code == self.codes[1]:
            return self.yes
        if code == self.codes[0]:
            return self._no
        return self._blank if code == 0 else np.zeros_like(self.yes)

    @cached_property
    def _no(self) -> Plane:
        return self.stated ^ self.yes

    @cached_property
    def _blank(self) -> Plane:
        return every_row(self.rows) ^ self.stated

    @cached_property
    def array(self) -> NDArray[Any]:
        """The number of the value in each row."""
        wide: Any = np.int64 if max(self.codes) > 255 else np.uint8
        no, yes = (rows_of(plane, self.rows).astype(wide) for plane in (self._no, self.yes))
        found: NDArray[Any] = no * wide(self.codes[0]) + yes * wide(self.codes[1])
        return found


@dataclass
class Plain:
    """A column of plain numbers as they are written; `stated` are the rows that have one, none for all of them.

    A number that is written becomes one of its dimension by `factor` and `offset`.
    """

    rows: int
    written: NDArray[np.float64]
    stated: Plane | None
    factor: float
    offset: float
    seen: list[NDArray[np.float64]] = field(default_factory=list)
    _planes: dict[float, Plane] = field(default_factory=dict)

    def up_to(self, last: float) -> Plane:
        """The rows with a number that is written as `last` or less."""
        found = self._planes.get(last)
        if found is None:
            found = packed(self.written <= last)
            if self.stated is not None:
                found &= self.stated
            self._planes[last] = found
        return found

    def beyond(self, last: float) -> Plane:
        """The rows with a number that is written as more than `last`."""
        return self._every ^ self.up_to(last)

    @cached_property
    def blank(self) -> Plane:
        """The rows without a number."""
        return every_row(self.rows) ^ self._every

    @cached_property
    def _every(self) -> Plane:
        return every_row(self.rows) if self.stated is None else self.stated

    def numbered(self) -> tuple[NDArray[Any], int, object]:
        """The distinct numbers by number, and how many there are. Where they are few, those of other blocks serve, and
        are given as well; else none."""
        array, seen = self.array, self.seen
        if seen:
            at = _places(seen[0], array)
            found = seen[0].take(at, mode="clip")
            if ((found == array) | (np.isnan(found) & np.isnan(array))).all():
                return at, len(seen[0]), seen[0]
        values, at = np.unique(array, return_inverse=True)
        merged = np.unique(np.concatenate([*seen, values]))
        if len(merged) <= _FEW:
            seen[:] = [merged]
        return at, len(values), None

    @cached_property
    def array(self) -> NDArray[np.float64]:
        """The number of its dimension in each row, or none: not a number."""
        return self.filled(math.nan)

    def filled(self, blank: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """The number of its dimension in each row, and others where there is none. It is not to be written to."""
        if not len(self.blanks):
            return self._numbers
        found = self._numbers.copy()
        found[self.blanks] = blank
        return found

    @cached_property
    def _numbers(self) -> NDArray[np.float64]:
        found = self.written if self.factor == 1.0 else self.written * self.factor
        return found + self.offset if self.offset else found

    @cached_property
    def blanks(self) -> NDArray[np.int64]:
        """The rows without a number, by their places."""
        return np.flatnonzero(rows_of(self.blank, self.rows))


def _places(ordered: NDArray[np.float64], array: NDArray[np.float64]) -> NDArray[Any]:
    """Where each number stands among some; what is not a number comes last."""
    if len(ordered) > _SOUGHT:
        return np.searchsorted(ordered, array)
    # As many comparisons with one number each are quicker than looking for each number.
    found = np.zeros(len(array), dtype=np.uint8)
    for each in ordered[:-1]:
        found += ~(array <= each)
    return found


Held = Listed | Bits | Plain
"""What a block holds of a column."""


class _Found(dict[Key, Held]):
    """Columns that are made when they are asked for."""

    def __init__(self, make: Callable[[Key], Held]) -> None:
        self.make = make

    def __missing__(self, key: Key) -> Held:
        found = self[key] = self.make(key)
        return found


class Block:
    """The values of some rows. What is worked out of them is kept as long as the block."""

    def __init__(self, rows: int, columns: Mapping[Key, Held]) -> None:
        self.rows = rows
        self._columns = columns
        self._numbered: dict[Key, tuple[NDArray[Any], int, object]] = {}
        self._found: dict[object, Any] = {}

    def array(self, key: Key) -> NDArray[Any]:
        """For each row the number of the value of a column, or its plain number, where not a number is a blank."""
        return self._columns[key].array

    def plane(self, key: Key, code: int) -> Plane:
        """The rows in which a column has the value with a number. It is not to be written to."""
        column = self._columns[key]
        assert not isinstance(column, Plain)
        return column.plane(code)

    def plain(self, key: Key) -> Plain:
        """A column of plain numbers."""
        column = self._columns[key]
        assert isinstance(column, Plain)
        return column

    def numbered(self, key: Key) -> tuple[NDArray[Any], int, object]:
        """The distinct plain numbers of a column by number, how many there are, and what numbers other blocks too."""
        if key not in self._numbered:
            self._numbered[key] = self.plain(key).numbered()
        return self._numbered[key]

    def once(self, what: object, find: Callable[[], T]) -> T:
        """What `find` gives, found once for this block."""
        if what not in self._found:
            self._found[what] = find()
        found: T = self._found[what]
        return found

    def part(self, start: int, rows: int) -> Block:
        """So many rows from one on, which is a multiple of 64; nothing is copied."""
        words = slice(start // 64, -(-(start + rows) // 64))

        def make(key: Key) -> Held:
            column = self._columns[key]
            if isinstance(column, Bits):
                return Bits(rows, column.yes[words], column.codes, column.stated[words])
            stated = None if column.stated is None else column.stated[words]
            if isinstance(column, Listed):
                return Listed(rows, column.at[start : start + rows], column.codes, stated, column.asked)
            written = column.written[start : start + rows]
            return Plain(rows, written, stated, column.factor, column.offset, column.seen)

        return Block(rows, _Found(make))

    def only(self, rows: NDArray[np.int64]) -> Block:
        """Some of the rows."""

        def make(key: Key) -> Held:
            column = self._columns[key]
            array = np.asarray(column.array[rows])
            if isinstance(column, Plain):
                return Plain(len(rows), array, packed(array == array), 1.0, 0.0, column.seen)
            return Listed(len(rows), array, range(int(array.max(initial=0)) + 1), None)

        return Block(len(rows), _Found(make))
