"""Blocks are worked on while the next one is read.

More threads than one for the work itself only wait for each other: its steps are too short for that.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

B = TypeVar("B")
T = TypeVar("T")


def ahead(work: Callable[[B], T], blocks: Iterable[B]) -> Iterator[tuple[B, T]]:
    """Each block with what the work gives for it, in order.

    The first error, in the order of the blocks, is raised; what was begun behind it is waited for.
    """
    with ThreadPoolExecutor(1) as pool:
        begun: deque[tuple[B, Future[T]]] = deque()
        for block in blocks:
            begun.append((block, pool.submit(work, block)))
            if len(begun) > 1:
                done, future = begun.popleft()
                yield done, future.result()
        while begun:
            done, future = begun.popleft()
            yield done, future.result()
