"""The pages of jurisdictions: what is adopted from when to when, and each amendment with what stood before it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from clauseway.answers.address import provision_page
from clauseway.law.jurisdictions import joined, text
from clauseway.law.library import Library
from clauseway.law.verbs import VERBS
from clauseway.model.jurisdiction import Adoption, Jurisdiction
from clauseway.text.source import Node
from clauseway_pages.atlas import Across, Atlas, conditions_in
from clauseway_pages.cases import shown
from clauseway_pages.local import added_to, folder_of, spoken, whose
from clauseway_pages.markup import Html, bullets, join, link, table, tag
from clauseway_pages.page import Page
from clauseway_pages.wording import edition_page, jurisdiction_page, short, source_line

_STANDINGS = {
    "encoded": "encoded",
    "partly": "partly encoded",
    "needs-human": "a person must look at it",
    "out-of-scope": "out of scope",
}


def jurisdiction_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for each jurisdiction, and one that lists them."""
    every = atlas.library.jurisdictions
    for jurisdiction in every.values():
        yield _page(atlas, jurisdiction)
    if every:
        rows = [
            [link(jurisdiction_page(name), each.name), name, _parent(atlas, each), str(len(each.adoptions))]
            for name, each in every.items()
        ]
        body = join(
            [
                tag("p", "Where law has adopted the codes, from when to when, and how it amends them."),
                table("Jurisdictions", ["Name", "Id", "Above it", "Adoptions"], rows),
            ]
        )
        yield Page("jurisdictions/index.html", "Jurisdictions", "list", "Which law has adopted what, and when.", body)


def _parent(atlas: Atlas, jurisdiction: Jurisdiction) -> Html:
    parent = atlas.library.jurisdictions.get(jurisdiction.parent)
    return link(jurisdiction_page(parent.id), parent.name) if parent is not None else Html()


def layers_of(library: Library, jurisdiction: str) -> list[Node]:
    """The files of amendments in the folder of a jurisdiction."""
    return [layer for layer in library.layers if folder_of(layer) == jurisdiction]


def _page(atlas: Atlas, jurisdiction: Jurisdiction) -> Page:
    layers = layers_of(atlas.library, jurisdiction.id)
    below = [each for each in atlas.library.jurisdictions.values() if each.parent == jurisdiction.id]
    body = join(
        [
            tag("p", "Below ", _parent(atlas, jurisdiction), ".") if jurisdiction.parent else None,
            tag("p", "Above ", join([link(jurisdiction_page(b.id), b.name) for b in below], ", "), ".")
            if below
            else None,
            tag("h2", "What is adopted", id_="adopted"),
            _adoptions(atlas, jurisdiction),
            *(_layer(atlas, layer) for layer in layers),
            _clauses(jurisdiction),
            tag("h2", "Sources", id_="sources") if jurisdiction.sources else None,
            bullets(source_line(name, source) for name, source in jurisdiction.sources.items()),
        ]
    )
    words = [jurisdiction.id, *(each.title for each in jurisdiction.adoptions.values())]
    summary = f"Codes adopted by {jurisdiction.name}, with their dates and amendments."
    return Page(jurisdiction_page(jurisdiction.id), jurisdiction.name, "jurisdiction", summary, body, tuple(words))


def _adoptions(atlas: Atlas, jurisdiction: Jurisdiction) -> Html:
    if not jurisdiction.adoptions:
        return tag("p", "Nothing of its own is encoded; what stands above it governs.")
    rows = [
        [
            tag("th", each.title or name, " ", tag("code", name), scope="row", id_=name),
            _base(atlas, each),
            tag("ul", *(tag("li", _term(term.since, term.until, term.known)) for term in each.terms)),
            ", ".join(layer for layer, _ in each.layers) or "none",
            each.decided_by.replace("-", " "),
            _known(each.cite, each.basis),
            " ".join([each.status if each.status != "adopted" else "", each.note]).strip(),
        ]
        for name, each in jurisdiction.adoptions.items()
    ]
    head = ["Adoption", "Base", "In force", "Amendments", "Decided by the date of", "Cited", "Note"]
    return table(f"Adoptions of {jurisdiction.name}", head, rows)


def _known(cite: str, basis: str) -> Html:
    mark = tag("span", basis, class_="memory" if basis == "memory" else None)
    return join([cite, " (", mark, ")"])


def _base(atlas: Atlas, adoption: Adoption) -> Html:
    if adoption.follows:
        name = adoption.follows + (f"/{adoption.follows_id}" if adoption.follows_id else "")
        return join(["as ", link(jurisdiction_page(adoption.follows), name)])
    known = adoption.code in atlas.books and adoption.edition in atlas.books[adoption.code]
    written = f"{short(adoption.code)} {adoption.edition}"
    return link(edition_page(adoption.code, adoption.edition), written) if known else Html(tag("span", written))


def _term(since: str, until: str, known: str) -> str:
    end = f" until {until}" if until else " on"
    return f"from {since}{end}" + (f" (as known from {known})" if known else "")


def _layer(atlas: Atlas, layer: Node) -> Html:
    name = text(layer, "layer")
    changes = layer.get("changes")
    code = text(layer, "code")
    standing = [text(layer, key) for key in ("status", "binding") if text(layer, key)]
    editions = layer.get("editions")
    named = ", ".join(each.text or "" for each in editions.elements()) if editions is not None else ""
    of = f"It amends {short(code)} {named}".rstrip()
    rows = [
        [tag("th", _target(atlas, code, change), scope="row"), *_change_cells(change, text(layer, "basis", "memory"))]
        for change in (changes.elements() if changes is not None else ())
    ]
    brought = [node for node in atlas.library.inserted if text(node, "layer") == name]
    return join(
        [
            tag("h2", text(layer, "title") or name, " ", tag("code", name), id_=f"layer-{name}"),
            tag("p", " ".join([f"{of}.", text(layer, "about"), *standing]).strip()),
            table("Amendments, before and after", ["What", *_HEAD], rows) if rows else None,
            tag("p", "Whole provisions that it brings:") if brought else None,
            bullets(join([link(_brought(node), text(node, "title")), f": {text(node, 'about')}"]) for node in brought),
        ]
    )


