"""Comparisons of numbers that differ from row to row, on whole blocks, as `readers/decide` does them for one opening.

What a term reads decides how it is worked out: what no column says is asked of the reader once; what only columns of
few values say is asked for each combination of them; and intervals of plain numbers are worked out row by row.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from clauseway.case.things import Thing
from clauseway.language import core
from clauseway.language.possible import Choice, Interval, Truth, Value, belongs
from clauseway.model.provision import Derivation
from clauseway.readers.decide import Decider, Env
from clauseway.survey import spans
from clauseway.survey.block import Block
from clauseway.survey.columns import Column, Columns
from clauseway.survey.combinations import Combinations
from clauseway.survey.dependence import Dependence, Key
from clauseway.survey.digits import Tabled, ends_of_lookup
from clauseway.survey.planes import Plane, Rows, every_row, packed
from clauseway.survey.spans import MARK, Side, Spans
from clauseway.survey.turning import LARGEST, Against, Turn, Turns, last

Evaluate = Callable[[Block], Spans]
Sides = Callable[[Block], Side]
Ask = Callable[[Decider], Value]


@dataclass(frozen=True)
class Leaf:
    """A truth that comes from outside the program; `by_row` says that numbers are worked out row by row for it."""

    run: Callable[[Block], tuple[Plane, Plane]]
    by_row: bool = False


Found = tuple[object, Leaf]
"""What is the same for equal leaves, and one of them."""


class Unsayable(Exception):
    """A term that is not worked out here; the one-opening checker is asked for it."""


class Numbers:
    """Makes functions of blocks from terms that are numbers. `asked` asks the reader by combinations of columns."""

    def __init__(
        self,
        decider: Decider,
        columns: Columns,
        dependence: Dependence,
        asked: Callable[[frozenset[Key], Callable[[Decider], Any]], Combinations[Any]],
    ) -> None:
        self.decider = decider
        self.columns = columns
        self.dependence = dependence
        self.asked = asked
        self.turns = Turns(decider, columns, dependence)
        self._known: dict[tuple[object, ...], tuple[core.Node, Evaluate]] = {}

    def comparison(self, node: core.Compare, env: Env) -> Found:
        """Where a comparison is true and where it is false, block by block; and what is the same for equal ones.

        Raises:
            Unsayable: for what is not worked out here.
        """
        against = self.turns.against(node, env)
        if against is not None:
            turn = self.turns.of(against, env)
            found = (turn, self._written(turn)) if turn is not None else self._step(against, env)
            if found is not None:
                return found
        left, right, operator = self.of(node.left, env), self.of(node.right, env), node.operator

        def run(block: Block) -> tuple[Plane, Plane]:
            true, false = spans.compared(operator, left(block), right(block))
            return _packed(true, block.rows), _packed(false, block.rows)

        return (operator, left, right), Leaf(run, by_row=True)

    # --- a number beside a constant: its truth changes once, at a number that the comparison itself is asked for ---

    def _written(self, found: Turn) -> Leaf:
        self.columns.all[found.key].turns.add(found.last)

        def run(block: Block) -> tuple[Plane, Plane]:
            numbers = block.plain(found.key)
            below, above = numbers.up_to(found.last), numbers.beyond(found.last)
            if found.blank is found.first:
                below = below | numbers.blank
            elif found.blank is not None:
                above = above | numbers.blank
            return (below, above) if found.first else (above, below)

        return Leaf(run)

    def _step(self, against: Against, env: Env) -> Found | None:
        truth = against.truth
        if against.constant.also is not None:
            return None
        ends = truth(Interval(-LARGEST, -LARGEST)), truth(Interval(LARGEST, LARGEST))
        if None in ends or ends[0] is ends[1]:
            return None
        turn = last(lambda number: truth(Interval(number, number)) is ends[0], -LARGEST, LARGEST)
        of = self.of(against.node, env)

        def run(block: Block) -> tuple[Plane, Plane]:
            value = of(block)
            below, above = _packed(value.high <= turn, block.rows), _packed(value.low > turn, block.rows)
            return (below, above) if ends[0] else (above, below)

        return (id(of), turn, ends[0]), Leaf(run, by_row=True)

    def disagreement(self, thing: Thing, name: str, derivation: Derivation) -> Leaf:
        """Where a stated number of a thing cannot be what a derivation gives; nowhere else, be it false or unknown.

        Raises:
            Unsayable: for what is not worked out here.
        """
        column = self.columns.all.get((thing.path, name))
        if column is None or column.scale is None:
            raise Unsayable
        computed = self.of(self.decider.rulebook.derivations[derivation.name].node, self.decider.around(thing))
        key, mark = column.key, np.array(MARK[column.scale.system], dtype=np.uint8)
        operator = {"at-least": ">=", "at-most": "<=", "equal": "=="}[derivation.agrees]

        def run(block: Block) -> tuple[Plane, Plane]:
            numbers = block.plain(key)
            stated = numbers.filled(0.0)
            own = Spans(stated, stated, mark, is_natural=column.fact.low >= 0)
            _, apart = spans.compared(operator, own, computed(block))
            differs = _packed(apart, block.rows) & ~numbers.blank
            return differs, every_row(block.rows) & ~differs

        return Leaf(run, by_row=True)

    # --- numbers ------------------------------------------------------------------------------------------------

    def of(self, node: core.Node, env: Env) -> Evaluate:
        """The intervals of a term, found once for a block.

        Raises:
            Unsayable: for what is not worked out here.
        """
        while isinstance(node, core.Named | core.Labelled):
            node = node.body
        key = self._key(node, env)
        if key not in self._known:
            find = self._of(node, env)

            def once(block: Block) -> Spans:
                return block.once(find, lambda: find(block))

            self._known[key] = (node, once)
        return self._known[key][1]

    def _key(self, node: core.Node, env: Env) -> tuple[object, ...]:
        """What is the same for terms that are the same number of every row."""
        if isinstance(node, core.Get):
            return self.decider.thing(node.source, env).path, node.fact, node.derived
        if not self.dependence.of(node, env):
            return (self.decider.value(node, env)[0],)
        if isinstance(node, core.Arithmetic):
            return node.operator, self.of(node.left, env), self.of(node.right, env)
        if isinstance(node, core.Lookup) and all(isinstance(each, core.Get) for each in node.keys):
            return node.table, node.column, *(self._key(each, env) for each in node.keys)
        return id(node), *env, *(thing.key for thing in env.values())

    def _of(self, node: core.Node, env: Env) -> Evaluate:
        read = self.dependence.of(node, env)
        if not read:
            value, _ = self.decider.value(node, env)
            if not isinstance(value, Interval):
                raise Unsayable
            same = spans.fixed(value)
            return lambda _: same
        if not read & self.columns.wide:
            return self._gathered(read, lambda decider: decider.value(node, env)[0])
        if isinstance(node, core.Get):
            return self._fact(node, env)
        if isinstance(node, core.Arithmetic):
            left, right, operator = self.of(node.left, env), self.of(node.right, env), node.operator
            return lambda block: spans.arithmetic(operator, left(block), right(block))
        if isinstance(node, core.Function) and node.name in ("min", "max"):
            parts, fold = [self.of(each, env) for each in node.arguments], _FOLDS[node.name]
            return lambda block: fold([part(block) for part in parts])
        if isinstance(node, core.Function) and node.name in ("ceil", "floor"):
            inner, name = self.of(node.arguments[0], env), node.name
            return lambda block: spans.rounded(name, inner(block))
        if isinstance(node, core.Cases):
            return self._cases(node, env)
        if isinstance(node, core.Lookup):
            return self._lookup(node, env)
        if isinstance(node, core.Compute):
            return self._gathered(read, lambda decider: decider.value(node, env)[0])
        raise Unsayable

    def _gathered(self, read: frozenset[Key], ask: Ask) -> Evaluate:
        told = self.asked(read, ask)

        def made(values: list[Value]) -> Spans:
            # Of the answers that no row has, nothing is asked.
            known = [value if isinstance(value, Interval) else Interval(-math.inf, math.inf) for value in values]
            assert all(value.also is None for value in known)
            low, high = np.array([value.low for value in known]), np.array([value.high for value in known])
            system = np.array([MARK[value.system] for value in known], dtype=np.uint8)
            return Spans(low, low if (low == high).all() else high, system, is_natural=bool((low >= 0).all()))

        def run(block: Block) -> Spans:
            answers, at = told.answers(block)
            return spans.taken(answers.made("spans", made), at)

        return run

    def _fact(self, node: core.Get, env: Env) -> Evaluate:
        thing = self.decider.thing(node.source, env)
        column = self.columns.all.get((thing.path, node.fact.partition(".")[2]))
        derived = None
        if node.derived:
            derived = self.of(self.decider.rulebook.derivations[node.derived].node, self.decider.around(thing))
        if column is None:
            if derived is None:
                raise Unsayable
            return derived
        key, fact, scale = column.key, column.fact, column.scale
        if scale is None:
            return self._coded(
                column, self._gathered(frozenset((key,)), lambda it: it.fact(thing, node.fact)[0]), derived
            )
        mark, none = np.array(MARK[scale.system], dtype=np.uint8), np.array(MARK[None], dtype=np.uint8)
        is_natural = fact.low >= 0

        def run(block: Block) -> Spans:
            numbers, rows = block.plain(key), block.rows
            blanks = numbers.blanks
            if not len(blanks):
                own = numbers.filled(math.nan)
                return Spans(own, own, mark, is_natural=is_natural)
            if derived is None:
                ends = numbers.filled(fact.low), numbers.filled(fact.high)
                # What is kept for a block does not lead back to it, so that it goes when the block goes.
                return Spans(*ends, lambda: spans.put(mark, none, blanks, rows), is_natural=is_natural)
            # What is computed is wanted only where nothing is stated.
            other = derived(block.only(blanks))
            low, high = numbers.filled(other.low), numbers.filled(other.high)
            are_natural = is_natural and other.is_natural
            return Spans(low, high, lambda: spans.put(mark, other.system, blanks, rows), is_natural=are_natural)

        return run

    @staticmethod
    def _coded(column: Column, stated: Evaluate, derived: Evaluate | None) -> Evaluate:
        """A number that is stated in some of the rows with its unit, and is derived in the others."""
        if derived is None:
            return stated

        def run(block: Block) -> Spans:
            own, blank = stated(block), ~np.array(column.known).take(block.array(column.key))
            other = derived(block)
            system = np.where(blank, other.system, own.system)
            return Spans(np.where(blank, other.low, own.low), np.where(blank, other.high, own.high), system)

        return run

    def _cases(self, node: core.Cases, env: Env) -> Evaluate:
        cases = [(self.sides(when, env), self.of(body, env)) for when, body in node.cases]
        otherwise = self.of(node.otherwise, env)

        def run(block: Block) -> Spans:
            found = []
            for when, value in cases:
                side = when(block)
                found.append((side, _where(~side[1], value, block)))
            return spans.first_of(block.rows, [*found, (_ALWAYS, otherwise(block))])[0]

        return run

    def _lookup(self, node: core.Lookup, env: Env) -> Evaluate:
        table = self.decider.rulebook.tables[node.table]
        keys = [column for column in table.columns if column.key]
        at = {column.name: number for number, column in enumerate(table.columns)}
        rows: list[tuple[list[Sides], Spans]] = []
        for row in table.rows.values():
            value = row[at[node.column]]
            if not isinstance(value, Interval):
                raise Unsayable
            matches = [
                self._matches(key, env, row[at[column.name]], column.banded)
                for column, key in zip(keys, node.keys, strict=True)
            ]
            rows.append((matches, spans.fixed(value)))

        def run(block: Block) -> Spans:
            found = [(_every([match(block) for match in matches]), value) for matches, value in rows]
            result, none = spans.first_of(block.rows, found)
            low, high = np.where(none, -np.inf, result.low), np.where(none, np.inf, result.high)
            return Spans(low, high, lambda: result.system)

        ends = ends_of_lookup(node, env, self.turns)
        return Tabled(run, self.columns, self.dependence.of(node, env), ends) if ends is not None else run

    def _matches(self, key: core.Node, env: Env, cell: Value, is_banded: bool) -> Sides:
        if isinstance(cell, Choice):
            options = cell.options

            def ask(decider: Decider) -> Truth:
                value, _ = decider.value(key, env)
                return belongs(value, options) if isinstance(value, Choice) else None

            return self._told(self.dependence.of(key, env), ask)
        if not isinstance(cell, Interval):
            raise Unsayable
        value, limit = self.of(key, env), spans.fixed(cell)
        return lambda block: spans.compared("<=" if is_banded else "==", value(block), limit)

    # --- truths on which numbers depend ---------------------------------------------------------------------------

    def sides(self, node: core.Node, env: Env) -> Sides:
        """The rows where a term is true and where it is false.

        Raises:
            Unsayable: for what is not worked out here.
        """
        while isinstance(node, core.Named | core.Labelled):
            node = node.body
        read = self.dependence.of(node, env)
        if not read & self.columns.wide:
            return self._told(read, lambda decider: decider.truth(node, env)[0])
        if isinstance(node, core.Compare):
            return self._compared(node, env)
        if isinstance(node, core.Not):
            body = self.sides(node.body, env)
            return lambda block: body(block)[::-1]
        if isinstance(node, core.And | core.Or):
            parts = [self.sides(part, env) for part in node.parts]
            if isinstance(node, core.And):
                return lambda block: _every([part(block) for part in parts])
            return lambda block: _every([part(block)[::-1] for part in parts])[::-1]
        raise Unsayable

    def _compared(self, node: core.Compare, env: Env) -> Sides:
        left, right, operator = self.of(node.left, env), self.of(node.right, env), node.operator
        return lambda block: spans.compared(operator, left(block), right(block))

    def _told(self, read: frozenset[Key], ask: Callable[[Decider], Truth]) -> Sides:
        if not read:
            truth = ask(self.decider)
            same = np.array(truth is True), np.array(truth is False)
            return lambda _: same
        if read & self.columns.wide:
            raise Unsayable
        told = self.asked(read, ask)

        def run(block: Block) -> Side:
            answers, at = told.answers(block)
            return answers.where(True).take(at), answers.where(False).take(at)

        return run


def _packed(side: Rows, rows: int) -> Plane:
    return packed(side if side.ndim else np.broadcast_to(side, (rows,)))


def _where(may: Rows, value: Evaluate, block: Block) -> Spans:
    """What is wanted of some rows only; of the others, it is anything."""
    rows = np.flatnonzero(may) if may.ndim else np.zeros(0, np.int64)
    if not may.ndim or 2 * len(rows) > block.rows:
        return value(block)
    return spans.spread(value(block.only(rows)), rows, block.rows)


_FOLDS = {"min": spans.smallest, "max": spans.largest}
_ALWAYS: Side = np.array(True), np.array(False)


def _every(sides: list[Side]) -> Side:
    true, false = sides[0]
    for more_true, more_false in sides[1:]:
        true, false = true & more_true, false | more_false
    return true, false
