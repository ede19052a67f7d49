"""Which facts a term may read, whatever they are of."""

from __future__ import annotations

from clauseway.language import core
from clauseway.law.rulebook import Rulebook


def names_read(rulebook: Rulebook, node: core.Node) -> frozenset[str]:
    """The names of all facts that a term may read, whatever they are of, through derivations and arrangements too."""
    kept, found = rulebook.noted(("read", id(node)), lambda: (node, _names_read(rulebook, node)))
    assert kept is node
    return found


def _names_read(rulebook: Rulebook, node: core.Node) -> frozenset[str]:
    names: set[str] = set()
    waiting, seen = [node], set[str]()
    while waiting:
        for inner in core.walk(waiting.pop()):
            further = ""
            if isinstance(inner, core.Get):
                names.add(inner.fact.partition(".")[2])
                further = inner.derived
            elif isinstance(inner, core.Holds):
                further = f"holds {inner.arrangement}"
            if further and further not in seen:
                seen.add(further)
                name = further.removeprefix("holds ")
                waiting.append(rulebook.holds[name] if further != name else rulebook.derivations[name].node)
    return frozenset(names)


def touched_by(rulebook: Rulebook, names: frozenset[str]) -> frozenset[str]:
    """The keys of the facts whose value may change with those of some names, as `Ref.key` writes them."""

    def make() -> dict[str, set[str]]:
        found: dict[str, set[str]] = {}
        for derivation in rulebook.derivations.values():
            own = derivation.fact.partition(".")[2]
            for name in names_read(rulebook, derivation.node) | {own}:
                found.setdefault(name, set()).add(f"{own}|{derivation.name}")
        return found

    derived = rulebook.noted("derived from", make)
    return rulebook.noted(("touched", names), lambda: names.union(*(derived.get(name, ()) for name in names)))
