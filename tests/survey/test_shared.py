"""Parts that are shared out among processes come back in order, whatever becomes of a process."""

from __future__ import annotations

import os
import signal
import sys
import threading
import time
from pathlib import Path

import pytest

from clauseway.survey.shared import Crew, processes, shared_out

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are not copied here")


@pytest.mark.parametrize("many", [1, 2, 3])
@pytest.mark.parametrize("parts", [0, 1, 2, 7, 300])
def test_each_part_once_and_in_order(parts: int, many: int) -> None:
    told: list[int] = []
    assert shared_out(lambda part: part * part, range(parts), many, told.append) == [n * n for n in range(parts)]
    assert sorted(told) == [n * n for n in range(parts)]


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
        assert len(list(tmp_path.iterdir())) < 50


def test_a_crew_works_again_and_again() -> None:
    seen = {"here": 0}

    def work(part: int) -> tuple[int, int]:
        seen["here"] += 1
        time.sleep(0.001)
        return part, os.getpid()

    with Crew(work, range(9), 3) as crew:
        rounds = [crew.answers() for _ in range(5)]
    assert all([part for part, _ in each] == list(range(9)) for each in rounds)
    assert len({process for each in rounds for _, process in each}) == 3
    assert seen["here"] == 5 * 3
    assert [part for part, _ in crew.answers()] == list(range(9)), "after its end, all is done here"


def test_what_a_killed_process_had_is_done_here() -> None:
    parent = os.getpid()

    def work(part: int) -> int:
        if os.getpid() != parent and part % 3 == 1:
            os.kill(os.getpid(), signal.SIGKILL)
        time.sleep(0.002)
        return part

    assert shared_out(work, range(50), 3) == list(range(50))


def test_what_a_copy_had_that_was_killed_while_it_waited_is_done_here() -> None:
    with Crew(lambda part: part * part, range(10), 3) as crew:
        for times in range(3):
            assert crew.answers() == [part * part for part in range(10)]
            if not times:
                process = crew._copies[1]._process
                os.kill(process, signal.SIGKILL)
                os.waitid(os.P_PID, process, os.WEXITED | os.WNOWAIT)


def test_a_process_that_is_not_told_of_the_end_of_others_is_not_copied() -> None:
    before = signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    try:
        assert processes() == 1
    finally:
        signal.signal(signal.SIGCHLD, before)


def test_what_cannot_be_sent_is_done_here() -> None:
    def work(part: int) -> object:
        time.sleep(0.002)
        return lambda: part

    assert [found() for found in shared_out(work, range(20), 2)] == list(range(20))  # type: ignore[operator]


def test_large_answers_come_back_whole() -> None:
    found = shared_out(lambda part: bytes([part]) * 3_000_000, range(6), 2)
    assert [(each[:1], len(each)) for each in found] == [(bytes([part]), 3_000_000) for part in range(6)]


def test_an_interrupted_process_leaves_no_copy_behind() -> None:
    def told(_: int) -> None:
        raise KeyboardInterrupt

    def work(part: int) -> int:
        time.sleep(0.2 if part else 0)
        return part

    with pytest.raises(KeyboardInterrupt):
        shared_out(work, range(100), 3, told)
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
