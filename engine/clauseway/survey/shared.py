"""Parts of a survey shared out among processes of this machine, which are copies of this one.

A thread of a survey would only wait for the others: its steps are short, and Python runs one at a time. A copy of the
process has the rulebook, the program and a table in memory as they are, and sends back what it counts.
"""

from __future__ import annotations

import os
import pickle
import select
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

P = TypeVar("P")
T = TypeVar("T")
Told = Callable[[T], None]
_MOST = 8
_SIZE = 4
_NUMBER = 8


def processes() -> int:
    """How many processes a survey is best shared out among: one, where a process cannot safely be copied."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return 1
    return min(_MOST, len(os.sched_getaffinity(0)))


def shared_out(work: Callable[[P], T], parts: Sequence[P], many: int, told: Told[T] | None = None) -> list[T]:
    """What the work gives for each part, in order; `told` is called with each as it comes.

    Parts are begun in order, and each process takes the next when it is done with one. What a process did not send
    back, be it that the work failed or that the process ended, is done here: so nothing is left out, and the first
    error is raised as by one process.

    Raises:
        Exception: what the work raises for the first part, in order, that it fails for.
    """
    found: dict[int, T] = {}

    def take(number: int, answer: T) -> None:
        found[number] = answer
        if told is not None:
            told(answer)

    numbers, copies = _Numbers(len(parts)), list[_Copy]()
    try:
        for _ in range(min(many, len(parts)) - 1):
            copies.append(_Copy(work, parts, numbers))
        for number in numbers:
            try:
                answer = work(parts[number])
            except Exception:
                # It is raised below, unless an earlier part fails too.
                numbers.drain()
                break
            take(number, answer)
            for copy in copies:
                for each in copy.sent(0.0):
                    take(*each)
        for copy in copies:
            while not copy.is_done:
                for each in copy.sent(None):
                    take(*each)
    finally:
        numbers.close()
        for copy in copies:
            copy.end()
    for number, part in enumerate(parts):
        if number not in found:
            take(number, work(part))
    return [found[number] for number in range(len(parts))]


class _Numbers:
    """The numbers of parts, each of which one process gets: what is read of a pipe is gone from it.

    It holds some thousands; parts beyond are left for who shares them out.
    """

    def __init__(self, many: int) -> None:
        self.left, right = os.pipe()
        os.set_blocking(right, False)
        if many:
            os.write(right, b"".join(number.to_bytes(_SIZE, "little") for number in range(many)))
        os.close(right)

    def __iter__(self) -> _Numbers:
        return self

    def __next__(self) -> int:
        read = os.read(self.left, _SIZE)
        if not read:
            raise StopIteration
        return int.from_bytes(read, "little")

    def drain(self) -> None:
        """Leave nothing to be begun."""
        while os.read(self.left, 1 << 16):
            pass

    def close(self) -> None:
        os.close(self.left)


class _Copy:
    """A copy of this process, at work."""

    def __init__(self, work: Callable[[P], Any], parts: Sequence[P], numbers: _Numbers) -> None:
        self.read, write = os.pipe()
        parent = os.getpid()
        with warnings.catch_warnings():
            # Other threads than Python's own are those of libraries that know of copies.
            warnings.simplefilter("ignore", DeprecationWarning)
            self.process = os.fork()
        if not self.process:
            try:
                os.close(self.read)
                for number in numbers:
                    if os.getppid() != parent:
                        break
                    _send(write, (number, work(parts[number])))
            except BaseException:
                numbers.drain()
            finally:
                os._exit(0)
        os.close(write)
        self.is_done = False
        self._kept = b""

    def sent(self, wait: float | None) -> list[tuple[int, Any]]:
        """What it has sent; at its end nothing more."""
        found: list[tuple[int, Any]] = []
        while not self.is_done and select.select([self.read], [], [], wait)[0]:
            more = os.read(self.read, 1 << 20)
            self.is_done = not more
            self._kept += more
            while len(self._kept) >= _NUMBER:
                end = _NUMBER + int.from_bytes(self._kept[:_NUMBER], "little")
                if len(self._kept) < end:
                    break
                found.append(pickle.loads(self._kept[_NUMBER:end]))
                self._kept = self._kept[end:]
            if found:
                break
        return found

    def end(self) -> None:
        """End it, if it has not sent all, and wait for that."""
        if not self.is_done:
            os.kill(self.process, signal.SIGKILL)
        os.close(self.read)
        os.waitpid(self.process, 0)


def _send(pipe: int, answer: object) -> None:
    written = pickle.dumps(answer)
    written = len(written).to_bytes(_NUMBER, "little") + written
    while written:
        written = written[os.write(pipe, written) :]
