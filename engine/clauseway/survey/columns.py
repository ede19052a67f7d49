"""Columns of facts: what a column is called, and its values, read as in a file of openings."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from clauseway.case.project import member_path
from clauseway.case.read_value import read_value
from clauseway.case.things import Given, Project
from clauseway.language.possible import Interval, System, Value
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.survey.block import Bits, Block, Listed, Plain
from clauseway.survey.dependence import Key
from clauseway.survey.planes import Plane, every_row, of_bits, packed
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

    def number(self, written: float) -> float:
        """The number of its dimension that a written one is."""
        return written * self.factor + self.offset

    def point(self, written: float) -> Interval:
        """The same as a value."""
        number = self.number(written)
        return Interval(number, number, self.system)


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
    seen: list[NDArray[np.float64]] = field(default_factory=list)
    """The distinct numbers met so far, where they are few: one sorted array, or none."""
    turns: set[float] = field(default_factory=set)
    """Where the truth of a comparison changes: the rows up to there are wanted as soon as the numbers are read."""
    asked: set[int] = field(default_factory=set)
    """The values whose planes were asked for: in the next block they are wanted too."""
    _codes: dict[object, int] = field(default_factory=dict)
    _listed: tuple[Any, list[int]] = (None, [])

    def code(self, written: object) -> int:
        """The number of a value as it is written in the data.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        if written is None or written == "":
            return 0
        if isinstance(written, str) and ";" in written and self.fact.sort == "choices":
            written = [part.strip() for part in written.split(";")]
        key = _told_apart(written)
        if key not in self._codes:
            given = self.read(written)
            if given is None:
                return 0
            self._codes[key] = len(self.values)
            self.values.append(given.value)
            self.known.append(True)
        return self._codes[key]

    def read(self, written: object) -> Given | None:
        """A value as it is written in the data; none where that says that it is unknown.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        return read_value(node_from_data(written, f"column {self.name}"), self.fact, self.dotted, self.vocabulary)

    def codes_of(self, dictionary: Any) -> list[int]:
        """The numbers of the values that an Arrow dictionary lists, which most often is that of the block before.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        known, codes = self._listed
        if known is None or not known.equals(dictionary):
            codes = [self.code(each) for each in dictionary.to_pylist()]
            self._listed = dictionary, codes
        return codes


class Columns:
    """The columns that say something of an opening; `names` are those of a data set.

    Raises:
        ClausewayError: for a unit that a column cannot have, and for two columns of one fact.
    """

    def __init__(self, project: Project, opening: str, vocabulary: Vocabulary, names: Sequence[str]) -> None:
        self.possible = fact_names(project, opening, vocabulary)
        self.all: dict[Key, Column] = {}
        self.by_name: dict[str, Column] = {}
        self.ways: tuple[Any, list[tuple[str, int, Callable[[Any], Any] | None]]] = (None, [])
        """How arrays of an Arrow schema are made ready, for the schema that came last."""
        for name in names:
            column = self._column(name, vocabulary)
            if column is None:
                continue
            if column.key in self.all:
                found = f"{column.dotted} once more, of which column {self.all[column.key].name} speaks"
                raise ClausewayError(Problem(Place(f"column {name}"), found, "one column for a fact"))
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
        # Every value is read now, whether a term needs it or not: what is not understood is refused.
        read: dict[Key, Listed | Bits | Plain] = {}
        for name, column in self.by_name.items():
            made = _numbers if column.scale is not None else _values
            read[column.key] = made(column, data[name], rows)
        return Block(rows, read)

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


def _told_apart(written: object) -> object:
    """What tells a value from all others. To Python, True is 1 and 1.0: as values of a fact they are not the same."""
    if isinstance(written, str):
        return written
    if isinstance(written, list | tuple):
        return tuple(map(_told_apart, written))
    return type(written), repr(written) if not isinstance(written, int) else written


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
    wanted = "count" if fact.sort == "count" else fact.unit
    try:
        zero, one = (parse_quantity(f"{number} {unit}", wanted) for number in (0, 1))
    except QuantityError as error:
        raise ClausewayError(Problem(Place(f"column {name}"), error.found, error.expected, error.nearest)) from None
    return Scale(one.value - zero.value, zero.value, one.system)


