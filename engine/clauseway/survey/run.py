"""Running plans over blocks of rows, and what comes out: verdicts of rows, counts of findings, and where they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from clauseway.answers import finding as F
from clauseway.survey.block import BLOCK, PART, Block
from clauseway.survey.plan import Cell, Plan
from clauseway.survey.planes import ONE, ZERO, Plane, Rows, Runner, count, counts, every_row, packed, rows_of

VERDICTS = (F.COMPLIES, F.NEEDS_APPROVAL, F.UNDETERMINED, F.FAILS)
"""The verdicts of a row, by number; of several the highest counts, as in a check."""

Verdicts = NDArray[np.uint8]


@dataclass
class Tally:
    """How many rows a finding has with each verdict, over all subjects that it is about."""

    met: int = 0
    unmet: int = 0
    undetermined: int = 0
    needs_approval: int = 0
    not_applicable: int = 0

    def add(self, other: Tally) -> None:
        """Count others as well."""
        self.met += other.met
        self.unmet += other.unmet
        self.undetermined += other.undetermined
        self.needs_approval += other.needs_approval
        self.not_applicable += other.not_applicable


@dataclass
class Totals:
    """What a survey counts. Two of them add up, so that parts of a data set may be surveyed apart."""

    rows: int = 0
    verdicts: dict[str, int] = field(default_factory=lambda: dict.fromkeys(VERDICTS, 0))
    findings: dict[str, Tally] = field(default_factory=dict)

    def add(self, other: Totals) -> None:
        """Count what others counted."""
        self.rows += other.rows
        for verdict, rows in other.verdicts.items():
            self.verdicts[verdict] += rows
        for name, tally in other.findings.items():
            self.findings.setdefault(name, Tally()).add(tally)


@dataclass(frozen=True)
class Found:
    """A finding with one verdict, in the rows of a block that have it."""

    cell: Cell
    verdict: str
    rows: NDArray[np.int64]


@dataclass(frozen=True)
class Answered:
    """What came out of one block. `decided` are the planes of the rows with each verdict but the first."""

    totals: Totals
    decided: tuple[Plane, ...]
    found: tuple[Found, ...]

    @cached_property
    def verdicts(self) -> Verdicts:
        """The verdict of each row."""
        found = np.zeros(self.totals.rows, dtype=np.uint8)
        for number, plane in enumerate(self.decided, 1):
            found[rows_of(plane, self.totals.rows)] = number
        return found


class Survey:
    """Runs one plan. With `settle`, what stays undetermined is asked of the one-opening checker, row by row where need
    be; without, it is counted as undetermined, which it then may be more often than in a check."""

    def __init__(self, plan: Plan, *, settle: bool = False) -> None:
        self.plan = plan
        self.settle = settle
        self.guidance = {code.code for code in plan.rulebook.codes if code.force == F.GUIDANCE}
        self._open: dict[str, int] = {}
        self._rest = {cell: self._rest_of(cell) for cell in plan.cells}
        self._decided = self._verdicts()
        wanted = {number for cell in plan.cells for number in (cell.met, cell.unmet, cell.not_asked)}
        if settle:
            wanted |= set(self._rest.values())
        self.runner = Runner(plan.program, {*wanted, *self._decided, *self._open.values()})
        self._by_row = [number for number in self.runner.leaves if plan.leaves[number].by_row]
        self.rows = BLOCK
        """How many rows are best run at once."""

    def _rest_of(self, cell: Cell) -> int:
        program = self.plan.program
        return program.other(program.either(program.either(cell.met, cell.unmet), cell.not_asked))

    def _verdicts(self) -> tuple[int, ...]:
        """The rows with each verdict, as planes of the program, and those where a list may be longer."""
        program = self.plan.program
        fails, approval, undecided = ZERO, ZERO, ZERO
        for cell in self.plan.cells:
            if cell.unseen:
                # What may exist besides matters where it could fail: then the list is not known to be whole.
                name = f"described.{_list_of(cell)}/complete"
                bad = program.either(cell.unmet, self._rest[cell])
                self._open[name] = program.either(self._open.get(name, ZERO), bad)
                continue
            undecided = program.either(undecided, self._rest[cell])
            if cell.code in self.guidance:
                approval = program.either(approval, cell.unmet)
            else:
                fails = program.either(fails, cell.unmet)
        for plane in self._open.values():
            undecided = program.either(undecided, plane)
        if not self.plan.cells:
            undecided = ONE
        undecided = program.both(undecided, program.other(fails))
        approval = program.both(approval, program.other(program.either(fails, undecided)))
        return approval, undecided, fails

    def block(self, block: Block, *, details: frozenset[str] = frozenset()) -> Answered:
        """The answers for a block of rows, with the rows of each finding that has a verdict among `details`."""
        planes = self.planes(block)
        if self.settle:
            return self._settled(planes, block, details)
        at, many = self.runner.at, counts(planes).tolist()
        totals = Totals(block.rows)
        if block.rows:
            for cell in self.plan.cells:
                if not cell.unseen:
                    tally = totals.findings.setdefault(cell.finding, Tally())
                    met, unmet, not_asked = (many[at[number]] for number in (cell.met, cell.unmet, cell.not_asked))
                    tally.met += met
                    tally.unmet += unmet
                    tally.not_applicable += not_asked
                    tally.undetermined += block.rows - met - unmet - not_asked
            for name, number in self._open.items():
                if many[at[number]]:
                    totals.findings.setdefault(name, Tally()).undetermined += many[at[number]]
        found = [
            Found(cell, verdict, np.flatnonzero(rows_of(plane, block.rows)))
            for cell in self.plan.cells
            if details and not cell.unseen
            for verdict, plane in self._planes(cell, planes, block.rows)
            if verdict in details and plane.any()
        ]
        return self._answered(totals, [planes[at[number]].copy() for number in self._decided], found)

    def planes(self, block: Block) -> NDArray[np.uint64]:
        """The planes of the runner for a block of rows; they are good until the next block."""
        leaves, by_row = self.plan.leaves, self._worked_out(block)
        return self.runner.run(
            block.rows, lambda number: by_row[number] if number in by_row else leaves[number].run(block)
        )

    def _worked_out(self, block: Block) -> dict[int, tuple[Plane, Plane]]:
        """The leaves for which numbers are worked out row by row: part by part, so that they stay in the cache."""
        words = -(-block.rows // 64)
        found = {number: (np.empty(words, np.uint64), np.empty(words, np.uint64)) for number in self._by_row}
        for start in range(0, block.rows if found else 0, PART):
            part = block.part(start, min(PART, block.rows - start))
            into = slice(start // 64, start // 64 + PART // 64)
            for number, (true, false) in found.items():
                true[into], false[into] = self.plan.leaves[number].run(part)
        return found

    def _answered(self, totals: Totals, decided: Sequence[Plane], found: Sequence[Found]) -> Answered:
        rows = [count(plane) for plane in decided]
        for verdict, many in zip(VERDICTS, [totals.rows - sum(rows), *rows], strict=True):
            totals.verdicts[verdict] += many
        return Answered(totals, tuple(decided), tuple(found))

    def _planes(self, cell: Cell, planes: NDArray[np.uint64], rows: int) -> Iterator[tuple[str, Plane]]:
        met, unmet, not_asked = (planes[self.runner.at[number]] for number in (cell.met, cell.unmet, cell.not_asked))
        yield F.MET, met
        yield F.UNMET, unmet
        yield F.NOT_APPLICABLE, not_asked
        yield F.UNDETERMINED, every_row(rows) & ~(met | unmet | not_asked)

    def _settled(self, planes: NDArray[np.uint64], block: Block, details: frozenset[str]) -> Answered:
        totals = Totals(block.rows)
        fails, approval, undecided = (np.zeros(-(-block.rows // 64), dtype=np.uint64) for _ in range(3))
        found: list[Found] = []
        open_lists: dict[str, Plane] = {}
        for cell in self.plan.cells:
            for verdict, plane in self._settling(cell, planes, block):
                if not plane.any():
                    continue
                if cell.unseen:
                    if verdict not in (F.MET, F.NOT_APPLICABLE):
                        name = f"described.{_list_of(cell)}/complete"
                        open_lists[name] = open_lists[name] | plane if name in open_lists else plane
                    continue
                _count(totals, cell.finding, verdict, plane)
                if verdict == F.UNMET:
                    into = approval if cell.code in self.guidance else fails
                    np.bitwise_or(into, plane, into)
                elif verdict in (F.UNDETERMINED, F.NEEDS_APPROVAL):
                    into = undecided if verdict == F.UNDETERMINED else approval
                    np.bitwise_or(into, plane, into)
                if verdict in details:
                    found.append(Found(cell, verdict, np.flatnonzero(rows_of(plane, block.rows))))
        for name, plane in open_lists.items():
            _count(totals, name, F.UNDETERMINED, plane)
            np.bitwise_or(undecided, plane, undecided)
        if not self.plan.cells:
            undecided = every_row(block.rows)
        undecided = undecided & ~fails
        return self._answered(totals, [approval & ~(fails | undecided), undecided, fails], found)

    def _settling(self, cell: Cell, planes: NDArray[np.uint64], block: Block) -> Iterator[tuple[str, Plane]]:
        for verdict, plane in self._planes(cell, planes, block.rows):
            if verdict != F.UNDETERMINED or cell.settled is None or not plane.any():
                yield verdict, plane
                continue
            at = np.flatnonzero(rows_of(plane, block.rows))
            told, numbers = cell.settled.answers(block.only(at))
            given = np.array([answer or F.UNDETERMINED for answer in told.answers], dtype=object)[numbers]
            for settled in (F.MET, F.UNMET, F.UNDETERMINED, F.NEEDS_APPROVAL, F.NOT_APPLICABLE):
                rows: Rows = np.zeros(block.rows, dtype=np.bool_)
                rows[at[given == settled]] = True
                yield settled, packed(rows)


def _count(totals: Totals, finding: str, verdict: str, plane: Plane) -> None:
    tally = totals.findings.setdefault(finding, Tally())
    name = verdict.replace("-", "_")
    setattr(tally, name, getattr(tally, name) + count(plane))


def _list_of(cell: Cell) -> str:
    path = cell.subject.path if cell.subject.path.endswith("?") else cell.subject.passage
    return path.rsplit("/", 2)[1]
