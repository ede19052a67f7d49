"""What a code holds that its provisions do not (wholly) carry: plain frozen data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from clauseway.model.provision import Basis
from clauseway.text.problems import NOWHERE, Place

ENCODED, PARTLY, NEEDS_HUMAN, OUT_OF_SCOPE = "encoded", "partly", "needs-human", "out-of-scope"
STANDINGS = (ENCODED, PARTLY, NEEDS_HUMAN, OUT_OF_SCOPE)
"""How far a clause is encoded, the fullest first."""


@dataclass(frozen=True, slots=True)
class Clause:
    """A clause by the name of its matter, with its section in each edition that has it.

    An `id` that is also the id of a provision says that the provision covers its clause only in part.
    """

    id: str
    title: str
    standing: str
    note: str
    sections: Mapping[str, str]
    section_basis: Mapping[str, Basis]
    place: Place = NOWHERE


@dataclass(frozen=True, slots=True)
class Clauses:
    """The clauses of a code by id, and what in words its provisions and clauses are meant to cover, by edition."""

    covers: Mapping[str, str] = field(default_factory=dict)
    entries: Mapping[str, Clause] = field(default_factory=dict)

    def in_edition(self, edition: str) -> tuple[Clause, ...]:
        """The clauses that stand in an edition, in the order of the file."""
        return tuple(clause for clause in self.entries.values() if edition in clause.sections)
