"""The members of a list as a reader sees them: those that are known of, and what may exist besides."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from clauseway.case.things import Missing, Thing
from clauseway.language.possible import Interval, Truth, arithmetic

Gaps = frozenset[Missing]
NO_GAPS: Gaps = frozenset()


@dataclass(frozen=True, slots=True)
class Member:
    """A thing that is, or may be, in a collection."""

    thing: Thing
    belongs: Truth
    gaps: Gaps


@dataclass(frozen=True, slots=True)
class Collection:
    """The members that are known of, and those that may exist besides: `most` None means any number."""

    members: tuple[Member, ...]
    least: int
    most: int | None
    gap: Missing
    unseen: Thing
    all: tuple[Member, ...] = field(init=False)
    """Every member, then one that stands for all that may exist besides."""

    def __post_init__(self) -> None:
        every_one = self.members
        if self.most != 0:
            sure: Truth = True if self.least else None
            every_one += (Member(self.unseen, sure, NO_GAPS if sure else frozenset((self.gap,))),)
        object.__setattr__(self, "all", every_one)


def perhaps(each: Interval) -> Interval:
    """What a member adds of which it is not sure that it counts."""
    return Interval(min(0.0, each.low), max(0.0, each.high))


def added(total: Interval, each: Interval, unseen: Collection | None) -> Interval:
    """A total with what a member adds; `unseen` is the collection where it stands for all that may exist besides."""
    if unseen is not None:
        most = math.inf if unseen.most is None else float(unseen.most)
        low = each.low * unseen.least if each.low >= 0 else _times(each.low, most)
        high = _times(each.high, most) if each.high >= 0 else each.high * unseen.least
        each = Interval(low, high)
    return arithmetic("+", total, each)


def _times(value: float, many: float) -> float:
    return 0.0 if value == 0 or many == 0 else value * many
