"""One column of a row: its value as somebody wrote it, and the truths of the leaves that read this column alone."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TypeVar

from clauseway.language.possible import Interval, Value
from clauseway.survey.columns import Column
from clauseway.survey.graph import Graph
from clauseway.survey.row_terms import RowLeaf
from clauseway.survey.turning import LARGEST, last
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import node_from_data

T = TypeVar("T")
Entry = int | tuple[int, ...]
MOST = 1 << 12
"""How many values, or combinations of them, are remembered; beyond that, memory begins anew."""


class RowColumn:
    """Reads what is written in one column. `forms` are leaves with whether they are wanted negated.

    An entry holds the truths of all forms for one value, a single one by itself.
    """

    def __init__(self, column: Column, graph: Graph, forms: Sequence[tuple[RowLeaf, bool]]) -> None:
        self.column = column
        self.graph = graph
        self.forms = forms
        self.blank = self._entry(None)

    def _entry(self, stated: tuple[Value] | None) -> Entry:
        assumed = {} if stated is None else {self.column.key: stated[0]}
        found = []
        for leaf, negated in self.forms:
            truth = self.graph.number(*leaf.ask(assumed))
            found.append(~truth if negated and truth <= 0 else truth)
        return found[0] if len(found) == 1 else tuple(found)

    def entry(self, written: object) -> Entry:
        """The entry for a value as it is written.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        return self._entry(self.stated(written))

    def stated(self, written: object) -> tuple[Value] | None:
        """The value that is written, or none for a blank.

        Raises:
            ClausewayError: for a value that the fact cannot have.
        """
        plain = self.plain(written)
        if plain is None or plain == "":
            return None
        if self.column.scale is not None:
            return (self.number(plain),)
        if isinstance(plain, str) and ";" in plain and self.column.fact.sort == "choices":
            plain = tuple(part.strip() for part in plain.split(";"))
        return self._read(plain)

    def plain(self, written: object) -> object:
        """What is written, in the one form that the code for a row compares: a number within what the fact allows, yes
        or no, a text, several texts, or nothing.

        Raises:
            ClausewayError: for what is none of these, or is not allowed.
        """
        if written is None:
            return None
        if self.column.scale is not None:
            return self._number(written)
        if self.column.fact.sort in ("yes-no", "approval"):
            if isinstance(written, bool):
                return written
            text = self._text(written)
            stated = self._read(text) if text else None
            return None if stated is None else stated[0]
        if isinstance(written, list | tuple):
            return tuple(self._text(each) for each in written)
        return self._text(written)

    def _read(self, plain: object) -> tuple[Value] | None:
        given = self.column.read(plain)
        return None if given is None else (given.value,)

    def _text(self, written: object) -> str:
        node = node_from_data(written, f"column {self.column.name}")
        if node.text is None:
            found = f"{node.kind} for {self.column.dotted}"
            raise ClausewayError(Problem(node.place, found, "a value as it stands in a file of openings"))
        return node.text

    def _number(self, written: object) -> float | None:
        column, fact, scale = self.column, self.column.fact, self.column.scale
        assert scale is not None
        place = Place(f"column {column.name}")
        if isinstance(written, bool) or not isinstance(written, int | float):
            expected = "a number, or no unit in the column's name"
            raise ClausewayError(Problem(place, f"{written!r:.60} for {column.dotted}", expected))
        if written != written:
            return None
        try:
            number = scale.number(written)
        except OverflowError:
            number = math.inf
        if not fact.low <= number <= fact.high or math.isinf(number) or (fact.sort == "count" and number % 1):
            raise ClausewayError(Problem(place, f"{written!r:.60} for {column.dotted}", "a number that it can be"))
        return float(written)

    def number(self, written: object) -> Interval:
        """The number of its dimension that a plain number is."""
        scale = self.column.scale
        assert scale is not None
        assert isinstance(written, int | float)
        return scale.point(written)

    # --- numbers -----------------------------------------------------------------------------------------

    def ends(self) -> tuple[float, float]:
        """The least and the largest number that may be written."""
        scale, fact = self.column.scale, self.column.fact
        assert scale is not None

        number = scale.number
        most = LARGEST / max(1.0, scale.factor)
        too_low = last(lambda written: number(written) < fact.low, -most, most) if number(-most) < fact.low else -most
        highest = last(lambda written: number(written) <= fact.high, -most, most) if number(most) > fact.high else most
        return math.nextafter(too_low, math.inf), highest

    def steps(self) -> tuple[list[float], list[Entry]]:
        """Where entries change, and the entry up to each such number and beyond the last."""
        turns = [leaf.turn for leaf, _ in self.forms]
        places = sorted({turn.last for turn in turns if turn is not None})
        entries: list[Entry] = []
        for place in [*places, math.inf]:
            found = []
            for turn, (_, negated) in zip(turns, self.forms, strict=True):
                assert turn is not None
                truth = (place <= turn.last) is turn.first
                found.append(-1 if truth is not negated else 0)
            entries.append(found[0] if len(found) == 1 else tuple(found))
        return places, entries


class Entries(dict[object, T]):
    """What is made of a value as it is written, when it is first met."""

    def __init__(self, make: Callable[[object], T]) -> None:
        super().__init__()
        self.make = make

    def __missing__(self, written: object) -> T:
        if len(self) >= MOST:
            self.clear()
        found = self[written] = self.make(written)
        return found
