"""What a jurisdiction has adopted, and when: plain frozen data. Dates are ISO text, so that they compare as text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from clauseway.text.problems import NOWHERE, Place

TODAY = "today"
PROJECT_DATES = ("permit-application", "permit-issue", "construction", TODAY)
"""The dates of a project that a law may look at; `today` is the date of the check."""

ADOPTED, PROPOSED, WITHDRAWN = "adopted", "proposed", "withdrawn"
ANY, BY_ORDINANCE, STRICTER, NONE = "any", "by-ordinance", "stricter", "none"
"""What those below a jurisdiction may amend."""


@dataclass(frozen=True, slots=True)
class Term:
    """When an adoption was to be in force, as it was known from `known` on.

    `since` is the first day; `until` the first day on which it no longer is, or the id of the adoption that ends it.
    """

    known: str
    since: str
    until: str
    cite: str
    place: Place


@dataclass(frozen=True, slots=True)
class Adoption:
    """One edition of a code as a jurisdiction has adopted it.

    Either `code` and `edition` are named, or it follows an adoption of another jurisdiction (`follows`, with
    `follows_id` empty where it follows whatever stands there for the code). `layers` are laid over in their order.
    With `nothing_before` there was no law of this code before its first day; without, what was law then is unknown.
    """

    id: str
    jurisdiction: str
    title: str
    code: str
    edition: str
    follows: str
    follows_id: str
    layers: tuple[tuple[str, Place], ...]
    terms: tuple[Term, ...]
    decided_by: str
    choice: tuple[str, ...]
    authority: str
    cite: str
    basis: str
    status: str
    note: str
    place: Place
    nothing_before: bool = False

    @property
    def name(self) -> str:
        """Its id with its jurisdiction, such as `US-CA/cbc-2022`."""
        return f"{self.jurisdiction}/{self.id}"


@dataclass(frozen=True, slots=True)
class InForce:
    """An adoption that is in force for a project, the date that decided it, and since and until when it stands."""

    adoption: Adoption
    day: str
    since: str
    until: str


@dataclass(frozen=True, slots=True)
class LocalClause:
    """Local law that is not wholly encoded, and what a person must look at."""

    id: str
    title: str
    cite: str
    basis: str
    standing: str
    adoptions: tuple[str, ...]
    note: str
    place: Place


@dataclass(frozen=True)
class Jurisdiction:
    """A government and what it has adopted; `parent` is the one above it."""

    id: str
    name: str
    parent: str
    local_amendments: str
    adoptions: Mapping[str, Adoption] = field(default_factory=dict)
    authorities: Mapping[str, str] = field(default_factory=dict)
    sources: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    clauses: tuple[LocalClause, ...] = ()
    place: Place = NOWHERE
