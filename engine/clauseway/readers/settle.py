"""A second, bounded look at what Kleene's logic leaves open.

A term may be true for each value of an unknown fact and still be undetermined part by part. Trying the finite
values of the unknown facts, as far as the budget allows, settles such terms; it never guesses.
"""

from __future__ import annotations

from collections.abc import Mapping

from clauseway.case.things import UNASKABLE, Missing
from clauseway.language import core
from clauseway.language.possible import Choice, Truth, Value
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env
from clauseway.readers.repeated import repeated

BUDGET = 48
WIDEST = 12


def settle(decider: Decider, node: core.Node, env: Env, gaps: Gaps) -> Truth:
    """The truth of a term that every way of filling in its finite gaps agrees on, or undetermined."""
    return _Settling(decider, node, env).split({**decider.assumed}, gaps)


def trial(decider: Decider, assumed: Mapping[tuple[str, str], Value], accept_memory: bool | None = None) -> Decider:
    """The same reader with some facts assumed."""
    accepts = decider.accept_memory if accept_memory is None else accept_memory
    return decider.trying(assumed, accepts)


class _Settling:
    def __init__(self, decider: Decider, node: core.Node, env: Env) -> None:
        self.decider = decider
        self.node = node
        self.env = env
        self.left = BUDGET
        kept, found = decider.rulebook.noted(("repeated", id(node)), lambda: (node, repeated(decider.rulebook, node)))
        assert kept is node
        self.repeated: frozenset[str] = found

    def split(self, assumed: dict[tuple[str, str], Value], gaps: Gaps) -> Truth:
        open_facts = sorted(missing for missing in gaps if missing.name in self.repeated)
        chosen = next((missing for missing in open_facts if self.values(missing)), None)
        if chosen is None:
            return None
        agreed: Truth = None
        for value in self.values(chosen):
            if self.left <= 0:
                return None
            self.left -= 1
            inner = {**assumed, (chosen.path, chosen.name): value}
            truth, rest = trial(self.decider, inner).truth(self.node, self.env)
            if truth is None:
                truth = self.split(inner, rest)
            if truth is None or (agreed is not None and truth is not agreed):
                return None
            agreed = truth
        return agreed

    def values(self, missing: Missing) -> list[Value]:
        """The values to try for a missing fact; none when they are too many."""
        if missing.whole or missing.kind in UNASKABLE:
            return []
        fact = self.decider.vocabulary.kinds[missing.kind].facts.get(missing.name)
        if fact is None:
            return []
        if fact.sort in ("yes-no", "approval"):
            return [True, False]
        if fact.sort != "choice":
            return []
        given = self.decider.project.given(missing.path, missing.name, self.decider.mode)
        possible = given.value if given is not None else self.decider.vocabulary.unknown(fact)
        if not isinstance(possible, Choice) or len(possible.options) > WIDEST:
            return []
        return [Choice(frozenset((option,))) for option in sorted(possible.options)]
