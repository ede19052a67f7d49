"""The page of a provision, of a computed fact or of a table."""

from __future__ import annotations

import math
from collections.abc import Iterator

from clauseway.answers.address import provision_page
from clauseway.answers.explain import facts_read
from clauseway.answers.wording import value_in_words
from clauseway.language import core
from clauseway.language.possible import Interval, Value
from clauseway.model.provision import Column, Derivation, Provision, Table
from clauseway.model.vocabulary import Vocabulary
from clauseway_pages.atlas import Across, Atlas, conditions_in
from clauseway_pages.condition import condition_section, named
from clauseway_pages.described import agreement
from clauseway_pages.history import history
from clauseway_pages.local import added_sections
from clauseway_pages.markup import Html, bullets, join, link, plain, table, tag
from clauseway_pages.page import Page
from clauseway_pages.picture import picture
from clauseway_pages.values import citation_row, scope_values, value_table
from clauseway_pages.wording import (
    KINDS,
    code_page,
    computation_page,
    condition_link,
    edition_page,
    fact_page,
    names_link,
    rule,
    sentence,
    short,
    source_line,
)


def provision_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for everything that has an id in a code."""
    for across in atlas.provisions.values():
        yield _page(atlas, across)


def _page(atlas: Atlas, across: Across) -> Page:
    now, code = across.now, across.code
    about = _about(across)
    body = join(
        [
            tag("p", _where(across), class_="where"),
            tag("p", about, class_="about"),
            _body(atlas, across),
            _used_by(atlas, across),
            history(atlas, across),
            _sources(atlas, across),
        ]
    )
    sections = dict.fromkeys(each.citation.section for each in across.editions.values())
    own = dict.fromkeys(
        condition.line.citation.section for each in across.editions.values() for condition in conditions_in(each)
    )
    return Page(
        provision_page(across.name),
        now.title,
        f"{short(code)} {KINDS[across.kind].lower()}",
        about,
        body,
        (across.name, across.id, *sections, *own, *_words(atlas, across)),
    )


def _words(atlas: Atlas, across: Across) -> Iterator[str]:
    """The names of its conditions and lines, and what they ask."""
    book = atlas.book(across)
    for condition in conditions_in(across.now):
        yield condition.label
        yield plain(sentence(condition.line.asks, book))
        for key, line in condition.lines.items():
            yield key.removeprefix(f"{condition.label}/")
            yield plain(sentence(line.asks, book))


def _about(across: Across) -> str:
    now = across.now
    written = now.about if isinstance(now, Provision) else ""
    about = across.code.provisions[across.id].get("about") if across.id in across.code.provisions else None
    return written or (" ".join((about.text or "").split()) if about is not None else now.title)


def _where(across: Across) -> Html:
    code = across.code
    return join(
        [
            KINDS[across.kind],
            " of the ",
            link(code_page(code.id), code.title),
            ", in ",
            join([link(edition_page(code.id, edition), edition) for edition in across.editions], ", "),
            ". ",
            tag("code", across.name),
        ]
    )


def _body(atlas: Atlas, across: Across) -> Html:
    now = across.now
    stands = table(
        "Where it stands, by edition",
        ["", *across.editions],
        [citation_row(across, [each.citation for each in across.editions.values()])],
    )
    if isinstance(now, Provision):
        return join([stands, _provision(atlas, across, now)])
    if isinstance(now, Derivation):
        return join([stands, _derivation(atlas, across, now)])
    return join([stands, *_table(atlas, across)])


def _provision(atlas: Atlas, across: Across, now: Provision) -> Html:
    seen = set(_labels(across, permitted=True) + _labels(across, permitted=False))
    scope = [
        tag("p", tag("strong", "Where it applies: "), rule(named(now.applies))) if _says(now.applies) else None,
        tag("p", tag("strong", "Recognised by: "), rule(named(now.recognised))) if _says(now.recognised) else None,
        *(tag("p", tag("strong", "Assumes: "), rule(named(each.node))) for each in now.assumptions),
        value_table(atlas, across, scope_values(across), "Values of the scope, by edition", seen),
    ]
    permitted = _labels(across, permitted=True)
    asked = _labels(across, permitted=False)
    excused = [condition_link(f"{across.code.id}.{target}", atlas.provisions) for target in now.excuses]
    return join(
        [
            tag("p", f"It is about a {now.subject.replace('_', ' ')}."),
            *scope,
            tag("h2", "The whole at a glance", id_="part-picture"),
            picture(now, places(atlas), frozenset(atlas.provisions)),
            tag("h2", "Where it is permitted", id_="part-permitted") if permitted else None,
            *(condition_section(atlas, across, label, seen) for label in permitted),
            tag("h2", "What it asks", id_="part-asks") if asked else None,
            *(condition_section(atlas, across, label, seen) for label in asked),
            added_sections(atlas.library, across.code.id, across.id, permitted + asked),
            tag("h2", "What it excuses", id_="part-excuses") if excused else None,
            tag("p", "Where it is permitted and all its conditions are met, these are excused:") if excused else None,
            bullets(excused),
            _base(atlas, across),
            tag("h2", "Facts it reads", id_="part-facts"),
            bullets(_fact(atlas, name) for name in _facts(across)),
        ]
    )


def _says(node: core.Node) -> bool:
    return node != core.TRUE


def _labels(across: Across, *, permitted: bool) -> list[str]:
    """The conditions of all editions, those of the newest first."""
    found: dict[str, None] = {}
    for edition in reversed(list(across.editions)):
        each = across.editions[edition]
        if isinstance(each, Provision):
            found |= dict.fromkeys(c.label for c in (each.permitted if permitted else each.conditions))
    return list(found)


def _facts(across: Across) -> list[str]:
    return sorted(
        {fact for each in across.editions.values() if isinstance(each, Provision) for fact in facts_read(each)}
    )


def _fact(atlas: Atlas, name: str) -> Html:
    fact = atlas.library.vocabulary.fact(name)
    return join([link(fact_page(name), tag("code", name)), f": {fact.about}" if fact is not None else ""])


def places(atlas: Atlas) -> dict[str, str]:
    """The pages, seen from a page, of facts, computations, tables and provisions by what rules call them."""
    found = {name: f"../{fact_page(name)}" for name in atlas.library.vocabulary.fact_names}
    found |= {name: f"../{provision_page(name)}" for name in atlas.provisions}
    found |= {name: f"../{computation_page(name)}" for name in atlas.reading if name not in found and "." in name}
    return found


def _derivation(atlas: Atlas, across: Across, now: Derivation) -> Html:
    by_text: dict[str, list[str]] = {}
    for edition, each in across.editions.items():
        assert isinstance(each, Derivation)
        by_text.setdefault(named(each.node), []).append(edition)
    return join(
        [
            tag("p", "It gives ", link(fact_page(now.fact), tag("code", now.fact)), " where nobody states it."),
            tag("h2", "As a rule", id_="part-rule"),
            *(
                tag("p", f"{', '.join(several)}: " if len(by_text) > 1 else "", rule(words))
                for words, several in by_text.items()
            ),
            value_table(atlas, across, scope_values(across), "Its values, by edition", {"agrees"}),
            agreement(now),
        ]
    )


def _table(atlas: Atlas, across: Across) -> Iterator[Html]:
    """The rows of a table; editions that print the same share one."""
    vocabulary = atlas.library.vocabulary
    by_rows: dict[tuple[tuple[str, ...], ...], list[str]] = {}
    heads: dict[tuple[tuple[str, ...], ...], list[str]] = {}
    for edition, each in across.editions.items():
        assert isinstance(each, Table)
        rows = tuple(
            (name.replace("-", " "), *(_cell(*pair, vocabulary) for pair in zip(cells, each.columns, strict=True)))
            for name, cells in each.rows.items()
        )
        by_rows.setdefault(rows, []).append(edition)
        heads[rows] = ["Row", *(column.name.replace("_", " ") for column in each.columns)]
    for rows, editions in by_rows.items():
        yield tag("h2", ", ".join(editions), id_=f"rows-{editions[0]}")
        yield table(f"{across.now.title}, {', '.join(editions)}", heads[rows], rows)


def _cell(cell: Value, column: Column, vocabulary: Vocabulary) -> str:
    """A cell of a table; those of a banded column are upper bounds."""
    if isinstance(cell, Interval) and math.isinf(cell.high):
        return "more"
    return ("up to " if column.banded else "") + value_in_words(cell, column.form, vocabulary)


def _base(atlas: Atlas, across: Across) -> Html:
    """The doors that the worked examples start from."""
    bases = dict.fromkeys(
        case.base for cases in atlas.cases.get(across.name, {}).values() for case in cases if case.base
    )
    shown = [
        tag("details", tag("summary", tag("code", name)), tag("pre", text_of_base(atlas, name), tabindex="0"))
        for name in bases
        if text_of_base(atlas, name)
    ]
    if not shown:
        return Html()
    return join([tag("h2", "The doors that the examples start from", id_="part-bases"), *shown])


def text_of_base(atlas: Atlas, name: str) -> str:
    """The file of an example base; empty where the base stands in the provision's own file."""
    head, _, file = name.rpartition("/")
    if not head.endswith("examples"):
        return ""
    for folder in reversed(atlas.library.folders):
        path = folder / "examples" / file
        if path.is_file():
            return path.read_text(encoding="utf-8")
    return ""


