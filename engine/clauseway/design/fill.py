"""Filling in what is left open so that terms hold: depth first, the first way that works."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clauseway.design.candidates import Candidates
from clauseway.design.variant import Variant
from clauseway.design.ways import Limits, Ways
from clauseway.language import core
from clauseway.language.possible import Truth
from clauseway.law.rulebook import Rulebook
from clauseway.readers.decide import Env

STEPS = 400
"""How many designs are tried before a fill is given up."""

Term = tuple[core.Node, Env]
"""A term with the things bound in it."""


@dataclass(frozen=True)
class Filler:
    """Fills in variants of one project in one mode."""

    rulebook: Rulebook
    limits: Limits
    candidates: Candidates
    mode: str
    accept_memory: bool

    def truth(self, variant: Variant, term: Term) -> Truth:
        """How a term stands in a variant."""
        return variant.decider(self.rulebook, self.mode, self.accept_memory).truth(*term)[0]

    def filled(self, variant: Variant, terms: Sequence[Term]) -> tuple[Variant, tuple[Term, ...]]:
        """The variant with as many of the terms made to hold as can be, one after the other, and those that are left.

        A later term never undoes an earlier one.
        """
        held: list[Term] = []
        left: list[Term] = []
        for term in terms:
            found = self._toward(variant, [*held, term])
            if found is None:
                left.append(term)
            else:
                variant = found
                held.append(term)
        return variant, tuple(left)

    def _toward(self, start: Variant, terms: list[Term]) -> Variant | None:
        stack = [start]
        seen = {frozenset(start.changes)}
        tried = 0
        while stack and tried < STEPS:
            variant = stack.pop()
            tried += 1
            decider = variant.decider(self.rulebook, self.mode, self.accept_memory)
            failing = next((term for term in terms if decider.truth(*term)[0] is not True), None)
            if failing is None:
                return variant
            ways = Ways(variant, decider, self.limits, self.candidates)
            steps = list(dict.fromkeys(ways.toward(*failing)))
            for step in reversed(steps):
                after = variant.after(step, self.rulebook.vocabulary)
                changes = frozenset(after.changes)
                if changes not in seen:
                    seen.add(changes)
                    stack.append(after)
        return None
