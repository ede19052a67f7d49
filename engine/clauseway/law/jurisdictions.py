"""Reading the files of jurisdictions: what was adopted when, and that all of it fits together."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from clauseway.law.graph import cycle_in
from clauseway.model.jurisdiction import ADOPTED, ANY, Adoption, Jurisdiction, LocalClause, Term
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node

PARENT = "parent"
DECIDES = "permit-application"
"""The date that decides where neither an adoption nor any jurisdiction above it names one."""


def texts(node: Node, key: str) -> list[Node]:
    """The text under a key, or the texts of the list there."""
    inner = node.get(key)
    if inner is None:
        return []
    return list(inner.elements()) if inner.is_list else [inner]


def joined(node: Node, key: str) -> str:
    """The text under a key; several are joined, as citations that stand in two places are."""
    return "; ".join(each.text or "" for each in texts(node, key))


def text(node: Node, key: str, default: str = "") -> str:
    """The text under a key, or the default."""
    inner = node.get(key)
    return inner.text or default if inner is not None else default


def read_jurisdictions(nodes: Sequence[Node]) -> dict[str, Jurisdiction]:
    """The jurisdictions by id.

    Raises:
        ClausewayError: with every file in the wrong folder, unknown parent, circle of parents, date that is none,
            end that comes before its beginning, and id that means nothing.
    """
    problems: list[Problem] = []
    by_id: dict[str, Node] = {}
    for node in nodes:
        name = text(node, "jurisdiction")
        folder = Path(node.place.file).parent.name
        if name != folder:
            problems.append(_wrong(node, "jurisdiction", f"{name} in the folder {folder}", folder))
        if name in by_id:
            first = by_id[name].place
            problems.append(_wrong(node, "jurisdiction", f"{name} is described already: {first}", "one adoptions.yaml"))
            continue
        by_id[name] = node
    for node in by_id.values():
        parent = text(node, "parent")
        if parent and parent not in by_id:
            problems.append(_wrong(node, "parent", f"no jurisdiction {parent}", one_of(sorted(by_id), 20), by_id))
    if not problems:
        circle = cycle_in([(name, text(node, "parent")) for name, node in by_id.items() if node.get("parent")])
        if circle:
            found = f"a cycle of parents: {' -> '.join(circle)}"
            problems.append(_wrong(by_id[circle[0]], "parent", found, "a jurisdiction above it"))
    if problems:
        raise ClausewayError(problems)
    made = {name: _jurisdiction(node, by_id, problems) for name, node in sorted(by_id.items())}
    for jurisdiction in made.values():
        problems += _references(jurisdiction, made)
    followed = [
        (each.name, f"{each.follows}/{each.follows_id}")
        for jurisdiction in made.values()
        for each in jurisdiction.adoptions.values()
        if each.follows_id
    ]
    circle = cycle_in(followed)
    if circle and not problems:
        owner, _, identity = circle[0].partition("/")
        found = f"a cycle of adoptions: {' -> '.join(circle)}"
        problems.append(Problem(made[owner].adoptions[identity].place, found, "an adoption that rests on a code"))
    if problems:
        raise ClausewayError(problems)
    return made


def is_date(written: str) -> bool:
    """Whether a text is a day of the calendar, written as 2022-11-07."""
    try:
        return datetime.date.fromisoformat(written).isoformat() == written
    except ValueError:
        return False


def real_dates(node: Node, keys: Iterable[str], *, ids: bool = False) -> Iterator[Problem]:
    """The dates under some keys that are no days of the calendar; with `ids`, names may stand there as well."""
    for key in keys:
        inner = node.get(key)
        written = inner.text or "" if inner is not None else ""
        if inner is not None and not is_date(written) and not (ids and not written[:1].isdigit()):
            yield Problem(inner.place, f"{key} {written}", "a day of the calendar, such as 2022-11-07")


def _wrong(node: Node, key: str, found: str, expected: str, known: Iterable[str] = ()) -> Problem:
    inner = node.get(key) or node
    return Problem(inner.place, found, expected, nearest(inner.text or "", sorted(known)) or "")


def _jurisdiction(node: Node, by_id: Mapping[str, Node], problems: list[Problem]) -> Jurisdiction:
    name = text(node, "jurisdiction")
    adoptions: dict[str, Adoption] = {}
    declared = node.get("adoptions")
    decides = _decides(node, by_id)
    for identity, entry in declared.items() if declared is not None else ():
        adoptions[identity] = _adoption(name, identity, entry, text(node, "parent"), decides, problems)
    authorities = node.get("authorities")
    sources = node.get("sources")
    clauses = node.get("clauses")
    return Jurisdiction(
        name,
        text(node, "name"),
        text(node, "parent"),
        text(node, "local_amendments", ANY),
        adoptions,
        {key: inner.text or "" for key, inner in authorities.items()} if authorities is not None else {},
        sources_of(sources),
        tuple(
            LocalClause(
                identity,
                text(entry, "title"),
                joined(entry, "cite"),
                text(entry, "basis"),
                text(entry, "standing"),
                tuple(each.text or "" for each in texts(entry, "adoptions")),
                text(entry, "note"),
                entry.key_place or entry.place,
            )
            for identity, entry in (clauses.items() if clauses is not None else ())
        ),
        node.place,
    )


def sources_of(node: Node | None) -> dict[str, Mapping[str, str]]:
    """Sources by id, as a file lists them."""
    if node is None:
        return {}
    return {name: {key: value.text or "" for key, value in entry.items()} for name, entry in node.items()}


def _decides(node: Node, by_id: Mapping[str, Node]) -> str:
    """The date of the project that decides for a jurisdiction: its own word, or that of the nearest one above."""
    own = text(node, "decided_by")
    parent = text(node, "parent")
    return own or (_decides(by_id[parent], by_id) if parent else DECIDES)


def _adoption(
    jurisdiction: str, identity: str, node: Node, parent: str, decides: str, problems: list[Problem]
) -> Adoption:
    code, _, edition = text(node, "code").partition("@")
    follows, _, follows_id = text(node, "follows").partition("/")
    if follows == PARENT:
        follows, code = parent, text(node, "of")
        if not parent:
            problems.append(_wrong(node, "follows", f"{jurisdiction} has no parent", "a code, such as ibc@2021"))
        if not code:
            problems.append(Problem(node.place, "follows: parent without of", "of: the code, such as ibc"))
    status = text(node, "status", ADOPTED)
    terms = list(_terms(node, problems))
    if status == ADOPTED and not terms:
        problems.append(Problem(node.place, f"{identity} has no dates", "from, or dates"))
    return Adoption(
        identity,
        jurisdiction,
        text(node, "title"),
        code,
        edition,
        follows,
        follows_id,
        tuple((each.text or "", each.place) for each in texts(node, "layers")),
        tuple(terms),
        text(node, "decided_by", decides),
        tuple(each.text or "" for each in texts(node, "choice")),
        text(node, "authority"),
        joined(node, "cite"),
        text(node, "basis"),
        status,
        text(node, "note"),
        node.key_place or node.place,
        node.get("nothing_before") is not None,
    )


def _terms(node: Node, problems: list[Problem]) -> Iterator[Term]:
    dates = node.get("dates")
    if dates is not None and (node.get("from") is not None or node.get("until") is not None):
        problems.append(Problem(dates.place, "dates beside from or until", "one of them"))
    entries = list(dates.elements()) if dates is not None else [node] if node.get("from") is not None else []
    if dates is None and node.get("until") is not None and node.get("from") is None:
        problems.append(_wrong(node, "until", "until without from", "from: the first day in force"))
    before = ""
    for entry in entries:
        wrong = [*real_dates(entry, ("known", "from")), *real_dates(entry, ("until",), ids=True)]
        problems.extend(wrong)
        known, since, until = text(entry, "known"), text(entry, "from"), text(entry, "until")
        if not wrong and is_date(until) and until <= since:
            problems.append(_wrong(entry, "until", f"until {until} is not after from {since}", "a later day"))
        if known and known <= before:
            problems.append(_wrong(entry, "known", f"known {known} is not after {before}", "the order of knowing"))
        before = known
        yield Term(known, since, until, joined(entry, "cite"), entry.place)


def _references(jurisdiction: Jurisdiction, every: Mapping[str, Jurisdiction]) -> Iterator[Problem]:
    """Names in a jurisdiction that mean nothing."""
    own = jurisdiction.adoptions

    def unknown(kind: str, name: str, known: Iterable[str], place: Place) -> Problem:
        listed = sorted(known)
        expected = one_of(listed, 12) if listed else f"{kind} that is described"
        return Problem(place, f"no {kind} {name}", expected, nearest(name, listed) or "")

    for adoption in own.values():
        for term in adoption.terms:
            if term.until and not is_date(term.until) and term.until not in own:
                yield unknown("adoption", term.until, own, term.place)
        for other in adoption.choice:
            if other not in own or other == adoption.id:
                yield unknown("adoption", other, set(own) - {adoption.id}, adoption.place)
        if adoption.authority and adoption.authority not in jurisdiction.authorities:
            yield unknown("authority", adoption.authority, jurisdiction.authorities, adoption.place)
        if adoption.follows and adoption.follows not in every:
            yield unknown("jurisdiction", adoption.follows, every, adoption.place)
        elif adoption.follows_id and adoption.follows_id not in every[adoption.follows].adoptions:
            theirs = every[adoption.follows].adoptions
            yield unknown(f"adoption of {adoption.follows} called", adoption.follows_id, theirs, adoption.place)
        yield from _basis(adoption.basis, jurisdiction, adoption.place)
    for clause in jurisdiction.clauses:
        for name in clause.adoptions:
            if name not in own:
                yield unknown("adoption", name, own, clause.place)
        yield from _basis(clause.basis, jurisdiction, clause.place)


def _basis(basis: str, jurisdiction: Jurisdiction, place: Place) -> Iterator[Problem]:
    known = [*jurisdiction.sources, "memory", "practice", "published"]
    if basis not in known:
        yield Problem(place, f"no source {basis}", one_of(known, 20), nearest(basis, known) or "")
