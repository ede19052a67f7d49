"""What an installer takes away, as plain records: every one of them leads back to the clause lines that ask it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clauseway.answers import finding as F
from clauseway.handover.accepted import Accepted
from clauseway.handover.demands import Demand
from clauseway.model.provision import Citation

DESCRIBED = "described"
"""The standing of what no clause asks: it is as described."""


@dataclass(frozen=True, slots=True)
class Reason:
    """A clause line that asks something: what it asks, and how it stands with what is described.

    `practice` marks engineering, which no code asks; `memory` what nobody has verified. `only_if` are the facts on
    which it depends whether it is asked here at all, and `accepted` what it accepts by itself.
    """

    id: str
    citation: Citation
    asks: str
    says: str
    verdict: str
    practice: bool
    memory: bool
    only_if: tuple[str, ...] = ()
    accepted: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to measure, try or read at the door, with what is accepted.

    `id` is where its fact stands in the file of openings, from the opening on, with the mode behind an `@` where it is
    one mode's. `described` is empty while nobody said it. `accepted` is what all that is surely asked accepts.
    `demands` are the parts behind it, to judge a measured value.
    """

    id: str
    path: str
    kind: str
    fact: str
    mode: str
    phase: str
    place: str
    when: str
    question: str
    tool: str
    how: str
    to: str
    again: bool
    described: str
    known_by: str
    accepted: Accepted
    verdict: str
    reasons: tuple[Reason, ...]
    demands: tuple[Demand, ...]

    @property
    def surely_asked(self) -> bool:
        """Whether something asks it in any case; else it is not known whether anything does."""
        return any(not reason.only_if for reason in self.reasons)


@dataclass(frozen=True, slots=True)
class SequenceLine:
    """What happens in a phase at some places; without reasons no clause of these codes asks it."""

    phase: str
    when: str
    places: tuple[str, ...]
    says: str
    verdict: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Setting:
    """A fact of a device or sign: as described (empty while unknown), and what is accepted where something asks it."""

    path: str
    fact: str
    words: str
    described: str
    accepted: str
    verdict: str


@dataclass(frozen=True, slots=True)
class Row:
    """A device, lock, supply or sign of a schedule."""

    path: str
    kind: str
    what: str
    about: str
    place: str
    settings: tuple[Setting, ...]


@dataclass(frozen=True, slots=True)
class Confirm:
    """What is asked and no test at the door shows: to be shown on paper, or decided."""

    place: str
    asks: str
    says: str
    described: tuple[str, ...]
    verdict: str
    reason: Reason


@dataclass(frozen=True, slots=True)
class Handover:
    """All that an installer takes away for one opening.

    `not_known` is what undecided findings of codes wait for, `not_described` the facts that engineering would need.
    """

    opening: str
    title: str
    path: str
    verdict: str
    works: str
    arrangements: tuple[F.ArrangementAnswer, ...]
    devices: tuple[Row, ...]
    sequence: tuple[SequenceLine, ...]
    signs: tuple[Row, ...]
    provide: tuple[Confirm, ...]
    acceptance: tuple[Step, ...]
    confirm: tuple[Confirm, ...]
    inspection: tuple[Step, ...]
    not_known: tuple[F.Asked, ...]
    not_described: tuple[str, ...]
    relies_on: tuple[str, ...]
    memory: tuple[str, ...]

    def step(self, identity: str) -> Step | None:
        """The step of acceptance or inspection with an id."""
        return self.by_id.get(identity)

    @property
    def by_id(self) -> Mapping[str, Step]:
        """The steps of both lists; acceptance first."""
        return {**{step.id: step for step in self.inspection}, **{step.id: step for step in self.acceptance}}
