"""What of a code is encoded: a row for each section of an edition, from its provisions and its list of clauses."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clauseway.law.rulebook import Rulebook
from clauseway.model.clause import ENCODED, NEEDS_HUMAN, PARTLY, STANDINGS, Clauses
from clauseway.model.provision import MEMORY, Basis, Citation, Derivation, Table
from clauseway.text.section import Reference, canonical_item, item_key, references, section_key

SCHEMA = "clauseway-clauses/1"
BASES = ("published", "reprint", "secondary", "practice", MEMORY)
"""How a thing is known, the best first."""


@dataclass(frozen=True, slots=True)
class Row:
    """One section of an edition.

    `by` names what encodes it (`sensor-release`, or `thresholds/height` where only a condition stands there); `matters`
    the provisions and clauses that it is about; `place` is empty where the section's text names no number. `lines` are
    the conditions that stand in its items, as pairs of item and name. `basis` says how well the number is known.
    """

    section: str
    place: Reference | None
    title: str
    standing: str
    by: tuple[str, ...]
    matters: tuple[str, ...]
    items: tuple[str, ...]
    basis: Basis
    note: str
    lines: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Coverage:
    """The rows of a code in one edition, ordered by section, and what its rules hold, by how well they are known."""

    code: str
    title: str
    edition: str
    covers: str
    rows: tuple[Row, ...]
    kinds: Mapping[str, int]
    conditions: Mapping[str, int]
    parameters: Mapping[str, int]

    @property
    def standings(self) -> dict[str, int]:
        """How many sections have each standing."""
        counted = Counter(row.standing for row in self.rows)
        return {standing: counted[standing] for standing in STANDINGS}


@dataclass(frozen=True, slots=True)
class _Part:
    """Something that stands in a section: a provision (or its condition), or a clause of the list."""

    matter: str
    by: str
    title: str
    item: str
    basis: Basis
    standing: str
    note: str = ""
    line: str = ""


def coverage(rulebook: Rulebook, code: str, clauses: Clauses) -> Coverage:
    """What is encoded of a code, in the edition that the rulebook holds of it."""
    named = next(each for each in rulebook.codes if each.code == code)
    parts: dict[Reference | str, list[_Part]] = {}
    for section, part in [*_encoded(rulebook, code), *_listed(clauses, named.edition)]:
        for place in references(section) or (section,):
            parts.setdefault(place, []).append(part)
    owners = {part.matter for several in parts.values() for part in several if part.by}
    rows = [_row(place, parts[place], owners) for place in sorted(parts, key=lambda each: section_key(str(each)))]
    kinds = Counter(p.kind for p in rulebook.provisions.values() if p.code == code)
    kinds["derivation"] = sum(each.code == code for each in rulebook.derivations.values())
    kinds["table"] = sum(each.code == code for each in rulebook.tables.values())
    conditions = Counter(
        condition.line.citation.basis.kind
        for provision in rulebook.provisions.values()
        if provision.code == code
        for condition in provision.permitted + provision.conditions
    )
    values = Counter(
        parameter.citation.basis.kind for parameter in rulebook.parameters.values() if parameter.citation.code == code
    )
    return Coverage(
        code,
        named.title,
        named.edition,
        clauses.covers.get(named.edition, ""),
        tuple(rows),
        {kind: kinds[kind] for kind in ("requirement", "locking-arrangement", "derivation", "table")},
        {basis: conditions[basis] for basis in BASES},
        {basis: values[basis] for basis in BASES},
    )


def _encoded(rulebook: Rulebook, code: str) -> Iterator[tuple[str, _Part]]:
    """Where each provision, derivation and table stands, and its conditions and values that stand elsewhere."""
    values = [parameter for parameter in rulebook.parameters.values() if parameter.citation.code == code]
    for provision in rulebook.provisions.values():
        if provision.code != code:
            continue
        own = [(f"{provision.name}/{label}", citation) for label, citation in _lines(rulebook, provision.name)]
        cited = {citation.section for _, citation in own}
        # A value is named only where no condition stands.
        own += [
            (value.key, value.citation)
            for value in values
            if value.key.startswith(f"{provision.name}/") and value.citation.section not in cited
        ]
        yield from _spread(provision.id, provision.title, provision.citation, own)
    others: list[Derivation | Table] = [*rulebook.derivations.values(), *rulebook.tables.values()]
    for other in others:
        if other.code == code:
            identity = other.id.removeprefix(f"{code}.")
            own = [(v.key, v.citation) for v in values if v.key.startswith(f"{code}.{identity}/")]
            yield from _spread(identity, other.title, other.citation, own)


def _lines(rulebook: Rulebook, name: str) -> Iterator[tuple[str, Citation]]:
    provision = rulebook.provisions[name]
    for condition in provision.permitted + provision.conditions:
        yield condition.label, condition.line.citation
        yield from ((label, line.citation) for label, line in condition.lines.items())


def _spread(
    identity: str, title: str, whole: Citation, own: Sequence[tuple[str, Citation]]
) -> Iterator[tuple[str, _Part]]:
    yield whole.section, _Part(identity, identity, title, whole.item, whole.section_basis, ENCODED)
    for key, citation in own:
        by = key.partition(".")[2]
        if citation.section == whole.section:
            part = _Part(identity, identity, title, citation.item, whole.section_basis, ENCODED, "", by)
        else:
            # The number of a sub-section is known no better than what was read there.
            known = max(citation.section_basis, citation.basis, key=lambda basis: BASES.index(basis.kind))
            part = _Part(identity, by, title, citation.item, known, ENCODED, "", by)
        yield citation.section, part


def _listed(clauses: Clauses, edition: str) -> Iterator[tuple[str, _Part]]:
    for clause in clauses.in_edition(edition):
        basis = clause.section_basis.get(edition, Basis(MEMORY))
        part = _Part(clause.id, "", clause.title, "", basis, clause.standing, clause.note)
        yield clause.sections[edition], part


def _row(written: Reference | str, parts: list[_Part], owners: set[str]) -> Row:
    """The row of a section: a provision beside a clause that is not encoded means partly."""
    encoding = [part for part in parts if part.by]
    listed = [part for part in parts if not part.by]
    by = [part.by for part in encoding]
    by += [part.matter for part in listed if part.matter in owners]
    standings = {part.standing for part in parts}
    if len(standings) == 1:
        (standing,) = standings
    else:
        # What a person must look at is not hidden by what is out of scope.
        standing = PARTLY if standings & {ENCODED, PARTLY} else NEEDS_HUMAN
    whole = {name for name in by if "/" not in name}
    shown = [name for name in dict.fromkeys(by) if "/" not in name or name.partition("/")[0] not in whole]
    # A condition is named once, without its lines.
    inner = {name for name in shown if name.count("/") == 1}
    shown = [name for name in shown if name in inner or "/".join(name.split("/")[:2]) not in inner]
    known = min((part.basis for part in parts), key=lambda basis: BASES.index(basis.kind))
    place = written if isinstance(written, Reference) else None
    return Row(
        str(written),
        place,
        "; ".join(dict.fromkeys(part.title for part in (encoding or listed))),
        standing,
        tuple(shown),
        tuple(dict.fromkeys(part.matter for part in parts)),
        tuple(sorted({part.item for part in encoding if part.item}, key=item_key)),
        known,
        " ".join(dict.fromkeys(part.note for part in listed if part.note)),
        tuple(dict.fromkeys((canonical_item(part.item), part.line) for part in encoding if part.item and part.line)),
    )


def coverage_data(found: Coverage) -> dict[str, Any]:
    """A table of clauses as JSON data."""
    return {
        "code": found.code,
        "title": found.title,
        "edition": found.edition,
        "covers": found.covers,
        "totals": totals_data(found),
        "clauses": [
            {
                "section": row.section,
                "title": row.title,
                "standing": row.standing,
                "by": list(row.by),
                "items": list(row.items),
                "section_basis": row.basis.kind,
                "source": row.basis.source,
                "note": row.note,
            }
            for row in found.rows
        ],
    }


def totals_data(found: Coverage) -> dict[str, Any]:
    """The counts of a table of clauses as JSON data."""
    return {
        "sections": dict(found.standings),
        "numbers_from_memory": sum(row.basis.kind == MEMORY for row in found.rows),
        "provisions": dict(found.kinds),
        "conditions": dict(found.conditions),
        "parameters": dict(found.parameters),
    }
