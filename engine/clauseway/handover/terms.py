"""The smallest parts of what is asked at an opening, each with the clause line that asks it.

A condition is taken apart along its structure: of a conjunction every part counts, of alternatives those that hold, of
a group the members that meet it. What is left are comparisons of facts, and these are what can be tested at a door.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from clauseway.case.things import Thing
from clauseway.language import core
from clauseway.language.possible import Truth, every, negate, some
from clauseway.readers.collection import Member
from clauseway.readers.decide import Decider, Env

Key = tuple[str, str]
"""A fact: the path of its thing and its name."""


@dataclass(frozen=True)
class Term:
    """A part of a condition that decides by itself. `wanted` is the truth that it has to have.

    `label` is that of the line it stands in, empty for the condition itself. `absent` tells that a member of a list is
    asked for which is not described. `only_if` are the cases in which it is asked, as far as they were not known.
    `whole` tells that it is no part but all that a condition asks, which no test of one fact shows.
    """

    node: core.Node
    env: Env
    wanted: bool
    label: str = ""
    absent: bool = False
    whole: bool = False
    only_if: tuple[tuple[core.Node, Env], ...] = ()

    def truth(self, decider: Decider) -> Truth:
        """Whether the part is as it has to be; where it may not be asked at all, it cannot fail."""
        truth = decider.truth(self.node, self.env)[0]
        asked = every(decider.truth(where, env)[0] for where, env in self.only_if)
        return some((negate(asked), None if truth is None else truth is self.wanted))


def terms_of(decider: Decider, node: core.Node, env: Env, wanted: bool = True, label: str = "") -> Iterator[Term]:
    """The parts of a term of which its truth is made as things are described."""
    if isinstance(node, core.Labelled):
        yield from terms_of(decider, node.body, env, wanted, node.label)
    elif isinstance(node, core.Named | core.Unverified):
        yield from terms_of(decider, node.body, env, wanted, label)
    elif isinstance(node, core.Not):
        yield from terms_of(decider, node.body, env, not wanted, label)
    elif isinstance(node, core.And | core.Or):
        every_part = isinstance(node, core.And) is wanted
        yield from _parts(decider, list(node.parts), env, wanted, label, every_part=every_part)
    elif isinstance(node, core.When) and wanted:
        where = decider.truth(node.where, env)[0]
        for term in terms_of(decider, node.body, env, wanted, label) if where is not False else ():
            yield term if where else replace(term, only_if=((node.where, env), *term.only_if))
    elif isinstance(node, core.Assuming):
        yield from terms_of(decider, node.assumption, env, True, label)
        yield from terms_of(decider, node.body, env, wanted, label)
    elif isinstance(node, core.Holds | core.Constant):
        return
    elif isinstance(node, core.Quantified) and node.quantifier in ("any", "all", "each"):
        yield from _members(decider, node, env, wanted, label)
    else:
        yield Term(node, env, wanted, label)


def _parts(
    decider: Decider, parts: list[core.Node], env: Env, wanted: bool, label: str, *, every_part: bool
) -> Iterator[Term]:
    """All parts where all are needed; else those that hold, or else what still may."""
    if every_part:
        for part in parts:
            yield from terms_of(decider, part, env, wanted, label)
        return
    if wanted and any(_asks_itself(decider, part, env) for part in parts):
        return
    truths = [(part, decider.truth(part, env)[0]) for part in parts]
    held = [part for part, truth in truths if truth is wanted]
    if held:
        # One that holds by what is given asks nothing of the installer: then nothing else is asked either.
        yield from min((list(terms_of(decider, part, env, wanted, label)) for part in held), key=len)
        return
    may = [part for part, truth in truths if truth is None]
    if len(may) > 1:
        yield Term(core.Or(tuple(may)) if wanted else core.And(tuple(may)), env, wanted, label)
        return
    # Where none holds, one that a designer's choice could make hold is what there is to show.
    open_parts = may or [part for part in parts if _can_be_chosen(decider, part)] or parts
    yield from terms_of(decider, open_parts[0], env, wanted, label)


def _can_be_chosen(decider: Decider, part: core.Node) -> bool:
    """Whether a part reads something that a designer chooses."""
    read = [decider.vocabulary.fact(node.fact) for node in core.walk(part) if isinstance(node, core.Get)]
    return any(fact is not None and fact.chosen_by == "designer" for fact in read)


def _asks_itself(decider: Decider, part: core.Node, env: Env) -> bool:
    """Whether an alternative is an arrangement that the lock is meant as: its own conditions ask then."""
    while isinstance(part, core.Labelled | core.Named | core.Unverified):
        part = part.body
    if not isinstance(part, core.Holds):
        return False
    return decider.truth(decider.rulebook.provisions[part.arrangement].recognised, env)[0] is True


def _members(decider: Decider, node: core.Quantified, env: Env, wanted: bool, label: str) -> Iterator[Term]:
    collection = decider.collection(node.members, env)
    members = [member for member in collection.members if member.belongs is not False]
    if (node.quantifier == "any") is not wanted:
        for member in members:
            inner = _bound(node, env, member.thing)
            if decider.truth(node.where, inner)[0] is False:
                continue
            if wanted:
                yield from terms_of(decider, core.When(node.where, node.body), inner, True, label)
            else:
                asked = [node.where, node.body]
                yield from _parts(decider, asked, inner, False, label, every_part=False)
        return
    rows = [(member, _row(decider, node, env, member, wanted)) for member in members]
    chosen = [m for m, truth in rows if truth is True] or [m for m, truth in rows if truth is None]
    chosen = chosen or [m for m, _ in rows if decider.truth(node.where, _bound(node, env, m.thing))[0] is not False]
    if not chosen:
        yield Term(node, env, wanted, label, absent=True)
    for member in chosen:
        yield from terms_of(decider, node.body, _bound(node, env, member.thing), wanted, label)


def _bound(node: core.Quantified, env: Env, thing: Thing) -> Env:
    return {**env, node.variable: thing}


def _row(decider: Decider, node: core.Quantified, env: Env, member: Member, wanted: bool) -> Truth:
    inner = _bound(node, env, member.thing)
    where, body = decider.truth(node.where, inner)[0], decider.truth(node.body, inner)[0]
    asked: Truth = None if body is None else body is wanted
    return every((member.belongs, where, asked))


def facts_in(decider: Decider, term: Term) -> dict[Key, tuple[Thing, str]]:
    """The facts of things, described or to be described, that a part reads, in the order of reading."""
    read = decider.reads(term.node, term.env)
    return {(path, dotted.partition(".")[2]): (thing, dotted) for (path, dotted), (thing, _, _) in read.items()}
