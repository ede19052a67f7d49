"""A worker process: answers one question after another until nobody asks. `python -m clauseway_serve.worker`.

It reads frames from standard input and writes them to standard output, and nothing else. What goes wrong inside is told
by its type and place, never by a message, which could quote a description.
"""

from __future__ import annotations

import gc
import os
import signal
import sys
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO

from clauseway.text.problems import ClausewayError
from clauseway_serve.books import Books
from clauseway_serve.frames import packed, read_frame
from clauseway_serve.log import frames_of
from clauseway_serve.problem import problem_data
from clauseway_serve.question import NoSuchName, Question
from clauseway_serve.work import answer


def main() -> None:
    """Say hello with what identifies the rules, then answer."""
    source, sink = _streams()
    with suppress(ValueError, OSError):
        signal.signal(signal.SIGINT, signal.SIG_IGN)
    told = read_frame(source)
    if told is None:
        return
    setting, _ = told
    _bound_memory(int(setting["memory"]))
    try:
        books = Books([Path(folder) for folder in setting["rules"]])
    except ClausewayError as error:
        _send(sink, {"problems": [problem_data(each) for each in error.problems]})
        return
    # What is loaded stays; it need not be looked through again by every collection.
    gc.collect()
    gc.freeze()
    _send(sink, {"build": books.build})
    while (frame := read_frame(source)) is not None:
        asked, text = frame
        _alarm(float(asked.pop("seconds")))
        head, body = _answered(books, asked, text)
        _alarm(0)
        _send(sink, head, body)


def _answered(books: Books, asked: dict[str, Any], text: bytes) -> tuple[dict[str, Any], bytes]:
    """A frame with the answer, or with what is wrong."""
    try:
        found = answer(books, Question(**asked, text=text.decode()))
        return {"ok": found.status, "rests_on": found.rests_on, "build": books.build}, found.text.encode()
    except ClausewayError as error:
        kind = "no-such-name" if isinstance(error, NoSuchName) else "not-understood"
        return {"refused": kind, "problems": [problem_data(each) for each in error.problems]}, b""
    except (MemoryError, RecursionError) as error:
        return {"refused": "takes-too-much", "problems": [], "exception": type(error).__name__}, b""
    except Exception as error:
        return {"failed": type(error).__name__, "passed": frames_of(error.__traceback__)}, b""


def _streams() -> tuple[BinaryIO, BinaryIO]:
    """Standard input and output for frames alone; whatever else is printed goes to standard error."""
    sink = os.fdopen(os.dup(1), "wb", buffering=0)
    os.dup2(2, 1)
    return sys.stdin.buffer, sink


def _send(sink: BinaryIO, head: dict[str, Any], body: bytes = b"") -> None:
    data = memoryview(packed(head, body))
    while data:
        data = data[sink.write(data) :]


def _bound_memory(most: int) -> None:
    """Bound the address space where the system can."""
    with suppress(ImportError, ValueError, OSError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (most, most))


def _alarm(seconds: float) -> None:
    """End this process if nobody else does; the server itself may be gone."""
    if hasattr(signal, "setitimer"):
        signal.setitimer(signal.ITIMER_REAL, seconds)


if __name__ == "__main__":
    try:
        main()
    except BrokenPipeError:
        # Nobody listens any more; nothing is left to flush.
        os._exit(0)
