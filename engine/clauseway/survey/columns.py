"""Columns of facts: what a column is called, and its values, read as in a file of openings, block by block."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clauseway.case.project import member_path
from clauseway.case.read_value import read_value
from clauseway.case.things import Project
from clauseway.language.possible import Interval, System, Value
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.survey.dependence import Key
from clauseway.survey.planes import Plane, packed
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.quantity import QuantityError, parse_quantity
from clauseway.text.source import node_from_data

NUMBERS = ("quantity", "count")
_WITH_UNIT = re.compile(r"(.+?) \[(.+)\]")


@dataclass(frozen=True)
class Scale:
    """How numbers of a unit become numbers of its dimension."""

    factor: float
    offset: float
    system: System | None


@dataclass
class Column:
    """One column. `values` are the distinct values met so far; the first is that of a blank: unknown.

    A column with a `scale` holds plain numbers instead.
    """

    name: str
    key: Key
    fact: Fact
    dotted: str
    vocabulary: Vocabulary
    scale: Scale | None = None
    values: list[Value] = field(default_factory=lambda: [None])
    known: list[bool] = field(default_factory=lambda: [False])
    _codes: dict[object, int] = field(default_factory=dict)

    def code(self, written: object) -> int:
        """The number of a value as it is written in the data.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        if written is None or written == "":
            return 0
        if isinstance(written, str) and ";" in written and self.fact.sort == "choices":
            written = [part.strip() for part in written.split(";")]
        if isinstance(written, list):
            written = tuple(written)
        if written not in self._codes:
            node = node_from_data(written, f"column {self.name}")
            given = read_value(node, self.fact, self.dotted, self.vocabulary)
            if given is None:
                return 0
            self._codes[written] = len(self.values)
            self.values.append(given.value)
            self.known.append(True)
        return self._codes[written]


class Block:
    """The values of some rows: for each column the numbers of its values, or plain numbers (not a number: unknown).

    They are made when a term first reads them, and kept as long as the block.
    """

    def __init__(self, rows: int, made: Mapping[Key, Callable[[], NDArray[Any]]]) -> None:
        self.rows = rows
        self._made = made
        self._arrays: dict[Key, NDArray[Any]] = {}
        self._planes: dict[tuple[Key, int], Plane] = {}
        self._numbered: dict[Key, tuple[NDArray[Any], int]] = {}

    def array(self, key: Key) -> NDArray[Any]:
        """The values of a column."""
        if key not in self._arrays:
            self._arrays[key] = self._made[key]()
        return self._arrays[key]

    def plane(self, key: Key, code: int) -> Plane:
        """The rows in which a column has the value with a number."""
        if (key, code) not in self._planes:
            self._planes[key, code] = packed(self.array(key) == code)
        return self._planes[key, code]

    def numbered(self, key: Key) -> tuple[NDArray[Any], int]:
        """The distinct plain numbers of a column by number, and how many there are."""
        if key not in self._numbered:
            values, at = np.unique(self.array(key), return_inverse=True)
            self._numbered[key] = at, len(values)
        return self._numbered[key]

    def only(self, rows: NDArray[np.int64]) -> Block:
        """Some of the rows."""
        return Block(len(rows), {key: partial(self._some, key, rows) for key in self._made})

    def _some(self, key: Key, rows: NDArray[np.int64]) -> NDArray[Any]:
        return np.asarray(self.array(key)[rows])


class Columns:
    """The columns that say something of an opening; `names` are those of a data set."""

    def __init__(self, project: Project, opening: str, vocabulary: Vocabulary, names: Sequence[str]) -> None:
        self.possible = fact_names(project, opening, vocabulary)
        self.all: dict[Key, Column] = {}
        self.by_name: dict[str, Column] = {}
        for name in names:
            column = self._column(name, vocabulary)
            if column is not None:
                self.all[column.key] = self.by_name[name] = column

    def _column(self, name: str, vocabulary: Vocabulary) -> Column | None:
        found = _WITH_UNIT.fullmatch(name)
        plain, unit = (found[1], found[2]) if found else (name, "")
        if plain not in self.possible:
            return None
        key, kind = self.possible[plain]
        fact = vocabulary.kinds[kind].facts[key[1]]
        scale = _scale(name, unit, fact) if unit or fact.sort == "count" else None
        return Column(name, key, fact, f"{kind}.{fact.name}", vocabulary, scale)

    def block(self, data: Mapping[str, Any], rows: int) -> Block:
        """The values of a block of rows, each column a sequence.

        Raises:
            ClausewayError: for a value that a fact cannot have.
        """
        made: dict[Key, Callable[[], NDArray[Any]]] = {}
        for name, column in self.by_name.items():
            # Every value is read now, whether a term needs it or not: what is not understood is refused.
            read = _numbers if column.scale is not None else _codes
            made[column.key] = read(column, data[name])
        return Block(rows, made)

    @cached_property
    def wide(self) -> frozenset[Key]:
        """The columns of plain numbers."""
        return frozenset(column.key for column in self.all.values() if column.scale is not None)

    def value(self, key: Key, block: Block, row: int) -> tuple[bool, Value]:
        """Whether the fact is stated in a row, and its value."""
        column = self.all[key]
        if column.scale is None:
            code = int(block.array(key)[row])
            return column.known[code], column.values[code]
        number = float(block.array(key)[row])
        return not math.isnan(number), Interval(number, number, column.scale.system)


