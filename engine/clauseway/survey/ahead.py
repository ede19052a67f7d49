"""Blocks are worked on side by side, and while the next one is read.

Other libraries read and decode without holding up Python. The steps of a survey's program are so short that two
threads of them would only wait for each other: so blocks take turns there, and nothing else goes on meanwhile.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager
from threading import Condition
from typing import TypeVar

B = TypeVar("B")
T = TypeVar("T")
_MOST = 4


def threads() -> int:
    """How many blocks are best worked on side by side on this machine."""
    return min(_MOST, os.cpu_count() or 1)


class Phases:
    """Two kinds of work: any number of threads do the one at once, or one of them does the other.

    Who waits to work alone goes before those who would work side by side, so that these come together again.
    """

    def __init__(self) -> None:
        self._gate = Condition()
        self._together = 0
        self._waiting = 0
        self._is_taken = False

    @contextmanager
    def together(self) -> Iterator[None]:
        """Work beside others."""
        with self._gate:
            self._gate.wait_for(lambda: not self._is_taken and not self._waiting)
            self._together += 1
        try:
            yield
        finally:
            with self._gate:
                self._together -= 1
                self._gate.notify_all()

    @contextmanager
    def alone(self) -> Iterator[None]:
        """Work while nobody else does."""
        with self._gate:
            self._waiting += 1
            self._gate.wait_for(lambda: not self._is_taken and not self._together)
            self._waiting -= 1
            self._is_taken = True
        try:
            yield
        finally:
            with self._gate:
                self._is_taken = False
                self._gate.notify_all()


def ahead(work: Callable[[B], T], blocks: Iterable[B], threads: int = 1) -> Iterator[tuple[B, T]]:
    """Each block with what the work gives for it, in order; so many threads work.

    The first error, in the order of the blocks, is raised; what was begun behind it is waited for.
    """
    with ThreadPoolExecutor(threads) as pool:
        begun: deque[tuple[B, Future[T]]] = deque()
        for block in blocks:
            begun.append((block, pool.submit(work, block)))
            if len(begun) > threads:
                done, future = begun.popleft()
                yield done, future.result()
        while begun:
            done, future = begun.popleft()
            yield done, future.result()
