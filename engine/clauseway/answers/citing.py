"""What a cited section is: in the edition that is named, in the others, and whether its number is one of another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from clauseway.answers.coverage import Coverage, Row
from clauseway.text.citation import Citation, Reading
from clauseway.text.nearest import nearest
from clauseway.text.section import Reference, item_words, nearest_sections

SCHEMA = "clauseway-citations/1"

FOUND, MOVED, WITHIN, UNKNOWN = "found", "of-another-edition", "within", "unknown"
OPEN, NO_EDITION, NO_CODE = "open", "no-such-edition", "no-such-code"
"""What became of a citation.

Found; a number that only other editions have; not known itself, but what holds it is; not known at all; no edition or
no code is named, so that all are shown; an edition or a code that is not among the rules.
"""


@dataclass(frozen=True, slots=True)
class Standing:
    """A section of an edition, and what it is."""

    code: str
    edition: str
    row: Row
    item: str = ""
    encoded_as: tuple[str, ...] = ()

    @property
    def section(self) -> str:
        """The section with the cited item."""
        return f"{self.row.section} {item_words(self.item)}" if self.item else self.row.section


@dataclass(frozen=True, slots=True)
class Other:
    """What the number is in another edition, and where in the cited edition that matter stands."""

    of: Standing
    stands_in: tuple[Standing, ...]


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a citation means.

    `here` is what it names; `elsewhere` the same matter in the other editions; `number_of` what the number is in other
    editions, where that is another matter; `within` what would hold an unknown section.
    """

    citation: Citation
    state: str
    here: tuple[Standing, ...] = ()
    elsewhere: tuple[Standing, ...] = ()
    number_of: tuple[Other, ...] = ()
    within: Standing | None = None
    nearest: tuple[Standing, ...] = ()
    known: tuple[str, ...] = ()
    near: str = ""
    unknown_item: str = ""

    @property
    def sound(self) -> bool:
        """Whether the section is known in the edition that is cited."""
        return self.state == FOUND and not self.unknown_item


def meanings(reading: Reading, tables: Sequence[Coverage], names: Mapping[str, Sequence[str]]) -> tuple[Meaning, ...]:
    """What each citation of a text means, by the tables of all editions of the codes that it may name."""
    return tuple(_meaning(citation, tables, names) for citation in reading.citations)


def _meaning(citation: Citation, tables: Sequence[Coverage], names: Mapping[str, Sequence[str]]) -> Meaning:
    if citation.unknown:
        called = {name: code for code, several in names.items() for name in (code, *several)}
        like = nearest(citation.unknown, called)
        return Meaning(citation, NO_CODE, known=tuple(names), near=called[like] if like else "")
    own = [table for table in tables if citation.code in ("", table.code)]
    wanted = [table for table in own if citation.edition in ("", table.edition)]
    if not wanted:
        return _without_edition(citation, NO_EDITION, own)
    if len(wanted) > 1 or not citation.code:
        return _without_edition(citation, OPEN, wanted)
    (table,) = wanted
    others = [other for other in own if other is not table]
    here = _standing(table, citation.place)
    matters = {matter for found in here for matter in found.row.matters}
    number_of = tuple(
        Other(found, _same((found,), table))
        for other in others
        for found in _standing(other, citation.place, exact=True)
        if not matters & set(found.row.matters) and found.row.place is not None and not found.row.place.last
    )
    if here:
        item = here[0].item if all(found.item and not found.encoded_as for found in here) else ""
        elsewhere = tuple(again for other in others for again in _same(here, other))
        return Meaning(citation, FOUND, here, elsewhere, number_of, unknown_item=item)
    near = _nearest(table, citation.place)
    if number_of:
        return Meaning(citation, MOVED, number_of=number_of, nearest=near)
    holders = [each for each in near if each.row.place is not None and _inside(each.row.place, citation.place)]
    if holders:
        return Meaning(citation, WITHIN, within=holders[-1], nearest=near)
    return Meaning(citation, UNKNOWN, nearest=near)


def _without_edition(citation: Citation, state: str, tables: Sequence[Coverage]) -> Meaning:
    """All editions in which the number is known; where none is, what is nearest in each code's newest."""
    here = tuple(found for table in tables for found in _standing(table, citation.place))
    newest = {table.code: table for table in tables}
    near = () if here else tuple(each for table in newest.values() for each in _nearest(table, citation.place)[:3])
    known = tuple(f"{table.code}@{table.edition}" for table in tables)
    return Meaning(citation, state if here or state == NO_EDITION else UNKNOWN, here, nearest=near, known=known)


