"""The pages of findings that speak of a description itself: lists that nobody called whole, values that disagree."""

from __future__ import annotations

from collections.abc import Iterator

from clauseway.answers.address import provision_page
from clauseway.answers.described import DESCRIBED
from clauseway.model.provision import Derivation
from clauseway.model.vocabulary import ONE, Relation
from clauseway_pages.atlas import Across, Atlas
from clauseway_pages.markup import Html, bullets, join, link, tag
from clauseway_pages.page import Page
from clauseway_pages.wording import KINDS, fact_page, short

_OPENING = "opening"
AGREES = "What is stated and what follows from the rest must agree"


def described_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for each finding on a description that is no provision of a code."""
    by_id: dict[str, list[Across]] = {}
    for across in atlas.provisions.values():
        if isinstance(across.now, Derivation):
            by_id.setdefault(across.id, []).append(across)
    for identity, several in by_id.items():
        if f"{DESCRIBED}.{identity}" not in atlas.provisions:
            yield _disagreement(identity, several)
    kind = atlas.library.vocabulary.kinds.get(_OPENING)
    for relation in kind.relations.values() if kind is not None else ():
        if relation.form != ONE and f"{DESCRIBED}.{relation.name}" not in atlas.provisions:
            yield _open_list(relation)


def agreement(now: Derivation) -> Html:
    """The part of a page about a stated value that is held against the computed one; nothing where none is."""
    told = {
        "equal": "A stated value that differs from it is told as a fault of the description.",
        "at-least": "A stated value below it is told as a fault of the description.",
        "at-most": "A stated value above it is told as a fault of the description.",
        "any": "It is only what is common: a stated value is not held against it.",
    }[now.agrees]
    return tag("section", tag("h3", AGREES), tag("p", told, " One of the two is wrong: correct it."), id_="agrees")


def _disagreement(identity: str, several: list[Across]) -> Page:
    name = f"{DESCRIBED}.{identity}"
    facts = dict.fromkeys(across.now.fact for across in several if isinstance(across.now, Derivation))
    body = join(
        [
            tag("p", "A finding on the description, not on the door. ", tag("code", name)),
            tag("p", "Of ", join([link(fact_page(fact), tag("code", fact)) for fact in facts], ", "), ", computed by:"),
            bullets(
                join([link(provision_page(a.name), a.now.title), f" ({short(a.code)} {KINDS[a.kind].lower()})"])
                for a in several
            ),
            *(agreement(across.now) for across in several[:1] if isinstance(across.now, Derivation)),
        ]
    )
    title = f"Stated and computed: {several[0].now.title[:1].lower()}{several[0].now.title[1:]}"
    return Page(provision_page(name), title, "finding", AGREES, body, (name,))


def _open_list(relation: Relation) -> Page:
    name = f"{DESCRIBED}.{relation.name}"
    words = relation.name.replace("_", " ")
    says = (
        f"Nobody has said that all {words} of the opening are listed. One that is not listed could fail, so the "
        "opening stays undecided."
    )
    section = tag(
        "section",
        tag("h3", "Are all of them listed?"),
        tag("p", says),
        tag("p", tag("strong", "To do: "), "Say ", tag("code", "complete: all-below"), " in the opening, or ",
            tag("code", f"complete: [{relation.name}]"), ", once somebody has looked."),
        id_="complete",
    )  # fmt: skip
    body = join([tag("p", "A finding on the description, not on the door. ", tag("code", name)), section])
    return Page(provision_page(name), f"A list of {words} that may be longer", "finding", says, body, (name,))
