"""What of a rulebook is known in one way, above all from memory: the list that somebody has to verify."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from clauseway.answers.explain import value_of
from clauseway.law.rulebook import Rulebook
from clauseway.model.clause import Clauses
from clauseway.model.provision import Citation, Condition, Derivation, Provision, Table
from clauseway.text.problems import Place

SCHEMA = "clauseway-resting/1"
NUMBER, SCOPE, CONDITION, LINE, VALUE = "number", "scope", "condition", "line", "value"
DERIVATION, TABLE, CLAUSE = "derivation", "table", "clause number"
KINDS = (NUMBER, SCOPE, CONDITION, LINE, VALUE, DERIVATION, TABLE, CLAUSE)
"""What can rest on something.

The number of a provision's section; where a provision applies; a condition; a line of one that rests on less than the
condition; a value; a derivation; a table; the number of a clause that is not (wholly) encoded.
"""


@dataclass(frozen=True, slots=True)
class Resting:
    """Something that is known in a certain way: its id, what it is, its citation in words, and where it is written."""

    id: str
    kind: str
    code: str
    edition: str
    section: str
    item: str
    detail: str
    source: str
    place: Place


def resting(rulebook: Rulebook, basis: str, clauses: Mapping[str, Clauses] | None = None) -> tuple[Resting, ...]:
    """All that is known by a basis, such as memory: provisions in their order, then the clauses of each code."""
    found: list[Resting] = []
    values: dict[str, list[Resting]] = {}
    for key, value in rulebook.parameters.items():
        if value.citation.basis.kind == basis:
            made = _resting(key, VALUE, value.citation, value_of(value), value.place)
            values.setdefault(key.partition("/")[0], []).append(made)
    for provision in rulebook.provisions.values():
        found += _provision(provision, basis)
        found += values.pop(provision.name, [])
    others: list[tuple[str, str, Derivation | Table]] = [
        *((each.name, DERIVATION, each) for each in rulebook.derivations.values()),
        *((each.id, TABLE, each) for each in rulebook.tables.values()),
    ]
    for name, kind, other in others:
        found += _whole(name, kind, other.title, other.citation, other.place, basis)
        found += values.pop(name, [])
    for code in rulebook.codes:
        for clause in (clauses or {}).get(code.code, Clauses()).in_edition(code.edition):
            how = clause.section_basis[code.edition]
            if how.kind == basis:
                section = clause.sections[code.edition]
                name = f"{code.code}.{clause.id}"
                found.append(
                    Resting(name, CLAUSE, code.code, code.edition, section, "", clause.title, how.source, clause.place)
                )
    ours = {code.code for code in rulebook.codes if code.force == "description"}
    # Our own checks of a description stand in no book, so that their sections have no number to verify.
    return tuple(each for each in found if each.kind != NUMBER or each.code not in ours)


def _provision(provision: Provision, basis: str) -> Iterator[Resting]:
    yield from _whole(provision.name, SCOPE, provision.title, provision.citation, provision.place, basis)
    for condition in provision.permitted + provision.conditions:
        yield from _condition(f"{provision.name}/", condition, basis)


def _whole(name: str, kind: str, title: str, citation: Citation, place: Place, basis: str) -> Iterator[Resting]:
    if citation.section_basis.kind == basis:
        yield _resting(name, NUMBER, citation, title, place, citation.section_basis.source)
    if citation.basis.kind == basis:
        yield _resting(name, kind, citation, title, place)


def _condition(prefix: str, condition: Condition, basis: str) -> Iterator[Resting]:
    own = condition.line.citation.basis.kind
    if own == basis:
        yield _resting(f"{prefix}{condition.label}", CONDITION, condition.line.citation, "", condition.line.place)
    for label, line in condition.lines.items():
        if line.citation.basis.kind == basis != own:
            yield _resting(f"{prefix}{label}", LINE, line.citation, "", line.place)


def _resting(name: str, kind: str, citation: Citation, detail: str, place: Place, source: str | None = None) -> Resting:
    source = citation.basis.source if source is None else source
    item = "" if kind == NUMBER else citation.item
    return Resting(name, kind, citation.code, citation.edition, citation.section, item, detail, source, place)


def counted(found: Iterable[Resting]) -> dict[str, int]:
    """How many of each kind there are, those of which there are none included."""
    counts = Counter(each.kind for each in found)
    return {kind: counts[kind] for kind in KINDS}


def resting_data(found: tuple[Resting, ...], basis: str) -> dict[str, Any]:
    """The list as JSON data."""
    rows = [
        {
            "id": each.id,
            "what": each.kind,
            "code": each.code,
            "edition": each.edition,
            "section": each.section,
            "item": each.item,
            "detail": each.detail,
            "source": each.source,
            "at": str(each.place),
        }
        for each in found
    ]
    return {"schema": SCHEMA, "basis": basis, "counts": counted(found), "rests": rows}
