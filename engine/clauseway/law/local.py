"""Whether the layers that adoptions name exist, fit the adopted edition, and may change what they change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from clauseway.law.adoption import above, code_of
from clauseway.law.jurisdictions import text, texts
from clauseway.law.laying import LAW, rank_of
from clauseway.model.jurisdiction import ADOPTED, BY_ORDINANCE, NONE, STRICTER, Adoption, Jurisdiction
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node

if TYPE_CHECKING:
    from clauseway.law.library import Library


def check_local(library: Library) -> None:
    """Look at every adoption and layer of a library, those that nobody asks for included.

    Raises:
        ClausewayError: for a code or edition that is not there, a layer that no adoption names or that does not speak
            of the adopted edition, an authority without a name, and an amendment that those above do not allow.
    """
    files: dict[str, list[Node]] = {}
    for layer in library.layers:
        files.setdefault(text(layer, "layer"), []).append(layer)
    problems: list[Problem] = []
    for jurisdiction in library.jurisdictions.values():
        for adoption in jurisdiction.adoptions.values():
            problems += _adoption(library, adoption, files)
    problems += _orphans(library, files)
    for layer in library.layers:
        problems += _allowed(library, layer)
    for node in library.inserted:
        name = text(node, "layer")
        if name not in files:
            place = (node.get("layer") or node).place
            problems.append(Problem(place, f"no layer {name}", "the layer that brings it", nearest(name, files) or ""))
    if problems:
        raise ClausewayError(problems)


def _adoption(library: Library, adoption: Adoption, files: Mapping[str, Sequence[Node]]) -> Iterator[Problem]:
    code = code_of(library, adoption)
    if code not in library.codes:
        near = nearest(code, library.codes) or ""
        yield Problem(adoption.place, f"no code {code}", one_of(library.codes, 20), near)
        return
    editions = library.codes[code].editions
    if adoption.edition and adoption.edition not in editions:
        near = nearest(adoption.edition, editions) or ""
        yield Problem(adoption.place, f"{code} has no edition {adoption.edition}", one_of(editions, 20), near)
        return
    edition = _edition(library, adoption)
    for name, place in adoption.layers:
        if name not in files:
            yield Problem(place, f"no layer {name}", one_of(sorted(files), 12), nearest(name, files) or "")
        for layer in files.get(name, ()):
            yield from _fits(layer, name, code, edition, adoption, place)


def _fits(layer: Node, name: str, code: str, edition: str, adoption: Adoption, place: Place) -> Iterator[Problem]:
    status = text(layer, "status", ADOPTED)
    if status != ADOPTED and adoption.status == ADOPTED:
        yield Problem(place, f"the layer {name} is {status} ({layer.place}), and {adoption.name} is law", ADOPTED)
    if text(layer, "code") != code:
        found = f"the layer {name} amends {text(layer, 'code')} ({layer.place}), and {adoption.name} adopts {code}"
        yield Problem(place, found, f"a layer of {code}")
        return
    speaks_of = [each.text or "" for each in texts(layer, "editions")]
    if edition and speaks_of and edition not in speaks_of:
        written = (layer.get("editions") or layer).place
        found = f"{name} amends {code} {one_of(speaks_of)} ({written}), and {adoption.name} adopts {edition}"
        yield Problem(place, found, f"editions: [{edition}] in the layer, or another layer")


def _edition(library: Library, adoption: Adoption) -> str:
    """The edition that an adoption rests on; nothing where it follows whatever stands above."""
    if adoption.edition or not adoption.follows_id:
        return adoption.edition
    return _edition(library, library.jurisdictions[adoption.follows].adoptions[adoption.follows_id])


def _orphans(library: Library, files: Mapping[str, Sequence[Node]]) -> Iterator[Problem]:
    """Layers that are law in a jurisdiction and that no adoption names: they would be left out unseen."""
    named = {name for each in library.jurisdictions.values() for a in each.adoptions.values() for name, _ in a.layers}
    for name, layers in sorted(files.items()):
        for layer in layers:
            jurisdiction = library.jurisdictions.get(rank_of(layer))
            is_law = text(layer, "status", ADOPTED) == ADOPTED
            if name not in named and jurisdiction is not None and jurisdiction.adoptions and is_law:
                found = f"no adoption names the layer {name}"
                near = nearest(name, named) or ""
                yield Problem(
                    layer.place, found, f"layers: [{name}] in {jurisdiction.place.file}, or status: draft", near
                )


def _allowed(library: Library, layer: Node) -> Iterator[Problem]:
    """What a layer may not do where it stands."""
    jurisdiction = library.jurisdictions.get(rank_of(layer))
    if jurisdiction is None:
        return
    yield from _authorities(jurisdiction, layer)
    name = text(layer, "layer")
    if text(layer, "binding", LAW) != LAW:
        return
    for higher in list(above(library, jurisdiction))[1:]:
        rule = higher.local_amendments
        if rule == NONE:
            found = f"{higher.id} lets nobody below it amend its code, and {name} does"
            yield Problem(layer.place, found, f"local_amendments in {higher.place.file}, or no such layer")
        enacted = layer.get("enacted")
        if rule == BY_ORDINANCE and (enacted is None or text(enacted, "by") != "ordinance"):
            found = f"in {higher.id} a local amendment stands only as an ordinance, and {name} names none"
            yield Problem((enacted or layer).place, found, "enacted: {by: ordinance, on: ..., cite: ...}")
        changes = layer.get("changes")
        for change in changes.elements() if rule == STRICTER and changes is not None else ():
            if text(change, "direction") == "looser" or not text(change, "direction"):
                said = text(change, "direction") or "of no direction"
                found = f"{higher.id} allows only stricter amendments below it; this one of {name} is {said}"
                yield Problem(change.place, found, "direction: stricter")


def _authorities(jurisdiction: Jurisdiction, layer: Node) -> Iterator[Problem]:
    changes = layer.get("changes")
    for node in (layer, *(changes.elements() if changes is not None else ())):
        written = node.get("authority")
        if written is not None and written.text not in jurisdiction.authorities:
            known = sorted(jurisdiction.authorities)
            near = nearest(written.text or "", known) or ""
            expected = one_of(known) if known else f"authorities in {jurisdiction.place.file}"
            yield Problem(written.place, f"no authority {written.text} in {jurisdiction.id}", expected, near)
