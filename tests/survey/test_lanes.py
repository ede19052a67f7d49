"""Blocks on several threads come out in their order, and an error is that of the first block that has one."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from random import Random
from threading import Lock

import pytest

from clauseway.survey.lanes import in_order


@pytest.mark.parametrize("many", [1, 2, 3])
@pytest.mark.parametrize("blocks", [0, 1, 2, 3, 20])
def test_each_block_once_and_in_order(many: int, blocks: int) -> None:
    rng = Random(blocks)
    waits = [rng.random() / 500 for _ in range(blocks)]
    made = []

    def make() -> Callable[[int], int]:
        own = Lock()
        made.append(own)

        def work(block: int) -> int:
            assert own.acquire(blocking=False), "a worker is used by two threads at once"
            time.sleep(waits[block])
            own.release()
            return block * block

        return work

    assert list(in_order(make, range(blocks), many)) == [(each, each * each) for each in range(blocks)]
    assert len(made) == (many if blocks > 1 else 1)


@pytest.mark.parametrize("many", [1, 2, 4])
def test_the_first_error_is_raised(many: int) -> None:
    def work(block: int) -> int:
        time.sleep(0.002 if block == 3 else 0)
        if block in (3, 4, 5):
            raise ValueError(f"block {block}")
        return block

    answers = in_order(lambda: work, range(50), many)
    assert [next(answers)[0] for _ in range(3)] == [0, 1, 2]
    with pytest.raises(ValueError, match="block 3"):
        next(answers)


def test_no_more_blocks_are_read_than_are_worked_on() -> None:
    read = []

    def blocks() -> Iterator[int]:
        for number in range(40):
            read.append(number)
            yield number

    for done, (block, _) in enumerate(in_order(lambda: lambda each: each, blocks(), 2)):
        assert block == done
        assert len(read) <= done + 4
