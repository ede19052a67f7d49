"""Parts of a survey shared out among processes of this machine, which are copies of this one.

A thread of a survey would only wait for the others: its steps are short, and Python runs one at a time. A copy of the
process has the rulebook, the program and a table in memory as they are, and sends back what it counts.
"""

from __future__ import annotations

import gc
import os
import pickle
import select
import signal
import sys
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from types import TracebackType
from typing import Any, Generic, TypeVar

P = TypeVar("P")
T = TypeVar("T")
_MOST = 4
"""Each of them holds blocks of its own."""
_NUMBER = 8


def processes() -> int:
    """How many processes a survey is best shared out among: one, where a process cannot safely be copied."""
    if sys.platform != "linux" or threading.active_count() > 1:
        return 1
    if signal.getsignal(signal.SIGCHLD) is signal.SIG_IGN:
        # Of a copy that has ended there would be nothing left to wait for.
        return 1
    return min(_MOST, len(os.sched_getaffinity(0)))


class Crew(Generic[P, T]):
    """This process and copies of it, which do the same work on the same parts as often as is asked."""

    def __init__(self, work: Callable[[P], T], parts: Sequence[P], many: int) -> None:
        self.work, self.parts = work, parts
        many = max(1, min(many, len(parts)))
        self._own = range(0, len(parts), many)
        self._copies: list[_Copy] = []
        try:
            for first in range(1, many):
                self._copies.append(_Copy(work, parts, range(first, len(parts), many)))
        except BaseException:
            self.end()
            raise

    def __enter__(self) -> Crew[P, T]:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    def answers(self, told: Callable[[T], object] | None = None) -> list[T]:
        """What the work gives for each part, in order; `told` is called with each as it comes.

        What a copy does not send back, be it that the work failed there or that the copy was ended, is done here: so
        nothing is left out, and an error is the one that a single process would have raised.

        Raises:
            Exception: what the work raises for the first part, in order, that it fails for.
        """
        found: dict[int, T] = {}

        def take(number: int, answer: T) -> None:
            found[number] = answer
            if told is not None:
                told(answer)

        try:
            self._together(take)
            for number, part in enumerate(self.parts):
                if number not in found:
                    take(number, self.work(part))
        except BaseException:
            self.end()
            raise
        return [found[number] for number in range(len(self.parts))]

    def _together(self, take: Callable[[int, T], None]) -> None:
        """Do what can be done without a failure; after one, the copies are ended."""
        for copy in self._copies:
            copy.begin()
        for number in self._own:
            try:
                answer = self.work(self.parts[number])
            except Exception:
                # It is raised later, unless an earlier part fails as well.
                self.end()
                return
            take(number, answer)
            if not self._heard(take, 0.0):
                return
        while any(copy.is_at_work for copy in self._copies):
            if not self._heard(take, None):
                return

    def _heard(self, take: Callable[[int, T], None], wait: float | None) -> bool:
        """Whether none of the copies has come to its end."""
        for copy in self._copies:
            for number, answer in copy.sent(wait):
                take(number, answer)
        if all(copy.is_there for copy in self._copies):
            return True
        self.end()
        return False

    def end(self) -> None:
        """End the copies; without them, all is done here."""
        while self._copies:
            self._copies.pop().end()


def shared_out(
    work: Callable[[P], T], parts: Sequence[P], many: int, told: Callable[[T], object] | None = None
) -> list[T]:
    """What the work gives for each part, in order, from so many processes; see `Crew.answers`."""
    with Crew(work, parts, many) as crew:
        return crew.answers(told)


class _Copy:
    """A copy of this process, which does its share of the parts whenever it is told to."""

    def __init__(self, work: Callable[[P], Any], parts: Sequence[P], share: Sequence[int]) -> None:
        heard, self._say = os.pipe()
        self._read, write = os.pipe()
        parent = os.getpid()
        with warnings.catch_warnings():
            # Other threads than Python's own are those of libraries that know of copies.
            warnings.simplefilter("ignore", DeprecationWarning)
            self._process = os.fork()
        if not self._process:
            try:
                # What is there stays, and is not looked through: else its memory could not be held together any more.
                gc.freeze()
                os.close(self._say)
                os.close(self._read)
                while os.read(heard, 1):
                    for number in share:
                        if os.getppid() != parent:
                            return
                        _send(write, (number, work(parts[number])))
                    _send(write, None)
            finally:
                # Nothing of what this process was to do at its end is to be done twice.
                os._exit(0)
        os.close(heard)
        os.close(write)
        self.is_there, self.is_at_work = True, False
        self._kept = bytearray()

    def begin(self) -> None:
        """Tell it to do its share."""
        self.is_at_work = True
        try:
            os.write(self._say, b"+")
        except BrokenPipeError:
            # Somebody has ended it.
            self.is_there = self.is_at_work = False

    def sent(self, wait: float | None) -> Iterator[tuple[int, Any]]:
        """What it has sent of its share; at least something, if there is no limit to the wait."""
        while self.is_there and self.is_at_work and select.select([self._read], [], [], wait)[0]:
            more = os.read(self._read, 1 << 20)
            if not more:
                self.is_there = self.is_at_work = False
            self._kept += more
            while len(self._kept) >= _NUMBER:
                end = _NUMBER + int.from_bytes(self._kept[:_NUMBER], "little")
                if len(self._kept) < end:
                    break
                answer = pickle.loads(self._kept[_NUMBER:end])
                del self._kept[:end]
                wait = 0.0
                if answer is None:
                    self.is_at_work = False
                else:
                    yield answer

    def end(self) -> None:
        """End it."""
        os.close(self._say)
        os.close(self._read)
        os.kill(self._process, signal.SIGKILL)
        os.waitpid(self._process, 0)


def _send(pipe: int, answer: object) -> None:
    written = pickle.dumps(answer)
    written = len(written).to_bytes(_NUMBER, "little") + written
    while written:
        written = written[os.write(pipe, written) :]
