"""Where a column leads: a path of lists and names from the row's thing, and a fact or a reference at its end."""

from __future__ import annotations

from dataclasses import dataclass, replace

from clauseway.model.vocabulary import ONE, OWNS, Fact, Kind, Relation, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node
from clauseway_schedules.mapping import LIKE


@dataclass(frozen=True, slots=True)
class Target:
    """`steps` are keys from the thing downwards, ending with the name of the fact or reference.

    Exactly one of `fact` and `reference` is there, or neither where the column names one of `sets`. What is said of a
    thing that the row refers to has the keys to that reference in `through`, and in `things` the list of the building
    in which it is found; `steps` lead on from there.
    """

    written: str
    steps: tuple[str, ...]
    kind: str
    fact: Fact | None = None
    reference: Relation | None = None
    sets: frozenset[str] = frozenset()
    through: tuple[str, ...] = ()
    things: str = ""


def target(written: str, kind: Kind, vocabulary: Vocabulary, node: Node, sets: frozenset[str] = frozenset()) -> Target:
    """What `leaves/leaf.width` means for a thing of a kind, or `sides/inside.space.storey` for what it refers to.

    Raises:
        ClausewayError: for a list or fact that does not exist, with the nearest name.
    """

    def fail(found: str, expected: str, near: str | None = None) -> ClausewayError:
        return ClausewayError(Problem(node.place, f"to: {written[:80]}: {found}", expected, near or ""))

    if written == LIKE:
        return Target(written, (LIKE,), kind.name, sets=sets)
    path, dot, name = written.rpartition(".")
    if not dot:
        path, name = "", written
    if "." in path:
        first = target(path, kind, vocabulary, node)
        owned = vocabulary.kinds["building"].owned(first.reference.kind) if first.reference is not None else None
        if owned is None or first.through:
            raise fail(f"{path} leads to nothing that the building has a list of", "such as sides/inside.space.storey")
        on = target(name, vocabulary.kinds[owned.kind], vocabulary, node)
        return replace(on, written=written, through=first.steps, things=owned.name)
    steps = path.split("/") if path else []
    if len(steps) % 2 or not all(steps):
        raise fail("not a list and a name by turns", "such as leaves/leaf.width or sides/inside.space")
    at = kind
    for relation_name in steps[::2]:
        relation = at.relations.get(relation_name)
        if relation is None or relation.form != OWNS:
            lists = [each.name for each in at.relations.values() if each.form == OWNS]
            raise fail(
                f"a {at.title} has no list {relation_name}",
                one_of(lists, 12) or "a fact",
                nearest(relation_name, lists),
            )
        at = vocabulary.kinds[relation.kind]
    fact = at.facts.get(name)
    if fact is not None:
        return Target(written, (*steps, name), at.name, fact)
    reference = at.relations.get(name)
    if reference is not None and reference.form == ONE:
        return Target(written, (*steps, name), at.name, None, reference)
    names = [*at.facts, *(each.name for each in at.relations.values() if each.form == ONE)]
    raise fail(f"a {at.title} has no fact {name}", "a fact; clauseway facts lists them", nearest(name, names))
