"""Worker processes: each answers one question at a time, and is ended when it takes more than it may.

What this cannot stop: the time that the system takes to end a process, work that the listening process itself does
(reading a body of bounded size, passing on an answer), and whatever happens before a request is here.
"""

from __future__ import annotations

import asyncio
import logging
import os
import sys
from asyncio.subprocess import DEVNULL, PIPE, Process
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import clauseway
from clauseway_serve.frames import TooLong, packed, receive
from clauseway_serve.log import event
from clauseway_serve.settings import Limits, Settings

DIED = "died"
_START_SECONDS = 120.0
_GRACE = 5.0
"""How much later than the server itself a worker would end itself."""

_AGAIN = (0.2, 1.0, 5.0, 30.0)
"""Seconds before a worker that did not come up is tried again."""


@dataclass(frozen=True)
class Outcome:
    """What came of a question: a text with what it rests on, or a kind of problem with its problems."""

    text: bytes = b""
    rests_on: str = ""
    build: str = ""
    status: int = 0
    refused: str = ""
    problems: Sequence[Mapping[str, Any]] = ()


class Pool:
    """The workers of a server. A question waits for one that is free, for a while, and not behind too many."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.limits: Limits = settings.limits
        self.build = ""
        self.why_not = "the rules are being read"
        self._free: asyncio.LifoQueue[_Worker] = asyncio.LifoQueue()
        self._living: set[_Worker] = set()
        self._tasks: set[asyncio.Task[None]] = set()
        self._waiting = 0
        self._closed = False

    @property
    def ready(self) -> bool:
        """Whether a question would be answered."""
        return any(worker.lives for worker in self._living) and not self._closed

    async def start(self) -> None:
        """Start the workers; they come up by themselves."""
        for _ in range(self.settings.processes):
            self._replace()

    async def stop(self) -> None:
        """End every worker."""
        self._closed = True
        for task in list(self._tasks):
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        for worker in list(self._living):
            await worker.end()
        self._living.clear()

    async def ask(self, operation: str, asked: Mapping[str, Any], text: bytes = b"") -> Outcome:
        """The outcome of a question; a problem with it is an outcome too.

        A question is asked once more where its worker died, which may have been for a reason of its own.
        """
        outcome = await self._ask(operation, asked, text)
        if outcome.refused == DIED:
            outcome = await self._ask(operation, asked, text)
        return outcome if outcome.refused != DIED else replace(outcome, refused="failed")

    async def _ask(self, operation: str, asked: Mapping[str, Any], text: bytes) -> Outcome:
        if self._waiting >= self.limits.waiting:
            return Outcome(refused="busy")
        self._waiting += 1
        try:
            worker = await asyncio.wait_for(self._living_one(), self.limits.waiting_seconds)
        except TimeoutError:
            return Outcome(refused="busy" if self.ready else "not-ready")
        finally:
            self._waiting -= 1
        sound = False
        try:
            outcome, sound = await self._asked(worker, operation, asked, text)
            return outcome
        finally:
            if sound:
                self._free.put_nowait(worker)
            else:
                await self._drop(worker)

    async def _living_one(self) -> _Worker:
        """A free worker; those that died while nobody asked them are replaced."""
        while not (worker := await self._free.get()).lives:
            event("worker-died", level=logging.ERROR, operation=None, status=await worker.status())
            await self._drop(worker)
        return worker

    async def _asked(
        self, worker: _Worker, operation: str, asked: Mapping[str, Any], text: bytes
    ) -> tuple[Outcome, bool]:
        """The outcome, and whether the worker can go on."""
        limits = self.limits
        head = {
            "operation": operation,
            "asked": dict(asked),
            "depth": limits.depth,
            "nodes": limits.nodes,
            "openings": limits.openings,
            "seconds": limits.seconds + _GRACE,
        }
        try:
            told, answer = await asyncio.wait_for(worker.exchange(packed(head, text), limits.answer), limits.seconds)
        except TimeoutError:
            event("worker-ended", level=logging.WARNING, why="time", operation=operation, seconds=limits.seconds)
            return Outcome(refused="takes-too-much"), False
        except TooLong:
            event("worker-ended", level=logging.WARNING, why="length", operation=operation, most=limits.answer)
            return Outcome(refused="takes-too-much"), False
        except (OSError, EOFError):
            event("worker-died", level=logging.ERROR, operation=operation, status=await worker.status())
            return Outcome(refused=DIED), False
        if "failed" in told:
            event(
                "question-failed",
                level=logging.ERROR,
                operation=operation,
                exception=told["failed"],
                passed=told["passed"],
            )
            return Outcome(refused="failed"), False
        if "refused" in told:
            if "exception" in told:
                event("too-much", level=logging.WARNING, operation=operation, exception=told["exception"])
            return Outcome(refused=told["refused"], problems=told["problems"]), "exception" not in told
        return Outcome(answer, told["rests_on"], told["build"], told["ok"]), True

    async def _drop(self, worker: _Worker) -> None:
        self._living.discard(worker)
        # A new one comes up while the old one goes.
        self._replace()
        await asyncio.shield(worker.end())

    def _replace(self) -> None:
        if not self._closed:
            task = asyncio.create_task(self._bring_up())
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    async def _bring_up(self) -> None:
        """Start a worker and let it be asked; again and again, more and more seldom, while that fails."""
        for number in range(sys.maxsize):
            worker = _Worker()
            try:
                self.why_not = await asyncio.wait_for(self._greeted(worker), _START_SECONDS)
            except (TimeoutError, OSError, EOFError) as error:
                self.why_not = f"a worker did not come up ({type(error).__name__})"
            except asyncio.CancelledError:
                await worker.end()
                raise
            if not self.why_not:
                self._living.add(worker)
                self._free.put_nowait(worker)
                return
            await worker.end()
            event("worker-not-started", level=logging.ERROR, why=self.why_not)
            await asyncio.sleep(_AGAIN[min(number, len(_AGAIN) - 1)])

    async def _greeted(self, worker: _Worker) -> str:
        """Start a worker and hear which rules it read; why it cannot be used, or nothing."""
        await worker.start(self.settings)
        told, _ = await worker.hello()
        if "problems" in told:
            return f"the rules cannot be read: {told['problems'][0]['found']}"
        self.build = self.build or told["build"]
        if told["build"] != self.build:
            return "the rules or the program have changed since the start; start the server again"
        return ""


class _Worker:
    """One process, and the two streams between it and here."""

    def __init__(self) -> None:
        self._process: Process | None = None

    @property
    def lives(self) -> bool:
        """Whether the process has not ended."""
        return self._process is not None and self._process.returncode is None

    async def start(self, settings: Settings) -> None:
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-m", "clauseway_serve.worker", stdin=PIPE, stdout=PIPE, stderr=DEVNULL,
            env=_environment(), limit=1 << 20,
        )  # fmt: skip
        rules = [str(Path(folder).resolve()) for folder in settings.rules]
        self._send(packed({"rules": rules, "memory": settings.limits.memory}))

    async def hello(self) -> tuple[dict[str, Any], bytes]:
        assert self._process is not None
        assert self._process.stdout is not None
        return await receive(self._process.stdout, 1 << 20)

    async def exchange(self, frame: bytes, most: int) -> tuple[dict[str, Any], bytes]:
        assert self._process is not None
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._send(frame)
        await self._process.stdin.drain()
        return await receive(self._process.stdout, most)

    def _send(self, frame: bytes) -> None:
        assert self._process is not None
        assert self._process.stdin is not None
        self._process.stdin.write(frame)

    async def status(self) -> int | None:
        """What a process that is gone ended with."""
        assert self._process is not None
        with suppress(TimeoutError):
            return await asyncio.wait_for(self._process.wait(), 1.0)
        return None

    async def end(self) -> None:
        """End the process at once and wait until it is gone."""
        if self._process is not None:
            with suppress(ProcessLookupError):
                self._process.kill()
            await self._process.wait()
            if self._process.stdin is not None:
                self._process.stdin.close()


def _environment() -> dict[str, str]:
    """The environment of a worker: it finds the same packages, and knows no token."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("CLAUSEWAY_")}
    homes = [str(Path(module).resolve().parents[1]) for module in (clauseway.__file__, __file__)]
    known = kept.get("PYTHONPATH", "").split(os.pathsep)
    kept["PYTHONPATH"] = os.pathsep.join(dict.fromkeys([*homes, *filter(None, known)]))
    return kept
