"""Blocks that are worked on while the next is read come out in order, with the error of the first that has one."""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event, Lock
from time import sleep

import pytest

from clauseway.survey.ahead import Phases, ahead


@pytest.mark.parametrize("threads", [1, 2, 4])
@pytest.mark.parametrize("blocks", [0, 1, 2, 3, 20])
def test_each_block_once_and_in_order(blocks: int, threads: int) -> None:
    answers = list(ahead(lambda each: each * each, range(blocks), threads))
    assert answers == [(each, each * each) for each in range(blocks)]


def test_two_are_worked_on_side_by_side() -> None:
    begun = [Event(), Event()]

    def work(block: int) -> bool:
        begun[block].set()
        return begun[1 - block].wait(30)

    assert all(met for _, met in ahead(work, range(2), 2))


def test_who_works_alone_is_alone() -> None:
    phases, inside, most = Phases(), [0, 0], [0, 0]
    gate = Lock()

    def work(block: int) -> None:
        for step in range(20):
            kind = (block + step) % 2
            with phases.alone() if kind else phases.together():
                with gate:
                    inside[kind] += 1
                    most[kind] = max(most[kind], inside[kind])
                    assert not (inside[0] and inside[1])
                    assert inside[1] < 2
                sleep(0.0005)
                with gate:
                    inside[kind] -= 1

    list(ahead(work, range(8), 4))
    assert inside == [0, 0]
    assert most == [most[0], 1]
    assert most[0] > 1


def test_an_error_gives_way_to_others() -> None:
    phases = Phases()
    for phase in (phases.alone, phases.together):
        with pytest.raises(ValueError, match="wrong"), phase():
            raise ValueError("wrong")
    with phases.alone():
        pass


def test_the_next_block_is_read_during_the_work_and_no_more() -> None:
    second = Event()
    read = []

    def blocks() -> Iterator[int]:
        for number in range(20):
            read.append(number)
            if number == 1:
                second.set()
            yield number

    def work(block: int) -> int:
        assert block or second.wait(30), "the second block was not read during the work on the first"
        return block

    for done, (block, _) in enumerate(ahead(work, blocks())):
        assert block == done
        assert len(read) <= done + 2


@pytest.mark.parametrize("threads", [1, 3])
def test_the_first_error_is_raised(threads: int) -> None:
    def work(block: int) -> int:
        if block >= 3:
            raise ValueError(f"block {block}")
        return block

    answers = ahead(work, range(50), threads)
    assert [next(answers)[0] for _ in range(3)] == [0, 1, 2]
    with pytest.raises(ValueError, match="block 3"):
        next(answers)


def test_an_error_of_reading_is_raised() -> None:
    def blocks() -> Iterator[int]:
        yield 1
        raise OSError("no more")

    with pytest.raises(OSError, match="no more"):
        list(ahead(lambda each: each, blocks()))
