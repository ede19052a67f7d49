"""How far long work has come, on a terminal; nothing is said where nobody looks."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

FEW = 100
"""So few things are done before anybody wonders."""


@contextmanager
def progress(words: str, what: str = "openings") -> Iterator[Callable[[int, int], None]]:
    """A function to be told how many things are done, and of how many; it shows a bar on the terminal's error stream.

    Nothing is written where that is no terminal, so that what scripts read is the same with and without it.
    """
    if not sys.stderr.isatty():
        yield lambda _done, _total: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TextColumn(what))
    # No thread of its own draws the bar: processes are made while it stands.
    bar = Progress(*columns, TimeRemainingColumn(), console=Console(stderr=True), transient=True, auto_refresh=False)
    task = None

    def tell(done: int, total: int) -> None:
        nonlocal task
        if task is None:
            if total <= FEW:
                return
            task = bar.add_task(words, total=total)
            bar.start()
        bar.update(task, completed=done)
        bar.refresh()

    try:
        yield tell
    finally:
        bar.stop()
