"""Sentences, citations and rule texts as HTML, with links to what they name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from clauseway.answers.address import page_of
from clauseway.answers.explain import value_of
from clauseway.language import core
from clauseway.law.library import Code
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import MEMORY, Basis, Citation, Template
from clauseway.text.section import references
from clauseway_pages.markup import Html, join, link, tag, text

KINDS = {
    "requirement": "Requirement",
    "locking-arrangement": "Locking arrangement",
    "derivation": "Computed fact",
    "table": "Table",
}

FORCES = {
    "law": "Law.",
    "law-when-adopted": "A model code: law where a government has adopted it.",
    "standard": "A standard: binding where a law or contract refers to it.",
    "guidance": "Guidance: it shows one way to meet the law, and fails no door.",
    "description": "No code: what a description must agree with.",
    "practice": "No code: engineering practice. It answers whether a thing works, and changes no verdict of a code.",
}

PROVES = {
    "satisfies": "Met, it satisfies its clause, which asks no more than this.",
    "contributes": "Met, it contributes to its clause, which asks other things as well.",
    "violates": "Not met, its clause is violated, unless something excuses it.",
}


def fact_page(name: str) -> str:
    """The page of a fact or of a kind of thing."""
    return f"facts/{name}.html"


def code_page(code: str) -> str:
    """The page of a code."""
    return f"codes/{code}.html"


def edition_page(code: str, edition: str, section: str = "") -> str:
    """The page of an edition of a code, or the row of one of its sections."""
    return f"codes/{code}-{edition}.html" + (f"#{anchor(section)}" if section else "")


def computation_page(name: str) -> str:
    """The page of a computation."""
    return f"computations/{name}.html"


def jurisdiction_page(name: str) -> str:
    """The page of a jurisdiction."""
    return f"jurisdictions/{name}.html"


def anchor(section: str) -> str:
    """The row of a section as a place on a page; the first of them where several are cited."""
    first = str((references(section) or (section,))[0])
    return re.sub(r"\s+", "-", first.strip())


def short(code: Code | str) -> str:
    """A code by its letters, as citations write it."""
    return (code if isinstance(code, str) else code.id).upper()


def sentence(template: Template, book: Rulebook) -> Html:
    """A sentence with its required values, and the names of the facts where measured values will stand."""
    parts: list[object] = []
    for part in template:
        if isinstance(part, str):
            parts.append(part)
        elif isinstance(part.node, core.Parameter):
            parts.append(tag("b", value_of(book.parameters[part.node.key])))
        elif isinstance(part.node, core.Get):
            parts.append(link(fact_page(part.node.fact), tag("var", part.written)))
        else:
            parts.append(tag("var", part.written))
    return join(parts)


def capital(html: Html) -> Html:
    """The same with its first letter large, where it begins with one."""
    return Html(html[:1].upper() + html[1:]) if not html.startswith(("<", "&")) else html


def rule(written: str) -> Html:
    """The text of a rule."""
    return tag("code", written, class_="rule")


def basis_of(basis: Basis, sources: Mapping[str, Mapping[str, str]]) -> Html:
    """How a thing is known, in words; what is known from memory only is marked."""
    if basis.kind == MEMORY:
        return tag("span", "memory", class_="memory", title="Nobody has yet read this in the code itself")
    title = sources.get(basis.source, {}).get("title", basis.source)
    return tag("span", basis.kind, title=title or None)


def cited(citation: Citation) -> Html:
    """A citation with a link to the row of its section."""
    item = f", {citation.item}" if citation.item[:1].isalpha() else f" item {citation.item}" if citation.item else ""
    row = link(edition_page(citation.code, citation.edition, citation.section), citation.section)
    return join([f"{short(citation.code)} {citation.edition} ", row, item])


def condition_link(identity: str, known: Iterable[str] = ()) -> Html:
    """A link to a condition or provision by its full id; plain where no page has it."""
    name = identity.partition("/")[0]
    return link(page_of(identity), tag("code", identity)) if name in known else tag("code", identity)


def names_link(labels: Iterable[str], name: str) -> Html:
    """Links to conditions of one provision, one after the other."""
    return join([link(page_of(f"{name}/{label}"), label) for label in labels], ", ")


def source_line(identity: str, source: Mapping[str, str]) -> Html:
    """A source: its title, kind, place and note. Only a web address becomes a link; nothing is loaded from it."""
    where = source.get("where", "")
    at = tag("a", where, href=where, rel="noreferrer") if re.match(r"https?://", where) else text(where)
    note = source.get("note", "")
    return join(
        [
            tag("code", identity),
            f" {source.get('title', '')} ({source.get('kind', 'secondary')}). " if source.get("title") else " ",
            at,
            f" {note}" if note else "",
        ]
    )