def fact_names(project: Project, opening: str, vocabulary: Vocabulary) -> dict[str, tuple[Key, str]]:
    """What columns may be called: facts of the opening and what belongs to it by its own names, others by full ones."""
    found: dict[str, tuple[Key, str]] = {}
    own = member_path("", "openings", opening)
    for path, thing in sorted(project.things.items()):
        if thing.kind == "opening" and path != own:
            continue
        if path == own:
            prefix = ""
        elif path.startswith(f"{own}/"):
            prefix = path.removeprefix(f"{own}/").replace("/", ".") + "."
        elif path.startswith("openings/"):
            continue
        else:
            prefix = (path.replace("/", ".") or "building") + "."
        for name in vocabulary.kinds[thing.kind].facts:
            found.setdefault(f"{prefix}{name}", ((path, name), thing.kind))
    return found


def unknown_column(name: str, known: Sequence[str], file: str) -> Problem:
    """That a column says nothing that any of the openings has."""
    plain = name.partition(" [")[0]
    return Problem(
        Place(file),
        f"no opening that rows are like has {plain}",
        one_of(sorted(known), 8) + ", or --ignore for a column that says nothing of the opening",
        nearest(plain, known) or "",
    )


def _scale(name: str, unit: str, fact: Fact) -> Scale:
    if fact.sort not in NUMBERS:
        raise ClausewayError(Problem(Place(f"column {name}"), f"a unit for a {fact.sort}", "no unit"))
    if fact.sort == "count":
        return Scale(1.0, 0.0, None)
    try:
        zero, one = (parse_quantity(f"{number} {unit}", fact.unit) for number in (0, 1))
    except QuantityError as error:
        raise ClausewayError(Problem(Place(f"column {name}"), error.found, error.expected, error.nearest)) from None
    return Scale(one.value - zero.value, zero.value, one.system)


def _numbers(column: Column, values: Any) -> Callable[[], NDArray[Any]]:
    scale, fact = column.scale, column.fact
    assert scale is not None
    try:
        given = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError):
        raise ClausewayError(
            Problem(Place(f"column {column.name}"), "text among numbers", "numbers, or no unit in the column's name")
        ) from None
    result = given if (scale.factor, scale.offset) == (1.0, 0.0) else given * scale.factor + scale.offset
    wrong = ~((result >= fact.low) & (result <= fact.high) & (np.abs(result) < np.inf) | np.isnan(result))
    if fact.sort == "count":
        wrong |= (np.floor(result) != result) & ~np.isnan(result)
    if wrong.any():
        first = given[np.flatnonzero(wrong)[0]]
        raise ClausewayError(
            Problem(Place(f"column {column.name}"), f"{first:g} for {column.dotted}", "a number that it can be")
        )
    return lambda: result


def _codes(column: Column, values: Any) -> Callable[[], NDArray[Any]]:
    dictionary = getattr(values, "dictionary", None)
    if str(getattr(values, "type", "")) == "bool":
        codes = [column.code(False), column.code(True)]
        return lambda: _coded(column, codes, values.cast("int8"))
    if dictionary is None:
        plain = [column.code(each) for each in values]
        return lambda: np.array(plain, dtype=_narrow(column))
    codes = [column.code(each) for each in dictionary.to_pylist()]

    return lambda: _coded(column, codes, values.indices)


def _coded(column: Column, codes: list[int], at: Any) -> NDArray[Any]:
    # A blank has -1 here, which takes the last.
    numbers = np.array([*codes, 0], dtype=_narrow(column))
    return np.asarray(numbers[at.fill_null(-1).to_numpy(zero_copy_only=False)])


def _narrow(column: Column) -> type[np.uint8] | type[np.int64]:
    return np.uint8 if len(column.values) <= 256 else np.int64
