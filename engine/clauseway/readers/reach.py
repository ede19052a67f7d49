"""What a term can read, known before it reads: the facts and relations that stand in it, in the derivations of those
facts and in the arrangements that it asks about, each for the thing of which it is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from clauseway.language import core
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import Vocabulary

BUILDING = "building"
_DEEPEST = 24


@dataclass(slots=True)
class Role:
    """A thing as a term comes to it: the facts read of it, and the roles of what it leads to.

    The keys of `onward` are the names of relations, with a listed word behind a stroke where one slot alone is
    meant; `owner` is the thing that it belongs to.
    """

    facts: set[str] = field(default_factory=set)
    onward: dict[str, Role] = field(default_factory=dict)
    owner: Role | None = None
    depth: int = 0


@dataclass(slots=True)
class Reach:
    """What some terms can read, by the names of the things that they begin at. `whole` says that they may read what
    the whole building holds."""

    roles: dict[str, Role] = field(default_factory=dict)
    whole: bool = False


def reach_of(rulebook: Rulebook, nodes: Iterable[core.Node]) -> Reach:
    """What some terms can read, through derivations and arrangements too."""
    reach = Reach()
    reading = _Reading(rulebook, reach)
    for node in nodes:
        reading.term(node, _Names(reach.roles))
    return reach


class _Names:
    """The roles that names stand for: those bound in a term, then those given from outside.

    Inside a derivation, which speaks of one thing of a `kind`, the things that it belongs to have names as well.
    """

    def __init__(self, outer: dict[str, Role], kind: str = "", bound: Mapping[str, Role] | None = None) -> None:
        self.outer, self.kind, self.bound = outer, kind, bound or {}

    def role(self, name: str, vocabulary: Vocabulary) -> Role | None:
        """The role of a name; none for one that nothing gives."""
        if name in self.bound or not self.kind:
            return self.bound.get(name) or self.outer.setdefault(name, Role())
        if name == BUILDING:
            return Role()
        at, role = self.kind, self.outer[self.kind]
        while at != name:
            at = vocabulary.kinds[at].within
            if at in ("", BUILDING):
                return None
            role.owner = role.owner or Role(depth=role.depth + 1)
            role = role.owner
        return role

    def with_bound(self, name: str, role: Role) -> _Names:
        return _Names(self.outer, self.kind, {**self.bound, name: role})


class _Reading:
    def __init__(self, rulebook: Rulebook, reach: Reach) -> None:
        self.rulebook, self.vocabulary, self.reach = rulebook, rulebook.vocabulary, reach
        self.done: dict[object, object] = {}

    def once(self, *about: object) -> bool:
        """Whether this is asked for the first time; what it is about is kept, so that no other can have its id."""
        key = tuple(each if isinstance(each, str) else id(each) for each in about)
        return self.done.setdefault(key, about) is about

    def term(self, node: core.Node, names: _Names) -> None:
        if isinstance(node, core.Name | core.Follow | core.Slot | core.Members):
            self.thing(node, names)
        elif isinstance(node, core.Get):
            self.get(node, names)
        elif isinstance(node, core.Holds):
            bound = [each for item in sorted(names.bound.items()) for each in item]
            if self.once(f"holds {node.arrangement}", names.outer, *bound):
                self.term(self.rulebook.holds[node.arrangement], names)
        elif isinstance(node, core.Quantified | core.Listing):
            inner = names.with_bound(node.variable, self.thing(node.members, names))
            self.term(node.where, inner)
            self.term(node.body, inner)
        else:
            for child in core.children(node):
                self.term(child, names)

    def get(self, node: core.Get, names: _Names) -> None:
        role = self.thing(node.source, names)
        role.facts.add(node.fact.partition(".")[2])
        if node.derived and self.once(node.derived, role):
            if role.depth >= _DEEPEST:
                self.reach.whole = True
                return
            derivation = self.rulebook.derivations[node.derived]
            kind = derivation.fact.partition(".")[0]
            self.term(derivation.node, _Names({kind: role}, kind))

    def thing(self, node: core.Node, names: _Names) -> Role:
        """The role of the thing, or of the members, that a term leads to."""
        if isinstance(node, core.Named):
            return self.thing(node.body, names)
        if isinstance(node, core.Name):
            role = names.role(node.name, self.vocabulary)
            return role if role is not None else self.nobody()
        assert isinstance(node, core.Follow | core.Slot | core.Members)
        source = self.thing(node.source, names)
        if source.depth >= _DEEPEST or _is_building(node.source):
            return self.nobody()
        step = node.relation
        if isinstance(node, core.Slot):
            if isinstance(node.key, str):
                step = f"{node.relation}/{node.key}"
            else:
                self.thing(node.key, names)
        return source.onward.setdefault(step, Role(depth=source.depth + 1))

    def nobody(self) -> Role:
        """The role of things of which it is not known beforehand which they are."""
        self.reach.whole = True
        return Role(depth=_DEEPEST)


def _is_building(node: core.Node) -> bool:
    while isinstance(node, core.Named):
        node = node.body
    if isinstance(node, core.Follow | core.Slot):
        return node.kind == BUILDING
    return isinstance(node, core.Name) and node.name == BUILDING
