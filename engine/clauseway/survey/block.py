"""What columns hold in the rows of a block: values by number or as bits, and plain numbers, as planes on demand."""

from __future__ import annotations

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
BLOCK = 1 << 17
"""Rows that are surveyed at once: their planes fit in the cache of a processor."""
BLOCK_OF_INTERVALS = 1 << 14
"""Where numbers are worked out row by row, theirs have to fit there as well."""


@dataclass
class Listed:
    """A column of values by their places in a list: `codes` gives the number of the value at each place.

    `stated` are the rows that have a value, none for all of them; elsewhere a place means nothing.
    """

    rows: int
    at: NDArray[Any]
    codes: Sequence[int]
    stated: Plane | None
    _planes: dict[int, Plane] = field(default_factory=dict)

    def plane(self, code: int) -> Plane:
        """The rows in which the column has the value with a number; 0 is that of a blank."""
        found = self._planes.get(code)
        if found is None:
            found = self._planes[code] = self._plane(code)
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
                found |= every_row(self.rows) & ~self.stated
        return found

    @cached_property
    def array(self) -> NDArray[Any]:
        """The number of the value in each row."""
        wide = np.uint8 if max(self.codes, default=0) < 256 else np.int64
        # What a blank has for a place may be any: it is brought into the list, and then left out.
        found = np.array([*self.codes, 0], dtype=wide).take(self.at, mode="clip")
        if self.stated is not None:
            found[~rows_of(self.stated, self.rows)] = 0
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
        if code == 0:
            return self._blank
        if code not in self.codes:
            return np.zeros_like(self.yes)
        return self.yes if self.codes[1] == code else self._no

    @cached_property
    def _no(self) -> Plane:
        return self.stated & ~self.yes

    @cached_property
    def _blank(self) -> Plane:
        return every_row(self.rows) & ~self.stated

    @cached_property
    def array(self) -> NDArray[Any]:
        """The number of the value in each row."""
        found = np.zeros(self.rows, dtype=np.int64 if max(self.codes) > 255 else np.uint8)
        found[rows_of(self._no, self.rows)] = self.codes[0]
        found[rows_of(self.yes, self.rows)] = self.codes[1]
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
        return self._every & ~self.up_to(last)

    @cached_property
    def blank(self) -> Plane:
        """The rows without a number."""
        return every_row(self.rows) & ~self._every

    @cached_property
    def _every(self) -> Plane:
        return every_row(self.rows) if self.stated is None else self.stated

    def numbered(self) -> tuple[NDArray[Any], int, object]:
        """The distinct numbers by number, and how many there are. Where they are few, those of other blocks serve, and
        are given as well; else none."""
        array, seen = self.array, self.seen
        if seen:
            at = np.searchsorted(seen[0], array)
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
        found = self.written
        if (self.factor, self.offset) != (1.0, 0.0):
            found = found * self.factor + self.offset
        if self.stated is not None:
            found = np.where(rows_of(self.stated, self.rows), found, np.nan)
        return found


class Block:
    """The values of some rows. What is worked out of them is kept as long as the block."""

    def __init__(self, rows: int, columns: Mapping[Key, Listed | Bits | Plain]) -> None:
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

    def only(self, rows: NDArray[np.int64]) -> Block:
        """Some of the rows."""
        some: dict[Key, Listed | Bits | Plain] = {}
        for key, column in self._columns.items():
            array = np.asarray(column.array[rows])
            if isinstance(column, Plain):
                some[key] = Plain(len(rows), array, packed(array == array), 1.0, 0.0, column.seen)
            else:
                some[key] = Listed(len(rows), array, range(int(array.max(initial=0)) + 1), None)
        return Block(len(rows), some)
