"""Which facts stand more than once in a term: only they can keep it open part by part while it is decided as a whole.

Where a fact stands once, under and, or, not and the like, a term that comes out the same for each of its values comes
out so without it. What stands inside arithmetic, a comparison of numbers or cases, or is read of the same thing by
every turn of a loop, counts as standing twice.
"""

from __future__ import annotations

from collections import Counter

from clauseway.language import core
from clauseway.law.rulebook import Rulebook

_PLAIN = (core.And, core.Or, core.Not, core.When, core.Assuming, core.Unverified, core.Labelled, core.Named)


def repeated(rulebook: Rulebook, node: core.Node) -> frozenset[str]:
    """The names of the facts, whatever they are of, that a term may read more than once."""
    counts = _counted(rulebook, node, True, "")
    return frozenset(name for name, many in counts.items() if many > 1)


def _counted(rulebook: Rulebook, node: core.Node, plain: bool, member: str) -> Counter[str]:
    """How often each fact stands in a term, twice standing for more; `member` is what the innermost loop goes over."""
    key = ("standing", id(node), plain, member)
    kept, found = rulebook.noted(key, lambda: (node, _count(rulebook, node, plain, member)))
    assert kept is node
    counts: Counter[str] = found
    return counts


def _count(rulebook: Rulebook, node: core.Node, plain: bool, member: str) -> Counter[str]:
    if isinstance(node, core.Get):
        return _fact(rulebook, node, plain, member)
    if isinstance(node, core.Holds):
        return _counted(rulebook, rulebook.holds[node.arrangement], plain, member)
    inner = plain and (
        isinstance(node, _PLAIN)
        or (isinstance(node, core.Belongs) and isinstance(node.value, core.Get))
        or (isinstance(node, core.Quantified) and node.quantifier in ("any", "each"))
    )
    within = node.variable if isinstance(node, core.Quantified | core.Listing) else member
    total: Counter[str] = Counter()
    for child in core.children(node):
        total += _counted(rulebook, child, inner, within)
    return Counter({name: min(many, 2) for name, many in total.items()})


def _fact(rulebook: Rulebook, node: core.Get, plain: bool, member: str) -> Counter[str]:
    name = node.fact.partition(".")[2]
    source = node.source
    while isinstance(source, core.Named):
        source = source.body
    alone = plain and (not member or (isinstance(source, core.Name) and source.name == member))
    total = Counter({name: 1 if alone else 2})
    if node.derived:
        fact = rulebook.vocabulary.fact(node.fact)
        yes_no = fact is not None and fact.sort == "yes-no"
        # A derivation reads what is around its thing, which every member of a loop may share.
        total += _counted(rulebook, rulebook.derivations[node.derived].node, alone and yes_no and not member, "")
    return Counter({name: min(many, 2) for name, many in total.items()})