def _used_by(atlas: Atlas, across: Across) -> Html:
    """What reads a derivation's fact or a table."""
    now = across.now
    if isinstance(now, Provision):
        return Html()
    read = now.fact if isinstance(now, Derivation) else now.id
    users = atlas.reading.get(read, {})
    points = [
        join([link(provision_page(name), tag("code", name)), ": " if labels else "", names_link(labels, name)])
        for name, labels in users.items()
        if name != across.name
    ]
    return join([tag("h2", "Read by", id_="part-read-by"), bullets(points) or tag("p", "No rule.")])


def _sources(atlas: Atlas, across: Across) -> Html:
    """How the provision is known: every source that it names, in any edition."""
    named_here: dict[str, None] = {}
    for edition, each in across.editions.items():
        citations = [each.citation, *(v.citation for v in atlas.values(across, edition).values())]
        for condition in conditions_in(each):
            citations += [condition.line.citation, *(line.citation for line in condition.lines.values())]
        for citation in citations:
            named_here |= dict.fromkeys([citation.basis.source or citation.basis.kind])
            named_here |= dict.fromkeys([citation.section_basis.source or citation.section_basis.kind])
    entries = across.code.sources.entries
    points = [
        source_line(name, entries[name]) if name in entries else tag("span", _KINDS_OF_BASIS.get(name, name))
        for name in sorted(named_here)
    ]
    return join([tag("h2", "How it is known", id_="part-basis"), bullets(points)])


_KINDS_OF_BASIS = {
    "memory": "memory: nobody has yet read it in the code itself. Read it in the adopted code.",
    "practice": "practice: common practice, no source.",
}
