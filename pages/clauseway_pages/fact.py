"""The pages of facts and of kinds of things: what is asked, what may be answered, and which rules read it."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.answers.address import provision_page
from clauseway.model.vocabulary import Fact, Kind
from clauseway.text.quantity import format_quantity
from clauseway_pages.atlas import Atlas
from clauseway_pages.markup import Html, bullets, join, link, table, tag
from clauseway_pages.page import Page
from clauseway_pages.wording import fact_page, names_link

_EFFORTS = {
    "paper": "a change on paper",
    "setting": "a setting",
    "wiring": "a change of wiring",
    "device": "another device",
    "hardware": "other hardware",
    "construction": "building work",
}


def fact_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for each kind of thing and each fact, and one that lists the kinds."""
    kinds = atlas.library.vocabulary.kinds
    for kind in kinds.values():
        yield _kind(kind)
        for fact in kind.facts.values():
            yield _fact(atlas, kind, fact)
    rows = [[link(fact_page(kind.name), kind.title), " ".join(kind.about.split())] for kind in kinds.values()]
    body = join([tag("p", "What can be said of an opening and of what is around it."), table("Things", _THINGS, rows)])
    yield Page("facts/index.html", "Facts", "list", "The things and facts that the rules speak of.", body)


_THINGS = ("Thing", "What it is")


def _kind(kind: Kind) -> Page:
    facts = [[link(fact_page(f"{kind.name}.{fact.name}"), fact.name), fact.about] for fact in kind.facts.values()]
    relations = [[relation.name, relation.about or relation.kind, relation.ask] for relation in kind.relations.values()]
    within = tag("p", "It belongs to ", link(fact_page(kind.within), kind.within), ".") if kind.within else None
    body = join(
        [
            tag("p", kind.about, class_="about"),
            within,
            tag("h2", "Facts", id_="facts"),
            table(f"Facts of a {kind.title}", ["Fact", "What it is"], facts) if facts else tag("p", "It has none."),
            tag("h2", "What it leads to", id_="relations") if relations else None,
            table(f"From a {kind.title} to other things", ["Name", "What it is", "To ask"], relations)
            if relations
            else None,
        ]
    )
    words = (kind.name, kind.plural, *(f"{kind.name}.{relation}" for relation in kind.relations))
    return Page(fact_page(kind.name), kind.title.capitalize(), "thing", " ".join(kind.about.split()), body, words)


def _fact(atlas: Atlas, kind: Kind, fact: Fact) -> Page:
    name = f"{kind.name}.{fact.name}"
    chosen = "the designer's to choose" if fact.chosen_by == "designer" else "given by the building and its use"
    effort = f"; to change it is {_EFFORTS.get(fact.effort, fact.effort)}" if fact.effort else ""
    values = atlas.library.vocabulary.lists.get(fact.values)
    body = join(
        [
            tag("p", "Of a ", link(fact_page(kind.name), kind.title), ". ", tag("code", name)),
            tag("p", fact.about, class_="about"),
            tag("p", tag("strong", "To ask: "), fact.ask),
            tag("p", tag("strong", "May be: "), _may_be(fact)),
            tag("p", tag("strong", "Whose to say: "), f"{chosen}{effort}."),
            tag("p", tag("strong", "Where there is none: "), tag("code", fact.when_absent))
            if fact.when_absent
            else None,
            _derived(atlas, name),
            tag("h2", "Read by", id_="read-by"),
            _readers(atlas, name),
            tag("h2", "Values", id_="values") if values else None,
            table(
                f"Values of {name}",
                ["Value", "What it is", "Belongs to"],
                [
                    [tag("th", value, scope="row", id_=f"value-{value.replace(' ', '-')}"), listed.about, listed.within]
                    for value, listed in values.values.items()
                ],
            )
            if values
            else None,
        ]
    )
    listed_words = tuple(f"{value} {listed.about}" for value, listed in values.values.items()) if values else ()
    title = f"{kind.title}: {fact.name.replace('_', ' ')}"
    return Page(fact_page(name), title, "fact", fact.about, body, (name, fact.ask, *listed_words))


def _may_be(fact: Fact) -> str:
    if fact.sort in ("yes-no", "approval"):
        return "true or false" if fact.sort == "yes-no" else "true (the authority has approved it) or false"
    if fact.sort in ("choice", "choices"):
        return "one of the values below" if fact.sort == "choice" else "any of the values below"
    if fact.sort == "quantity":
        low = "" if abs(fact.low) == float("inf") else f", from {format_quantity(fact.low, fact.unit, 'us')}"
        high = "" if abs(fact.high) == float("inf") else f", to {format_quantity(fact.high, fact.unit, 'us')}"
        return f"a value with a unit of {fact.unit}{low}{high}"
    return f"a number of {fact.noun}" if fact.sort == "count" else f"a {fact.sort}"


def _derived(atlas: Atlas, name: str) -> Html:
    found = sorted(across.name for across in atlas.provisions.values() if getattr(across.now, "fact", "") == name)
    if not found:
        return Html()
    ways = join([link(provision_page(each), tag("code", each)) for each in found], ", ")
    return tag("p", tag("strong", "Where nobody states it, computed by: "), ways)


def _readers(atlas: Atlas, name: str) -> Html:
    users = atlas.reading.get(name, {})
    points = [
        join(
            [
                link(provision_page(user), atlas.provisions[user].now.title),
                " ",
                tag("code", user),
                ": " if labels else "",
                names_link(labels, user),
            ]
        )
        for user, labels in users.items()
    ]
    return bullets(points) or tag("p", "No rule reads it yet.")
