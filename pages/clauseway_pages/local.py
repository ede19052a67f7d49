"""What law adds to a code: conditions of a provision that exists, and whole provisions of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from clauseway.answers.address import provision_page
from clauseway.law.jurisdictions import joined, text
from clauseway.law.library import Library
from clauseway.text.source import Node
from clauseway_pages.cases import shown
from clauseway_pages.markup import Html, bullets, join, link, table, tag
from clauseway_pages.page import Page
from clauseway_pages.wording import KINDS, code_page, jurisdiction_page, rule, short

_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_HOLDERS = ("conditions", "permitted")


@dataclass(frozen=True, slots=True)
class Added:
    """A condition that a layer adds: who, where it stands, and the condition as written."""

    where: str
    layer: str
    cite: str
    node: Node


def folder_of(node: Node) -> str:
    """The jurisdiction in whose folder a file lies."""
    parts = PurePosixPath(node.place.file).parts
    return parts[parts.index("jurisdictions") + 1] if "jurisdictions" in parts else parts[-2] if len(parts) > 1 else ""


def whose(library: Library, where: str, layer: str) -> Html:
    """A link to the layer of a jurisdiction, by its name."""
    found = library.jurisdictions.get(where)
    if found is None:
        return tag("span", where)
    return link(f"{jurisdiction_page(where)}#layer-{layer}", found.name)


def added_to(library: Library, code: str, provision: str) -> dict[str, list[Added]]:
    """The conditions that layers add to a provision, by name."""
    found: dict[str, list[Added]] = {}
    targets = [f"{provision}/{holder}" for holder in _HOLDERS]
    for layer in library.layers:
        changes = layer.get("changes")
        if text(layer, "code") != code or changes is None:
            continue
        for change in changes.elements():
            new = change.get("add")
            if new is None or text(change, "at") not in targets or not new.is_map:
                continue
            for name, node in new.items():
                each = Added(folder_of(layer), text(layer, "layer"), joined(change, "cite"), node)
                found.setdefault(name, []).append(each)
    return found


def added_sections(library: Library, code: str, provision: str, taken: Iterable[str]) -> Html:
    """A part of the page for each condition that only law has; `taken` are the names that stand there already."""
    there = set(taken)
    parts = []
    for name, several in added_to(library, code, provision).items():
        if name in there:
            continue
        alike: dict[str, list[Added]] = {}
        for each in several:
            alike.setdefault(shown(each.node), []).append(each)
        ways = [(_added_by(library, same), same[0].node) for same in alike.values()]
        parts.append(_section(f"{code}.{provision}", name, ways))
    return join([tag("h2", "What law adds", id_="part-added"), *parts]) if parts else Html()


def _added_by(library: Library, several: Sequence[Added]) -> Html:
    who = [join([whose(library, each.where, each.layer), f" ({each.cite})"]) for each in several]
    return join(["Added by ", join(who, ", "), "."])


def _section(owner: str, name: str, ways: Iterable[tuple[Html | None, Node]]) -> Html:
    """A condition as files have it; several laws may have one of the same name, each in its own words."""
    heading = tag("h3", name.replace("-", " "), " ", tag("code", f"{owner}/{name}"))
    return tag("section", heading, *(part for who, node in ways for part in _way(who, node)), id_=name)


def _way(who: Html | None, node: Node) -> Iterator[Html | None]:
    asks, unmet = spoken(node.get("says"), "asks"), spoken(node.get("says"), "unmet")
    remedy, require = spoken(node, "remedy"), text(node, "require")
    lines = node.get("lines") or node.get("any_of") or node.get("all_of")
    yield tag("p", who) if who else None
    yield tag("p", "It asks whether ", asks, ".") if asks else None
    yield tag("p", tag("strong", "Not met: "), unmet) if unmet else None
    yield tag("p", tag("strong", "To do: "), remedy) if remedy else None
    yield tag("p", rule(require)) if require else None
    yield bullets(
        join([key.replace("-", " "), ": ", spoken(inner.get("says"), "asks") or rule(text(inner, "require"))])
        for key, inner in (lines.items() if lines is not None else ())
    )


def spoken(node: Node | None, key: str) -> Html:
    """A sentence of a file; what stands in braces is the name of a value or fact."""
    written = text(node, key) if node is not None else ""
    pieces = _PLACEHOLDER.split(written)
    return join([tag("var", piece) if number % 2 else piece for number, piece in enumerate(pieces)])


def local_pages(library: Library) -> Iterator[Page]:
    """A page for each whole provision that a layer brings."""
    for node in library.inserted:
        yield _page(library, node)


def _page(library: Library, node: Node) -> Page:
    code, name, layer = text(node, "code"), text(node, "id"), text(node, "layer")
    full = f"{code}.{name}"
    about = " ".join(text(node, "about").split())
    named = library.codes.get(code)
    of = link(code_page(code), named.title) if named is not None else tag("span", short(code))
    conditions = [(label, inner) for holder in _HOLDERS for label, inner in _items(node, holder)]
    kind = KINDS.get(text(node, "kind"), text(node, "kind"))
    sections = [[edition, section.text or ""] for edition, section in _items(node, "sections")]
    cite, applies, values = joined(node, "cite"), text(node, "applies"), _items(node, "parameters")
    who = whose(library, folder_of(node), layer)
    body = join(
        [
            tag("p", kind, " that ", who, " adds to the ", of, ". ", tag("code", full)),
            tag("p", about, class_="about"),
            table("Where it stands", ["Base edition", "Section"], sections),
            tag("p", tag("strong", "Cited: "), cite) if cite else None,
            tag("p", tag("strong", "Where it applies: "), rule(applies)) if applies else None,
            tag("h2", "What it asks", id_="part-asks"),
            *(_section(full, label, [(None, inner)]) for label, inner in conditions),
            tag("h2", "Values", id_="part-values") if values else None,
            bullets(join([key.replace("_", " "), ": ", tag("code", _value(v))]) for key, v in values),
        ]
    )
    words = (full, name, cite, *(section for _, section in sections))
    return Page(provision_page(full), text(node, "title"), f"{short(code)} local {kind.lower()}", about, body, words)


def _items(node: Node, key: str) -> list[tuple[str, Node]]:
    inner = node.get(key)
    return list(inner.items()) if inner is not None and inner.is_map else []


def _value(node: Node) -> str:
    value = node.get("value") or node.get("values")
    also = text(node, "also")
    return (shown(value) if value is not None else shown(node)) + (f" ({also})" if also else "")