def _inside(outer: Reference, inner: Reference) -> bool:
    return inner.number.startswith(f"{outer.number}.") and outer.kind == inner.kind


def _standing(table: Coverage, place: Reference, *, exact: bool = False) -> tuple[Standing, ...]:
    """What a place is in an edition: the row of its item, else that of its section, else those of all its items.

    With `exact` the rows of the items alone do not count.
    """
    rows = [row for row in table.rows if row.place is not None and row.place.holds(place)]
    steps = place.item.split(".") if place.item else []
    for count in range(len(steps), -1, -1):
        item = ".".join(steps[:count])
        found = [row for row in rows if row.place is not None and row.place.item == item]
        left = ".".join(steps[count:])
        if found:
            return tuple(Standing(table.code, table.edition, row, left, _lines(row, left)) for row in found)
    if exact:
        return ()
    below = [row for row in rows if row.place is not None and row.place.item.startswith(place.item)]
    return tuple(Standing(table.code, table.edition, row) for row in below)


def _lines(row: Row, item: str) -> tuple[str, ...]:
    """The conditions that stand in an item, or in a part of it."""
    names = [name for own, name in row.lines if item and (own == item or own.startswith(f"{item}."))]
    return tuple(dict.fromkeys("/".join(name.split("/")[:2]) for name in names))


def _same(found: Iterable[Standing], other: Coverage) -> tuple[Standing, ...]:
    """Where another edition has the same conditions, or else the same provisions or clauses."""
    made: dict[Standing, None] = {}
    for standing in found:
        for name in standing.encoded_as:
            for row in other.rows:
                items = [item for item, line in row.lines if "/".join(line.split("/")[:2]) == name]
                for item in dict.fromkeys(items):
                    made[Standing(other.code, other.edition, row, item, _lines(row, item))] = None
        if standing.encoded_as:
            continue
        named = set(standing.row.by) | (set(standing.row.matters) if not standing.row.by else set())
        rows = [row for row in other.rows if named & {*row.by, *(row.matters if not standing.row.by else ())}]
        rows = rows or [row for row in other.rows if set(standing.row.matters) & set(row.by)]
        for row in rows:
            made[Standing(other.code, other.edition, row)] = None
    return tuple(made)


def _nearest(table: Coverage, place: Reference) -> tuple[Standing, ...]:
    rows = {row.place: row for row in reversed(table.rows) if row.place is not None}
    return tuple(Standing(table.code, table.edition, rows[near]) for near in nearest_sections(place, rows))


def meanings_data(reading: Reading, found: Sequence[Meaning]) -> dict[str, Any]:
    """The answer as JSON data."""
    return {"schema": SCHEMA, "citations": [_meaning_data(each) for each in found], "unread": list(reading.unread)}


def _meaning_data(meaning: Meaning) -> dict[str, Any]:
    citation = meaning.citation
    return {
        "written": citation.written,
        "at": citation.start,
        "reads": str(citation),
        "code": citation.code or None,
        "edition": citation.edition or None,
        "section": citation.place.section,
        "item": citation.place.item,
        "state": meaning.state,
        "here": [_standing_data(each) for each in meaning.here],
        "elsewhere": [_standing_data(each) for each in meaning.elsewhere],
        "number_of": [
            {**_standing_data(each.of), "stands_in": [_standing_data(now) for now in each.stands_in]}
            for each in meaning.number_of
        ],
        "within": _standing_data(meaning.within) if meaning.within is not None else None,
        "nearest": [_standing_data(each) for each in meaning.nearest],
        "known": list(meaning.known),
        "did_you_mean": meaning.near or None,
        "unknown_item": meaning.unknown_item or None,
    }


def _standing_data(standing: Standing) -> dict[str, Any]:
    row = standing.row
    return {
        "code": standing.code,
        "edition": standing.edition,
        "section": row.section,
        "item": standing.item,
        "title": row.title,
        "standing": row.standing,
        "by": list(standing.encoded_as or row.by),
        "section_basis": row.basis.kind,
        "source": row.basis.source,
        "note": row.note,
    }
