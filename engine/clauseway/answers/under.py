"""Under which law a check was made: what was adopted where, since when, and what of it a person must look at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clauseway.law import codec
from clauseway.model.jurisdiction import TODAY, Adoption, InForce, Jurisdiction, LocalClause, Term

if TYPE_CHECKING:
    from clauseway.law.adoption import Asked, Reading
    from clauseway.law.library import Library

for _part in (Adoption, Term, InForce, LocalClause):
    codec.register(_part)


@codec.register
@dataclass(frozen=True)
class Under:
    """One reading of the law of a jurisdiction.

    `readings` counts those that stand side by side; `choice` and `authority` tell this one from the others.
    `not_encoded` is local law that no rule carries wholly.
    """

    jurisdiction: str
    name: str
    dates: Mapping[str, str]
    adopted: tuple[InForce, ...]
    readings: int
    choice: str
    authority: str
    not_encoded: tuple[tuple[str, LocalClause], ...]

    @property
    def label(self) -> str:
        """What tells this reading from the others; nothing where there is one."""
        return ", ".join(filter(None, (self.choice, self.authority)))


def under(library: Library, jurisdiction: Jurisdiction, asked: Asked, reading: Reading, readings: int) -> Under:
    """What a report says of the law that it was made under."""
    from clauseway.law.adoption import above

    standing: dict[str, set[str]] = {}
    for each in reading.adopted:
        standing.setdefault(each.adoption.jurisdiction, set()).add(each.adoption.id)
    places = {each.id: each for each in above(library, jurisdiction)}
    places |= {name: library.jurisdictions[name] for name in standing}
    unread = tuple(
        (place.id, clause)
        for place in places.values()
        for clause in place.clauses
        if not clause.adoptions or set(clause.adoptions) & standing.get(place.id, set())
    )
    return Under(
        jurisdiction.id,
        jurisdiction.name,
        asked.dates,
        reading.adopted,
        readings,
        reading.choice,
        reading.authority,
        unread,
    )


def under_data(law: Under) -> dict[str, Any]:
    """The same as JSON data."""
    return {
        "in": law.jurisdiction,
        "name": law.name,
        "dates": {name: day for name, day in sorted(law.dates.items()) if name != TODAY},
        "readings": law.readings,
        "choice": law.choice or None,
        "authority": law.authority or None,
        "adopted": [in_force_data(each) for each in law.adopted],
        "not_encoded": [
            {
                "in": place,
                "id": clause.id,
                "title": clause.title,
                "cite": clause.cite,
                "standing": clause.standing,
                "note": clause.note,
            }
            for place, clause in law.not_encoded
        ],
    }


def in_force_data(found: InForce) -> dict[str, Any]:
    """An adoption that is in force, as JSON data."""
    adoption = found.adoption
    return {
        "id": adoption.name,
        "title": adoption.title,
        "code": rests_on(found),
        "layers": [name for name, _ in adoption.layers],
        "from": found.since,
        "until": found.until or None,
        "decided_by": adoption.decided_by,
        "decided_on": found.day,
        "authority": adoption.authority or None,
        "cite": adoption.cite,
        "basis": adoption.basis,
        "at": str(adoption.place),
    }


def rests_on(found: InForce) -> str:
    """What an adoption adopts: a code and edition, or what another jurisdiction has."""
    adoption = found.adoption
    if adoption.edition:
        return f"{adoption.code}@{adoption.edition}"
    return (
        f"{adoption.follows}/{adoption.follows_id}" if adoption.follows_id else f"{adoption.code} of {adoption.follows}"
    )


def reason(found: InForce) -> str:
    """Why an adoption counts, in words."""
    adoption = found.adoption
    by = "the date of the check" if adoption.decided_by == TODAY else f"the date of {adoption.decided_by}"
    until = f" until {found.until}" if found.until else ""
    return f"in force from {found.since}{until}; {by}, {found.day}, decides ({adoption.cite}; {adoption.place})"


@dataclass(frozen=True, slots=True)
class Passage:
    """A line of a timetable: an adoption with what was known of its dates, and when."""

    jurisdiction: str
    adoption: str
    title: str
    rests: str
    spans: tuple[tuple[str, str, str], ...]
    decided_by: str
    choice: tuple[str, ...]
    status: str
    cite: str


def timetable(library: Library, jurisdiction: Jurisdiction) -> tuple[Passage, ...]:
    """All adoptions of a jurisdiction and those above it, the highest first, over time."""
    from clauseway.law.adoption import above

    return tuple(
        Passage(
            place.id,
            adoption.id,
            adoption.title,
            rests_on(InForce(adoption, "", "", "")),
            tuple((term.known, term.since, term.until) for term in adoption.terms),
            adoption.decided_by,
            adoption.choice,
            adoption.status,
            adoption.cite,
        )
        for place in reversed(list(above(library, jurisdiction)))
        for adoption in sorted(place.adoptions.values(), key=lambda a: (a.terms[-1].since if a.terms else "9", a.id))
    )


def layer_status(library: Library, name: str) -> tuple[str, str, str]:
    """The title of a layer, how it binds, and for which site."""
    from clauseway.law.jurisdictions import text

    for layer in library.layers:
        if text(layer, "layer") == name:
            return text(layer, "title"), text(layer, "binding", "law"), text(layer, "site")
    return "", "law", ""
