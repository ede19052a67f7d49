"""Parts of a survey shared out among processes of this machine, which are copies of this one.

A thread of a survey would only wait for the others: its steps are short, and Python runs one at a time. A copy of the
process has the rulebook, the program and a table in memory as they are, and sends back what it counts.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from types import TracebackType
from typing import Any, Generic, TypeVar

P = TypeVar("P")
T = TypeVar("T")
_MOST = 4
"""Each of them holds blocks of its own."""


def processes() -> int:
    """How many processes a survey is best shared out among: one, where a process cannot safely be copied."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return 1
    return min(_MOST, len(os.sched_getaffinity(0)))


class Crew(Generic[P, T]):
    """Copies of this process, which do the same work on the same parts as often as is asked; of one, there is none."""

    def __init__(self, work: Callable[[P], T], parts: Sequence[P], many: int) -> None:
        self.work, self.parts = work, parts
        self._pool: ProcessPoolExecutor | None = None
        if min(many, len(parts)) > 1:
            self._pool = ProcessPoolExecutor(min(many, len(parts)), get_context("fork"), _begin, (work, parts))

    def __enter__(self) -> Crew[P, T]:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)

    def answers(self) -> Iterator[T]:
        """What the work gives for each part, in order; what a copy had that somebody ended is done here.

        Raises:
            Exception: what the work raises for the first part, in order, that it fails for.
        """
        done = 0
        if self._pool is not None:
            try:
                for answer in self._pool.map(_part, range(len(self.parts))):
                    done += 1
                    yield answer
            except BrokenProcessPool:
                self._pool.shutdown()
                self._pool = None
        yield from map(self.work, self.parts[done:])


_working: list[tuple[Callable[[Any], Any], Sequence[Any]]] = []
"""The work of a process that was made for nothing else, and its parts."""


def _begin(work: Callable[[Any], Any], parts: Sequence[Any]) -> None:
    # Who stops the survey stops the process that asked for it; this one is ended by that.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # What is there stays, and is not looked through: else its memory could not be held together any more.
    gc.freeze()
    _working.append((work, parts))


def _part(number: int) -> Any:
    ((work, parts),) = _working
    return work(parts[number])
