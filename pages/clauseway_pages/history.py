"""The history of a provision: what each edition changed, former ids, and what law changes."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from clauseway.answers.explain import value_of
from clauseway.model.provision import Provision
from clauseway.text.source import Node
from clauseway_pages.atlas import Across, Atlas, conditions_in
from clauseway_pages.jurisdiction import changes_to
from clauseway_pages.markup import Html, bullets, join, table, tag
from clauseway_pages.wording import names_link


def history(atlas: Atlas, across: Across) -> Html:
    """The part of a provision's page on how it came to be what it is."""
    revision = across.now.revision if isinstance(across.now, Provision) else "1"
    aliases = _texts(across.code.provisions.get(across.id), "aliases")
    points: list[object] = [f"Revision {revision} of its meaning, since the lock of the rules began."]
    points += [join(["Formerly ", tag("code", f"{across.code.id}.{old}"), "."]) for old in aliases]
    rows = [
        [f"{old} to {new}", bullets(_changes(atlas, across, old, new)) or "Nothing that is encoded here."]
        for old, new in pairwise(across.editions)
    ]
    return join(
        [
            tag("h2", "History", id_="part-history"),
            bullets(points),
            table("What each edition changed, as far as it is encoded", ["Editions", "Changed"], rows)
            if rows
            else None,
            changes_to(atlas.library, across),
        ]
    )


def _texts(node: Node | None, key: str) -> list[str]:
    inner = node.get(key) if node is not None else None
    return [each.text or "" for each in inner.elements()] if inner is not None else []


def _changes(atlas: Atlas, across: Across, old: str, new: str) -> Iterator[Html | str]:
    """What differs between two editions: the section, conditions and values."""
    before, after = across.editions[old], across.editions[new]
    if before.citation.section != after.citation.section:
        yield f"Section {before.citation.section} became {after.citation.section}."
    were, are = ([each.label for each in conditions_in(one)] for one in (before, after))
    fresh, gone = [each for each in are if each not in were], [each for each in were if each not in are]
    if fresh:
        yield join(["New: ", names_link(fresh, across.name), "."])
    if gone:
        yield join(["No more: ", names_link(gone, across.name), "."])
    earlier, later = atlas.values(across, old), atlas.values(across, new)
    for name, value in later.items():
        shown = name.replace("_", " ")
        if name not in earlier:
            yield join([f"New value {shown}: ", tag("b", value_of(value)), "."])
        elif value_of(earlier[name]) != value_of(value):
            yield join([f"{shown}: ", tag("b", value_of(earlier[name])), " became ", tag("b", value_of(value)), "."])
    dropped = [name.replace("_", " ") for name in earlier if name not in later]
    if dropped:
        yield f"No more: the values {', '.join(dropped)}."
