"""Numbers of one row: those of columns as they are written, what is computed from them, and the rest as answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from clauseway.language import core
from clauseway.language.possible import Interval, Value
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Dependence, Key

Assumed = Mapping[Key, Value]


@dataclass(frozen=True, slots=True)
class Fixed:
    """A number that is the same in every row, with what is missing for it."""

    value: Interval
    gaps: Gaps


@dataclass(frozen=True, slots=True)
class Told:
    """The checker's answer for what some columns say; where the column `own` has a number, it is that instead."""

    columns: tuple[Key, ...]
    ask: Callable[[Assumed], tuple[Interval, Gaps]]
    own: Key | None


@dataclass(frozen=True, slots=True)
class Worked:
    """A number worked out from others: `operator` is one of arithmetic, or the name of a function."""

    operator: str
    parts: tuple[int, ...]


RowNumber = Fixed | Told | Worked


class RowNumbers:
    """Takes terms that are numbers to their places in a list of numbers, for one reader; equal ones stand once."""

    def __init__(
        self,
        decider: Decider,
        columns: Columns,
        dependence: Dependence,
        numbers: list[RowNumber],
        known: dict[object, int],
    ) -> None:
        self.decider = decider
        self.columns = columns
        self.dependence = dependence
        self.numbers = numbers
        self.known = known

    def of(self, node: core.Node, env: Env) -> int:
        """The place of a term's number."""
        while isinstance(node, core.Named | core.Labelled):
            node = node.body
        key: tuple[object, ...] = ("number", self.decider.mode, id(node), *(thing.key for thing in env.values()), *env)
        if isinstance(node, core.Get):
            key = ("number", self.decider.mode, self.decider.thing(node.source, env).path, node.fact, node.derived)
        if key not in self.known:
            found = self._of(node, env)
            self.known[key] = len(self.numbers)
            self.numbers.append(found)
        return self.known[key]

    def _of(self, node: core.Node, env: Env) -> RowNumber:
        read = self.dependence.of(node, env)
        if not read:
            return Fixed(*_number(self.decider, node, env))
        if isinstance(node, core.Arithmetic):
            return Worked(node.operator, (self.of(node.left, env), self.of(node.right, env)))
        if isinstance(node, core.Function):
            return Worked(node.name, tuple(self.of(each, env) for each in node.arguments))
        own = None
        if isinstance(node, core.Get):
            own = (self.decider.thing(node.source, env).path, node.fact.partition(".")[2])
            own = own if own in self.columns.wide else None
        decider = self.decider

        def ask(assumed: Assumed) -> tuple[Interval, Gaps]:
            return _number(decider.trying(assumed, decider.accept_memory), node, env)

        return Told(tuple(sorted(read - {own})), ask, own)


def _number(decider: Decider, node: core.Node, env: Env) -> tuple[Interval, Gaps]:
    value, gaps = decider.value(node, env)
    assert isinstance(value, Interval)
    return value, gaps