def _numbers(column: Column, values: Any, rows: int) -> Plain:
    scale = column.scale
    assert scale is not None
    stated, is_whole = None, False
    if hasattr(values, "buffers"):
        bits, data = values.buffers()
        stated = _stated(values, bits, rows)
        # Of a blank, any number may stand there.
        is_whole = type(values).__name__ == "Int64Array"
        written = _buffer(data, np.int64 if is_whole else np.float64, values.offset, rows)
        if is_whole:
            written = written.astype(np.float64)
    else:
        written = _floats(column, values)
    found = Plain(rows, written, stated, scale.factor, scale.offset, column.seen)
    if not rows:
        return found
    ends = _ends(written, scale.offset == 0 == column.fact.low)
    if not all(_is_possible(column, end) for end in ends) or (
        column.fact.sort == "count" and not is_whole and not _are_whole(written)
    ):
        # Some are not numbers, or are wrong, or stand where a blank is.
        number = packed(written == written)
        found.stated = number if stated is None else stated & number
        _refuse_wrong(column, found)
    for turn in column.turns:
        # Now they lie in the processor's cache.
        found.up_to(turn)
    return found


def _floats(column: Column, values: Any) -> NDArray[np.float64]:
    """Numbers of Python or NumPy as floating point; None is a blank."""
    place, expected = Place(f"column {column.name}"), "numbers, or no unit in the column's name"
    # NumPy takes most of these for numbers as well.
    listed = [] if isinstance(values, np.ndarray) and values.dtype.kind in "iuf" else values
    wrong = next((each for each in listed if isinstance(each, bool | np.bool_ | str | bytes | list | tuple)), None)
    if wrong is not None:
        raise ClausewayError(Problem(place, f"{wrong!r:.60} among numbers", expected))
    try:
        return np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        raise ClausewayError(Problem(place, "what is no number among numbers", expected)) from None


def _ends(written: NDArray[np.float64], is_natural: bool) -> tuple[float, float]:
    """Numbers between which all stand. Of those that may not be less than nothing, one look at their bits finds both:
    as whole numbers they have the same order, and below nothing and what is not a number come last."""
    if is_natural:
        bits = np.maximum.reduce(written.view(np.uint64))
        if bits < _NO_NUMBER:
            return 0.0, float(bits.view(np.float64))
    return float(np.minimum.reduce(written)), float(np.maximum.reduce(written))


_NO_NUMBER = np.array(math.inf).view(np.uint64)


def _is_possible(column: Column, written: float) -> bool:
    scale, fact = column.scale, column.fact
    assert scale is not None
    number = scale.number(written)
    return fact.low <= number <= fact.high and abs(number) < math.inf


def _are_whole(written: NDArray[np.float64]) -> bool:
    return bool((np.floor(written) == written).all())


def _refuse_wrong(column: Column, found: Plain) -> None:
    with np.errstate(over="ignore"):
        fact, number = column.fact, found.array
    right = (number >= fact.low) & (number <= fact.high) & (np.abs(number) < np.inf) | np.isnan(number)
    if fact.sort == "count":
        right &= (np.floor(number) == number) | np.isnan(number)
    if not right.all():
        first = found.written[np.flatnonzero(~right)[0]]
        raise ClausewayError(
            Problem(Place(f"column {column.name}"), f"{first:g} for {column.dotted}", "a number that it can be")
        )


def _values(column: Column, values: Any, rows: int) -> Listed | Bits:
    if not hasattr(values, "buffers"):
        plain = [column.code(each) for each in values]
        return Listed(rows, np.array(plain, dtype=_narrow(len(column.values))), range(len(column.values)), None)
    bits, data = values.buffers()[:2]
    stated = _stated(values, bits, rows)
    if type(values).__name__ == "BooleanArray":
        known = every_row(rows) if stated is None else stated
        yes = of_bits(data, values.offset, rows) & known if data is not None else np.zeros_like(known)
        return Bits(rows, yes, (column.code(False), column.code(True)), known)
    codes = column.codes_of(values.dictionary)
    # The places themselves are kept, and compared with those of a value: that is quicker than looking each up.
    places = _buffer(data, values.type.index_type.to_pandas_dtype(), values.offset, rows)
    found = Listed(rows, places.astype(_narrow(len(codes))), codes, stated, column.asked)
    for code in tuple(column.asked):
        # Now they lie in the processor's cache.
        found.plane(code)
    return found


def _stated(values: Any, bits: Any, rows: int) -> Plane | None:
    """The rows of an Arrow array that have a value; none where all have."""
    return None if bits is None or not values.null_count else of_bits(bits, values.offset, rows)


def _buffer(data: Any, kind: Any, first: int, rows: int) -> NDArray[Any]:
    return np.zeros(rows, dtype=kind) if data is None else np.frombuffer(data, kind, first + rows)[first:]


def _narrow(many: int) -> type[np.uint8] | type[np.int64]:
    return np.uint8 if many <= 256 else np.int64
