"""Does it work? What engineering practice says of an opening, beside what the codes say and never in their place."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from clauseway.answers import finding as F
from clauseway.answers.decide_condition import Bound, decide_condition
from clauseway.model.provision import Provision
from clauseway.readers.decide import Decider

YES, NO, OPEN, NOTHING = "yes", "no", "undetermined", "not-described"


def practical(decider: Decider, provision: Provision, bound: Bound) -> list[F.Finding]:
    """The findings of a provision of engineering practice; none on what only may exist."""
    if bound.thing.unseen is not None:
        return []
    return [decide_condition(decider, provision, c, bound, claimed=False) for c in provision.conditions]


def works(findings: Sequence[F.Finding], practice: Collection[str]) -> str:
    """Whether what is described works: `no` where something surely does not, `not-described` where nothing is decided.

    What is not described leaves it open, and never makes it work.
    """
    verdicts = {finding.verdict for finding in findings if finding.code in practice}
    if F.UNMET in verdicts:
        return NO
    if F.MET not in verdicts:
        return NOTHING
    return OPEN if verdicts & {F.UNDETERMINED, F.NEEDS_APPROVAL} else YES
