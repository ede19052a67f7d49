"""The pages of codes and of their editions, with how much of each is encoded."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.answers.address import page_of, provision_page
from clauseway.answers.coverage import Coverage, Row, coverage
from clauseway.law.library import Code
from clauseway_pages.atlas import Across, Atlas
from clauseway_pages.markup import Html, bullets, join, link, table, tag
from clauseway_pages.page import Entry, Page
from clauseway_pages.wording import (
    FORCES,
    KINDS,
    anchor,
    basis_of,
    code_page,
    edition_page,
    short,
    source_line,
)

STANDINGS = {
    "encoded": "encoded",
    "partly": "partly encoded",
    "needs-human": "a person must look at it",
    "out-of-scope": "out of scope",
}


def code_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for each code and each of its editions, and one that lists the codes."""
    codes = atlas.library.codes.values()
    for code in codes:
        yield _code(atlas, code)
        for edition in code.editions:
            yield _edition(code, coverage(atlas.books[code.id][edition], code.id, code.clauses))
    rows = [
        [link(code_page(code.id), code.title), short(code), _editions(code), FORCES.get(code.force, code.force)]
        for code in codes
    ]
    body = join(
        [
            tag("p", "Everything that answers in a check: codes, standards, guidance, and our own checks."),
            table("Codes", ["Code", "Cited as", "Editions", "Standing"], rows),
        ]
    )
    yield Page("codes/index.html", "Codes", "list", "The codes, their editions and how much of them is encoded.", body)


def _editions(code: Code) -> Html:
    return join([link(edition_page(code.id, edition), edition) for edition in code.editions], ", ")


def _code(atlas: Atlas, code: Code) -> Page:
    own = [across for across in atlas.provisions.values() if across.code.id == code.id]
    rows = [_row(across, code) for across in own]
    body = join(
        [
            tag("p", " ".join(code.about.split()), class_="about"),
            tag("p", FORCES.get(code.force, code.force)),
            tag("p", f"Published by {code.publisher}.") if code.publisher else None,
            tag("p", "How much of it is encoded: ", _editions(code), "."),
            tag("h2", "What is encoded", id_="provisions"),
            table(f"Provisions of {short(code)}", ["Provision", "Kind", *code.editions], rows) if rows else None,
            tag("h2", "Sources", id_="sources"),
            bullets(source_line(name, source) for name, source in code.sources.entries.items()),
        ]
    )
    return Page(
        code_page(code.id), code.title, "code", " ".join(code.about.split()), body, (code.id, short(code), *code.names)
    )


def _row(across: Across, code: Code) -> list[object]:
    row: list[object] = [link(provision_page(across.name), across.now.title), KINDS[across.kind]]
    for edition in code.editions:
        each = across.editions.get(edition)
        section = each.citation.section if each is not None else ""
        row.append(link(edition_page(code.id, edition, section), section) if each else tag("td", "–", class_="absent"))
    return row


def _edition(code: Code, found: Coverage) -> Page:
    counts = ", ".join(f"{number} {STANDINGS[name]}" for name, number in found.standings.items() if number)
    conditions = ", ".join(f"{number} {basis}" for basis, number in found.conditions.items() if number)
    title = f"{short(code)} {found.edition}"
    taken: set[str] = set()
    rows = [_clause(code, row, taken) for row in found.rows]
    body = join(
        [
            tag("p", link(code_page(code.id), code.title), f", edition {found.edition}."),
            tag("p", f"What is meant to be whole: {found.covers}.") if found.covers else None,
            tag("p", f"{len(found.rows)} sections: {counts}.") if counts else None,
            tag("p", f"Conditions by how they are known: {conditions}.") if conditions else None,
            table(f"Sections of {title}", _HEAD, rows, "notes") if rows else tag("p", "It has no sections."),
        ]
    )
    summary = f"Which sections of {code.title} {found.edition} are encoded, and what a person must look at."
    return Page(edition_page(code.id, found.edition), title, "edition", summary, body, (code.id, found.edition))


_HEAD = ("Section", "Matter", "Standing", "Encoded as", "Items", "Number known from", "What to look at")


def _clause(code: Code, row: Row, taken: set[str]) -> list[object]:
    identity = anchor(row.section)
    head = tag("th", row.section, scope="row", id_=None if identity in taken else identity)
    taken.add(identity)
    by = [link(page_of(f"{code.id}.{name}"), name) for name in row.by]
    return [
        head,
        row.title,
        tag("span", STANDINGS[row.standing], class_=f"standing {row.standing}"),
        join(by, ", "),
        ", ".join(row.items),
        basis_of(row.basis, code.sources.entries),
        row.note,
    ]


def clause_entries(atlas: Atlas) -> Iterator[Entry]:
    """Every section of every edition, for the search."""
    for code in atlas.library.codes.values():
        for edition in code.editions:
            for row in coverage(atlas.books[code.id][edition], code.id, code.clauses).rows:
                yield Entry(
                    edition_page(code.id, edition, row.section),
                    f"{short(code)} {edition} {row.section}",
                    "section",
                    f"{row.title} ({STANDINGS[row.standing]})",
                    (row.section,),
                )
