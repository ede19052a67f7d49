"""Running plans over blocks of rows, and what comes out: verdicts of rows, counts of findings, and where they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from clauseway.answers import finding as F
from clauseway.survey.columns import Block
from clauseway.survey.plan import Cell, Plan
from clauseway.survey.planes import Plane, Rows, Runner, count, packed, rows_of

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
    """What came out of one block."""

    totals: Totals
    verdicts: Verdicts
    found: tuple[Found, ...]


class Survey:
    """Runs one plan. With `settle`, what stays undetermined is asked of the one-opening checker, row by row where need
    be; without, it is counted as undetermined, which it then may be more often than in a check."""

    def __init__(self, plan: Plan, *, settle: bool = False) -> None:
        self.plan = plan
        self.settle = settle
        self.guidance = {code.code for code in plan.rulebook.codes if code.force == F.GUIDANCE}
        wanted = {number for cell in plan.cells for number in (cell.met, cell.unmet, cell.not_asked)}
        self.runner = Runner(plan.program, wanted)

    def block(self, block: Block, *, details: frozenset[str] = frozenset()) -> Answered:
        """The answers for a block of rows, with the rows of each finding that has a verdict among `details`."""
        leaves = self.plan.leaves
        planes = self.runner.run(block.rows, lambda number: leaves[number](block))
        totals = Totals(block.rows)
        every = packed(np.ones(block.rows, dtype=np.bool_))
        fails, approval, undecided = (np.zeros_like(every) for _ in range(3))
        found: list[Found] = []
        open_lists: dict[str, Plane] = {}
        for cell in self.plan.cells:
            for verdict, plane in self._cell(cell, planes, every, block):
                if not plane.any():
                    continue
                if cell.unseen:
                    # What may exist besides matters where it could fail: then the list is not known to be whole.
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
        verdicts = np.zeros(block.rows, dtype=np.uint8)
        for number, into in ((1, approval), (2, undecided), (3, fails)):
            verdicts[rows_of(into, block.rows)] = number
        if not self.plan.cells:
            verdicts[:] = VERDICTS.index(F.UNDETERMINED)
        for name, rows in zip(VERDICTS, np.bincount(verdicts, minlength=len(VERDICTS)), strict=True):
            totals.verdicts[name] += int(rows)
        return Answered(totals, verdicts, tuple(found))

    def _cell(
        self, cell: Cell, planes: Sequence[Plane | None], every: Plane, block: Block
    ) -> Iterator[tuple[str, Plane]]:
        met, unmet, not_asked = (planes[number] for number in (cell.met, cell.unmet, cell.not_asked))
        assert met is not None
        assert unmet is not None
        assert not_asked is not None
        rest = every & ~(met | unmet | not_asked)
        yield F.MET, met
        yield F.UNMET, unmet
        yield F.NOT_APPLICABLE, not_asked
        if not self.settle or cell.settled is None or not rest.any():
            yield F.UNDETERMINED, rest
            return
        at = np.flatnonzero(rows_of(rest, block.rows))
        answers, numbers = cell.settled.answers(block.only(at))
        given = np.array([answer or F.UNDETERMINED for answer in answers], dtype=object)[numbers]
        for verdict in (F.MET, F.UNMET, F.UNDETERMINED, F.NEEDS_APPROVAL, F.NOT_APPLICABLE):
            rows: Rows = np.zeros(block.rows, dtype=np.bool_)
            rows[at[given == verdict]] = True
            yield verdict, packed(rows)


def _count(totals: Totals, finding: str, verdict: str, plane: Plane) -> None:
    tally = totals.findings.setdefault(finding, Tally())
    name = verdict.replace("-", "_")
    setattr(tally, name, getattr(tally, name) + count(plane))


def _list_of(cell: Cell) -> str:
    path = cell.subject.path if cell.subject.path.endswith("?") else cell.subject.passage
    return path.rsplit("/", 2)[1]
