"""Where a layer stands: over which edition and layers it is laid, so that it can be tried there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from clauseway.law.adoption import Asked, Reading, above, code_of, jurisdiction_called, readings, stacked
from clauseway.law.jurisdictions import text, texts
from clauseway.law.laying import Terms, rank_of
from clauseway.law.library import Library
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import ADOPTED, TODAY, Adoption, Jurisdiction
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node


@dataclass(frozen=True)
class Footing:
    """One place where a layer stands.

    `label` is the adoption or place that it amends, or the bare edition; `codes` are resolved together, `below` is laid
    before it, `terms` say on which day and for whom.
    """

    label: str
    codes: tuple[str, ...]
    code: str
    edition: str
    below: tuple[str, ...]
    terms: Terms

    def before(self, library: Library) -> Rulebook:
        """The rulebook without the layer."""
        return resolve(library, self.codes, self.below, self.terms)

    def after(self, library: Library, layer: str) -> Rulebook:
        """The rulebook with it."""
        return resolve(library, self.codes, (*self.below, layer), self.terms)

    def by(self, authority: str) -> Footing:
        """The same for one authority."""
        return replace(self, terms=replace(self.terms, authority=authority))


def files_of(library: Library, name: str, place: Place = NOWHERE) -> list[Node]:
    """The files of a layer, whole provisions that it brings included.

    Raises:
        ClausewayError: when there is none, with the nearest.
    """
    known = sorted({text(layer, "layer") for layer in library.layers})
    if name not in known:
        expected = one_of(known, 12) if known else "a folder under jurisdictions, with --rules"
        raise ClausewayError(Problem(place, f"no layer {name}", expected, nearest(name, known) or ""))
    return [node for node in (*library.layers, *library.inserted) if text(node, "layer") == name]


def first_day(files: list[Node], since: str = "") -> str:
    """The day on which all that a layer says has begun; nothing where it names no day."""
    days = [since]
    for node in files:
        changes = node.get("changes")
        for entry in [node] if changes is None else changes.elements():
            days += [text(entry, "from"), text(entry, "comply_by")]
    return max(days)


def footings(library: Library, name: str, on: str = "", place: str = "") -> list[Footing]:
    """Where a layer stands: under each adoption that names it; else in its place as it is; else over bare editions.

    Args:
        library: The rules.
        name: The layer.
        on: The day on which it is tried; when left out, the day on which all of it has begun.
        place: A jurisdiction in which to try it, whatever adopts it.

    Raises:
        ClausewayError: for an unknown layer or jurisdiction, and a date with no adoption.
    """
    files = files_of(library, name)
    if place:
        return list(_in_place(library, jurisdiction_called(library, place), name, files, on))
    naming = [
        adoption
        for jurisdiction in library.jurisdictions.values()
        for adoption in jurisdiction.adoptions.values()
        if name in [layer for layer, _ in adoption.layers]
    ]
    if naming:
        return [found for adoption in naming for found in _adopted(library, adoption, name, files, on)]
    jurisdiction = library.jurisdictions.get(rank_of(files[0]))
    if jurisdiction is not None and any(
        adoption.status == ADOPTED and code_of(library, adoption) == text(files[0], "code")
        for each in above(library, jurisdiction)
        for adoption in each.adoptions.values()
    ):
        return list(_in_place(library, jurisdiction, name, files, on))
    return list(_bare(library, files, on))


def _terms(files: list[Node], day: str, terms: Terms | None = None) -> Terms:
    site = next((text(node, "site") for node in files if node.get("site") is not None), "")
    dates = {TODAY: day} if day else {}
    return replace(terms or Terms(), dates=dates, site=site, drafts=True)


def _adopted(library: Library, adoption: Adoption, name: str, files: list[Node], on: str) -> Iterator[Footing]:
    """Under an adoption that names it: the layers that the adoption lays before it are below."""
    since = adoption.terms[-1].since if adoption.terms else ""
    day = on or first_day(files, since)
    for code, edition, layers in stacked(library, adoption, Asked({TODAY: day} if day else {})):
        names = [layer for layer, _ in layers]
        terms = replace(_terms(files, day), decided_by=dict(layers))
        below = tuple(names[: names.index(name)])
        yield Footing(adoption.name, (f"{code}@{edition}",), code, edition, below, terms)


def _in_place(library: Library, jurisdiction: Jurisdiction, name: str, files: list[Node], on: str) -> Iterator[Footing]:
    """In a jurisdiction as it is on a day, laid over all that stands there."""
    code = text(files[0], "code")
    begun = [
        adoption.terms[-1].since
        for each in above(library, jurisdiction)
        for adoption in each.adoptions.values()
        if adoption.status == ADOPTED and adoption.terms and code_of(library, adoption) == code
    ]
    day = on or first_day(files, max(begun, default=""))
    asked = Asked({TODAY: day}, site=_terms(files, day).site)
    for reading in readings(library, jurisdiction, asked):
        yield from _over(reading, jurisdiction, name, code, files, day)


def _over(
    reading: Reading, jurisdiction: Jurisdiction, name: str, code: str, files: list[Node], day: str
) -> Iterator[Footing]:
    editions = {written.partition("@")[0]: written.partition("@")[2] for written in reading.codes}
    if code not in editions:
        found = f"{jurisdiction.id} has no edition of {code} in force on {day}, which {name} amends"
        raise ClausewayError(Problem(files[0].place, found, one_of(reading.codes)))
    below = tuple(layer for layer in reading.layers if layer != name)
    label = jurisdiction.id + (f" ({reading.label})" if reading.label else "")
    terms = replace(_terms(files, day, reading.terms), authority=reading.terms.authority)
    yield Footing(label, reading.codes, code, editions[code], below, terms)


def _bare(library: Library, files: list[Node], on: str) -> Iterator[Footing]:
    """Over each edition that it speaks of, and nothing else."""
    code = library.code(text(files[0], "code"), files[0].place)
    spoken = [each.text or "" for each in texts(files[0], "editions")]
    for edition in code.editions:
        if not spoken or edition in spoken:
            terms = _terms(files, on or first_day(files))
            yield Footing(f"{code.id}@{edition}", (f"{code.id}@{edition}",), code.id, edition, (), terms)


def grounds(library: Library, name: str, on: str) -> list[Footing]:
    """What stands in a jurisdiction on a day, one for each code and reading, for something to be laid over it.

    Raises:
        ClausewayError: for an unknown jurisdiction, and a date with no adoption.
    """
    jurisdiction = jurisdiction_called(library, name)
    found = []
    for reading in readings(library, jurisdiction, Asked({TODAY: on})):
        for written in reading.codes:
            code, _, edition = written.partition("@")
            label = jurisdiction.id + (f" ({reading.label})" if reading.label else "")
            terms = replace(reading.terms, drafts=True)
            found.append(Footing(label, reading.codes, code, edition, reading.layers, terms))
    return found
