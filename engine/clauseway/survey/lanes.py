"""Blocks on several threads at once, what comes out in the order of the blocks: NumPy works without the interpreter."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import chain, islice
from queue import SimpleQueue
from typing import TypeVar

B = TypeVar("B")
T = TypeVar("T")
MOST = 4
"""Threads beyond these wait for the interpreter more than they do."""


def lanes() -> int:
    """How many threads serve on this machine."""
    try:
        return min(len(os.sched_getaffinity(0)), MOST)
    except AttributeError:
        return min(os.cpu_count() or 1, MOST)


def in_order(make: Callable[[], Callable[[B], T]], blocks: Iterable[B], many: int) -> Iterator[tuple[B, T]]:
    """Each block with what a worker gives for it. `make` makes a worker; none is used by two threads at once.

    The first error, in the order of the blocks, is raised; what was begun behind it is waited for.
    """
    waiting = iter(blocks)
    begun = list(islice(waiting, 2))
    if many < 2 or len(begun) < 2:
        work = make()
        for block in chain(begun, waiting):
            yield block, work(block)
        return
    idle: SimpleQueue[Callable[[B], T]] = SimpleQueue()
    for _ in range(many):
        idle.put(make())

    def run(block: B) -> T:
        work = idle.get()
        try:
            return work(block)
        finally:
            idle.put(work)

    with ThreadPoolExecutor(many) as pool:
        running: deque[tuple[B, Future[T]]] = deque()
        for block in chain(begun, waiting):
            running.append((block, pool.submit(run, block)))
            if len(running) >= many:
                done, future = running.popleft()
                yield done, future.result()
        while running:
            done, future = running.popleft()
            yield done, future.result()
