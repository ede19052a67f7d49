"""Blocks that are worked on while the next is read come out in order, with the error of the first that has one."""

from __future__ import annotations

from collections.abc import Iterator
from threading import Event

import pytest

from clauseway.survey.ahead import ahead


@pytest.mark.parametrize("blocks", [0, 1, 2, 3, 20])
def test_each_block_once_and_in_order(blocks: int) -> None:
    assert list(ahead(lambda each: each * each, range(blocks))) == [(each, each * each) for each in range(blocks)]


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


def test_the_first_error_is_raised() -> None:
    def work(block: int) -> int:
        if block >= 3:
            raise ValueError(f"block {block}")
        return block

    answers = ahead(work, range(50))
    assert [next(answers)[0] for _ in range(3)] == [0, 1, 2]
    with pytest.raises(ValueError, match="block 3"):
        next(answers)


def test_an_error_of_reading_is_raised() -> None:
    def blocks() -> Iterator[int]:
        yield 1
        raise OSError("no more")

    with pytest.raises(OSError, match="no more"):
        list(ahead(lambda each: each, blocks()))
