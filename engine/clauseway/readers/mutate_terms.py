"""Small wrong versions of a term: the mistakes that a person who writes a rule may make."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace

from clauseway.language import core
from clauseway.language.written import written
from clauseway.model.vocabulary import Vocabulary

_STRICTER = {"<=": "<", "<": "<=", ">=": ">", ">": ">=", "==": "!=", "!=": "=="}
_OPPOSITE = {"<=": ">", "<": ">=", ">=": "<", ">": "<=", "==": "!=", "!=": "=="}
_OTHER = {"any": "all", "all": "any", "each": "any"}
_ATOMS = (
    core.Belongs,
    core.Overlaps,
    core.Includes,
    core.SameChoice,
    core.SameText,
    core.SameThing,
    core.Holds,
)


@dataclass(frozen=True, slots=True)
class Variant:
    """A term with one mistake in it: the label of the part that has it (empty for none), and what it is."""

    label: str
    what: str
    node: core.Node


def variants(node: core.Node, vocabulary: Vocabulary, label: str = "") -> Iterator[Variant]:
    """Every term that differs from `node` by one mistake.

    The mistakes: a comparison of the nearest other kind (`<=` for `<`, `==` for `!=`) or the opposite one, `all`
    for `any` and `any` for `all` or `each`, a test that is negated, a part of a conjunction or of alternatives left
    out, a `where` or a `fits` left out, a case left out. What stands under a name of the rule's author is left to
    `named_in`, so that it is mutated once and not at each use.
    """
    if isinstance(node, core.Labelled):
        label = node.label
    for what, mutated in _own(node, vocabulary):
        yield Variant(label, what, mutated)
    if isinstance(node, core.Named):
        return
    for field in fields(node):
        value = getattr(node, field.name)
        for place, changed in _inside(value, vocabulary, label):
            yield Variant(place.label, place.what, replace(node, **{field.name: changed}))


def _inside(value: object, vocabulary: Vocabulary, label: str) -> Iterator[tuple[Variant, object]]:
    if isinstance(value, core.Node):
        for variant in variants(value, vocabulary, label):
            yield variant, variant.node
    elif isinstance(value, tuple):
        for at, item in enumerate(value):
            for place, changed in _inside(item, vocabulary, label):
                yield place, (*value[:at], changed, *value[at + 1 :])


def _own(node: core.Node, vocabulary: Vocabulary) -> Iterator[tuple[str, core.Node]]:
    """The mistakes made at the node itself."""
    if isinstance(node, core.Compare):
        for operator in dict.fromkeys((_STRICTER[node.operator], _OPPOSITE[node.operator])):
            yield f"{_text(node)} with {operator}", replace(node, operator=operator)
    elif isinstance(node, _ATOMS) or (isinstance(node, core.Get) and _is_truth(node, vocabulary)):
        yield f"not ({_text(node)})", core.Not(node)
    elif isinstance(node, core.And | core.Or):
        yield from _without_parts(node)
    elif isinstance(node, core.When):
        yield f"asked not only where {_text(node.where)}", node.body
    elif isinstance(node, core.Assuming):
        yield f"not only fitting where {_text(node.assumption)}", node.body
    elif isinstance(node, core.Quantified):
        if node.where != core.TRUE:
            yield f"every {node.variable}, not only where {_text(node.where)}", replace(node, where=core.TRUE)
        other = _OTHER.get(node.quantifier)
        if other:
            yield f"{other} for {_text(node)}", replace(node, quantifier=other)
    elif isinstance(node, core.Cases):
        for at, (when, _) in enumerate(node.cases):
            yield f"without the case {_text(when)}", replace(node, cases=node.cases[:at] + node.cases[at + 1 :])


def _without_parts(node: core.And | core.Or) -> Iterator[tuple[str, core.Node]]:
    for at, part in enumerate(node.parts):
        rest = list(node.parts[:at] + node.parts[at + 1 :])
        name = f"{part.role} {part.label}" if isinstance(part, core.Labelled) else _text(part)
        if isinstance(node, core.And):
            yield f"without {name}", core.conjunction(rest)
        elif rest:
            yield f"without {name}", core.disjunction(rest)


def _is_truth(node: core.Get, vocabulary: Vocabulary) -> bool:
    fact = vocabulary.fact(node.fact)
    return fact is not None and fact.sort in ("yes-no", "approval")


def _text(node: core.Node) -> str:
    """The term in the notation of rule files; what the author named goes by its name."""
    return written(_by_name(node), {})


def _by_name(node: core.Node) -> core.Node:
    if isinstance(node, core.Named):
        return core.Name(node.name)
    return core.rebuilt(node, _by_name)


def named_in(roots: list[core.Node]) -> list[core.Named]:
    """Each sub-term that the author named, once, in the order in which they are met."""
    return list(dict.fromkeys(part for root in roots for part in core.walk(root) if isinstance(part, core.Named)))


def with_named(node: core.Node, old: core.Named, new: core.Named) -> core.Node:
    """`node` with one named sub-term in place of another, wherever it is used."""
    if node == old:
        return new
    return core.rebuilt(node, lambda part: with_named(part, old, new))
