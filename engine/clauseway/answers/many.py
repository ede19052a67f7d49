"""Many openings checked one after the other, over several processes where there are: what is made of an answer is
handed on in the order of the openings, and the answer itself is not kept."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from clauseway.answers import finding as F
from clauseway.answers.check import answer_on, modes_of, speaks, things_asked
from clauseway.case.things import Project, Thing
from clauseway.law.rulebook import Rulebook
from clauseway.readers.alike import Alike, Recalling

T = TypeVar("T")
Tell = Callable[[int, int], None]
"""Who is told how many things are done, and of how many."""
AT_ONCE = 40
"""Openings that a process takes at a time."""
FEW = 60
"""So few openings are done sooner than other processes are there."""


@dataclass(frozen=True)
class Work(Generic[T]):
    """What is to be checked, and what is made of each answer."""

    rulebook: Rulebook
    project: Project
    made: Callable[[F.Answer], T]
    accept_memory: bool = False
    strict: bool = False


@dataclass(frozen=True, slots=True)
class Made(Generic[T]):
    """What was made of the answer on a thing, with its kind, its verdict and whether it works."""

    kind: str
    id: str
    verdict: str
    works: str
    of: T


def made_of_each(work: Work[T], *, processes: int = 0, tell: Tell | None = None) -> Iterator[Made[T]]:
    """What is made of each answer that a report of the project holds, in the order of a report.

    `processes` are as many as there are processors where it is 0; the same comes out whatever their number. `tell` is
    told how many things are done, and how many there are. What `made` gives goes from one process to another.
    """
    things = things_asked(work.rulebook, work.project)
    number = processes or os.cpu_count() or 1
    parts = [things[at : at + AT_ONCE] for at in range(0, len(things), AT_ONCE)]
    several = number > 1 and len(things) > FEW and sys.platform == "linux"
    done = 0
    for part, found in zip(parts, _spread(work, parts, number) if several else _alone(work, parts), strict=True):
        done += len(part)
        if tell is not None:
            tell(done, len(things))
        yield from found


def _alone(work: Work[T], parts: Sequence[Sequence[Thing]]) -> Iterator[list[Made[T]]]:
    worker = _Worker(work)
    for part in parts:
        yield worker.part(part)


class _Worker(Generic[T]):
    def __init__(self, work: Work[T]) -> None:
        self.work = work
        modes = modes_of(work.rulebook, work.project)
        self.alike = [Alike(work.rulebook, work.project, mode, work.accept_memory) for mode in modes]

    def part(self, things: Sequence[Thing]) -> list[Made[T]]:
        # Readers remember all that they read: those of one part are not kept for the next, only what they judged.
        work = self.work
        deciders = [Recalling(alike) for alike in self.alike]
        answers = (answer_on(deciders, thing, work.strict) for thing in things)
        return [Made(each.kind, each.id, each.verdict, each.works, work.made(each)) for each in answers if speaks(each)]


_working: list[_Worker[Any]] = []
"""The worker of a process that was made for nothing else."""


def _begin(work: Work[Any]) -> None:
    _working.append(_Worker(work))


def _part(paths: Sequence[str]) -> list[Made[Any]]:
    (worker,) = _working
    return worker.part([worker.work.project.things[path] for path in paths])


def _spread(work: Work[T], parts: Sequence[Sequence[Thing]], processes: int) -> Iterator[list[Made[T]]]:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # What was read is shared with the processes as it is; no search for what can be thrown away writes into it.
    gc.collect()
    gc.freeze()
    try:
        with ProcessPoolExecutor(processes, get_context("fork"), _begin, (work,)) as pool:
            yield from pool.map(_part, [[thing.path for thing in part] for part in parts])
    finally:
        gc.unfreeze()
