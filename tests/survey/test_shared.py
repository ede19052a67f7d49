"""Parts that are shared out among processes come back in order, whatever becomes of a process."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

import pytest

from clauseway.survey.shared import Crew, processes

T = TypeVar("T")
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are not copied here")


def shared_out(work: Callable[[int], T], parts: Sequence[int], many: int) -> list[T]:
    with Crew(work, parts, many) as crew:
        return list(crew.answers())


@pytest.mark.parametrize("many", [1, 2, 3])
@pytest.mark.parametrize("parts", [0, 1, 2, 7, 300])
def test_each_part_once_and_in_order(parts: int, many: int) -> None:
    assert shared_out(lambda part: part * part, range(parts), many) == [n * n for n in range(parts)]


def test_several_processes_work_at_once(tmp_path: Path) -> None:
    def work(part: int) -> int:
        (tmp_path / str(part)).touch()
        end = time.monotonic() + 30
        while not (tmp_path / str(1 - part)).exists():
            assert time.monotonic() < end, "the other part was not begun"
            time.sleep(0.001)
        return os.getpid()

    first, second = shared_out(work, range(2), 2)
    assert first != second


def test_the_first_error_is_raised_and_little_is_begun_after_it(tmp_path: Path) -> None:
    def work(part: int) -> int:
        (tmp_path / str(part)).touch()
        time.sleep(0.001)
        if part >= 3:
            raise ValueError(f"part {part}")
        return part

    for many in (1, 2, 3):
        with pytest.raises(ValueError, match="part 3"):
            shared_out(work, range(1000), many)
        assert len(list(tmp_path.iterdir())) < 100


def test_a_crew_works_again_and_again() -> None:
    with Crew(lambda part: (part, os.getpid()), range(9), 3) as crew:
        rounds = [list(crew.answers()) for _ in range(5)]
    assert all([part for part, _ in each] == list(range(9)) for each in rounds)
    assert os.getpid() not in {process for each in rounds for _, process in each}


def test_what_a_killed_process_had_is_done_here() -> None:
    parent = os.getpid()

    def work(part: int) -> int:
        if os.getpid() != parent and part == 20:
            os.kill(os.getpid(), signal.SIGKILL)
        time.sleep(0.001)
        return part

    with Crew(work, range(50), 3) as crew:
        assert list(crew.answers()) == list(range(50))
        assert list(crew.answers()) == list(range(50)), "after its end, all is done here"


def test_who_stops_early_leaves_no_copy_behind() -> None:
    with Crew(lambda part: part, range(100), 3) as crew:
        assert next(crew.answers()) == 0
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)


def test_a_process_with_threads_is_not_copied() -> None:
    gate = threading.Event()
    thread = threading.Thread(target=gate.wait)
    thread.start()
    try:
        assert processes() == 1
    finally:
        gate.set()
        thread.join()