def _brought(node: Node) -> str:
    return provision_page(f"{text(node, 'code')}.{text(node, 'id')}")


_HEAD = ("Before", "After", "Cited", "Direction", "Why")


def _target(atlas: Atlas, code: str, change: Node) -> Html:
    at = text(change, "at")
    name = f"{code}.{at.partition('/')[0]}"
    place = at.partition("/")[2].split("/")
    new = change.get("add")
    if len(place) == 1 and new is not None and new.is_map:
        place.append(next(name for name, _ in new.items()))
    label = place[1] if len(place) > 1 and place[0] in ("conditions", "permitted", "parameters") else ""
    if name not in atlas.provisions:
        return tag("code", at)
    known = label in _anchors(atlas, name)
    return link(provision_page(name) + (f"#{label}" if known else ""), tag("code", at))


def _anchors(atlas: Atlas, name: str) -> set[str]:
    across = atlas.provisions[name]
    own = {condition.label for each in across.editions.values() for condition in conditions_in(each)}
    return own | set(added_to(atlas.library, across.code.id, across.id))


def _change_cells(change: Node, basis: str) -> list[object]:
    """Before, after, where it stands, whether stricter, and why."""
    was = change.get("was")
    verb = next((verb for verb in VERBS if change.get(verb) is not None), "")
    now = change.get(verb)
    also = text(change, "also")
    ways: dict[str, list[object]] = {
        "remove": [tag("em", "struck out")],
        "restate": [tag("em", "stated again, unchanged")],
        "put_in": [tag("em", "with "), _written(now)],
        "take_out": [tag("em", "without "), _written(now)],
        "add": [tag("em", "new: "), _written(now)],
    }
    after = ways.get(verb, [_written(now), f" ({also})" if also else ""])
    dates = " ".join(f"{key} {text(change, key)}" for key in ("from", "until", "comply_by") if text(change, key))
    scope = text(change, "scope")
    why = " ".join(each for each in (text(change, "reason"), dates, f"Only where {scope}." if scope else "") if each)
    before = _written(was) if was is not None else tag("span", "–", class_="absent")
    cite = _known(joined(change, "cite"), text(change, "basis", basis))
    return [before, join(after), cite, text(change, "direction"), why]


def _written(node: Node | None) -> Html:
    """A value as a file has it: one line, or several for a part with parts of its own."""
    if node is None:
        return Html()
    one = shown(node)
    if len(one) <= 60:
        return tag("code", one)
    if not node.is_map and not node.is_list:
        return tag("span", one)
    whole = tag("pre", "\n".join(_lines(node, "")), tabindex="0")
    spoken_of = [_plainly(name, inner) for name, inner in node.items()] if node.is_map else []
    if not spoken_of or None in spoken_of:
        return whole
    return join([bullets(spoken_of), tag("details", tag("summary", "As written"), whole)])


def _plainly(name: str, node: Node) -> Html | None:
    """A named part in words: what a condition asks, what a value is; None where that cannot be said in a line."""
    says, value = node.get("says"), node.get("value")
    if says is not None:
        return join([tag("b", name.replace("-", " ")), ": ", spoken(says, "asks")])
    if value is not None:
        also = text(node, "also")
        return join([tag("b", name.replace("_", " ")), ": ", shown(value), f" ({also})" if also else ""])
    return None


def _lines(node: Node, indent: str) -> Iterator[str]:
    if not node.is_map:
        yield f"{indent}{shown(node)}"
        return
    for key, inner in node.items():
        if inner.is_map:
            yield f"{indent}{key}:"
            yield from _lines(inner, f"{indent}  ")
        else:
            yield f"{indent}{key}: {shown(inner)}"


def _clauses(jurisdiction: Jurisdiction) -> Html:
    if not jurisdiction.clauses:
        return Html()
    rows: list[Sequence[object]] = [
        [each.title, _known(each.cite, each.basis), _STANDINGS.get(each.standing, each.standing), each.note]
        for each in jurisdiction.clauses
    ]
    head = ["Matter", "Cited", "Standing", "What to look at"]
    return join([tag("h2", "Local law that is not wholly encoded", id_="clauses"), table("Local law", head, rows)])


def changes_to(library: Library, across: Across, parts: Sequence[str] = ("",)) -> Html:
    """The amendments of a provision, or of some parts of it (`conditions/delay`), in every jurisdiction."""
    wanted = [f"{across.id}/{part}".rstrip("/") for part in parts]
    rows = []
    for layer in library.layers:
        if text(layer, "code") != across.code.id:
            continue
        who = whose(library, folder_of(layer), text(layer, "layer"))
        changes = layer.get("changes")
        for change in changes.elements() if changes is not None else ():
            at = text(change, "at")
            if any(at == each or at.startswith(f"{each}/") for each in wanted):
                label = join([who, " ", tag("code", at.removeprefix(f"{across.id}/"))])
                rows.append([label, *_change_cells(change, text(layer, "basis", "memory"))])
    return table("Amended by law, before and after", ["Where", *_HEAD], rows) if rows else Html()
