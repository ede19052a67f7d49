"""A term of the core form as text again, for people who read what a rule asks."""

from __future__ import annotations

from collections.abc import Mapping

from clauseway.language import core

_WEAK = (core.And, core.Or, core.When, core.Compare, core.Not)


def written(node: core.Node, parameters: Mapping[str, str]) -> str:
    """The term in the notation of rule files; `parameters` gives the printed value for a parameter's key."""

    def inner(part: core.Node) -> str:
        text = written(part, parameters)
        return f"({text})" if isinstance(bare(part), _WEAK) else text

    node = bare(node)
    if isinstance(node, core.Name):
        return node.name
    if isinstance(node, core.Follow | core.Members):
        return _sides(f"{written(node.source, parameters)}.{node.relation}")
    if isinstance(node, core.Slot):
        key = f'"{node.key}"' if isinstance(node.key, str) else written(node.key, parameters)
        return f"{written(node.source, parameters)}.{node.relation}[{key}]"
    if isinstance(node, core.Get):
        return f"{written(node.source, parameters)}.{node.fact.partition('.')[2]}"
    if isinstance(node, core.Parameter):
        return parameters.get(node.key, node.key.rpartition("/")[2])
    if isinstance(node, core.Options):
        return node.written
    if isinstance(node, core.Constant):
        return "always" if node.truth else "never"
    if isinstance(node, core.Not):
        return f"not {inner(node.body)}"
    if isinstance(node, core.And | core.Or):
        return (" and " if isinstance(node, core.And) else " or ").join(inner(part) for part in node.parts)
    if isinstance(node, core.When):
        return f"if {inner(node.where)}: {written(node.body, parameters)}"
    if isinstance(node, core.Assuming):
        return f"provided {inner(node.assumption)}: {written(node.body, parameters)}"
    if isinstance(node, core.Compare | core.Arithmetic):
        return f"{inner(node.left)} {node.operator} {inner(node.right)}"
    if isinstance(node, core.Belongs):
        single = isinstance(node.options, core.Options)
        return f"{written(node.value, parameters)} {'is' if single else 'in'} {written(node.options, parameters)}"
    if isinstance(node, core.Overlaps | core.Includes):
        word = "has one of" if isinstance(node, core.Overlaps) else "has all of"
        return f"{written(node.value, parameters)} {word} {written(node.options, parameters)}"
    if isinstance(node, core.SameChoice | core.SameText):
        return f"{written(node.left, parameters)} = {written(node.right, parameters)}"
    if isinstance(node, core.SameThing):
        return f"{written(node.left, parameters)} is {written(node.right, parameters)}"
    if isinstance(node, core.Holds):
        return f"{node.arrangement} holds"
    if isinstance(node, core.Function):
        return f"{node.name}({', '.join(written(part, parameters) for part in node.arguments)})"
    if isinstance(node, core.Compute):
        return f"{node.name}({', '.join(f'{name} {written(part, parameters)}' for name, part in node.arguments)})"
    if isinstance(node, core.Listing):
        where = "" if node.where == core.TRUE else f" where {written(node.where, parameters)}"
        return f"{written(node.body, parameters)} of each {node.variable} of {written(node.members, parameters)}{where}"
    if isinstance(node, core.Lookup):
        return f"{node.table}[{', '.join(written(key, parameters) for key in node.keys)}].{node.column}"
    if isinstance(node, core.Quantified):
        return _quantified(node, parameters)
    if isinstance(node, core.Cases):
        cases = [f"{written(value, parameters)} if {written(when, parameters)}" for when, value in node.cases]
        return "; ".join([*cases, f"else {written(node.otherwise, parameters)}"])
    if isinstance(node, core.Anything):
        return "not known"
    return type(node).__name__.lower()


def bare(node: core.Node) -> core.Node:
    """The term inside labels, names and guards."""
    while isinstance(node, core.Labelled | core.Named | core.Unverified):
        node = node.body
    return node


def _sides(text: str) -> str:
    return text.replace("passage.from_side", "egress").replace("passage.to_side", "opposite")


def _quantified(node: core.Quantified, parameters: Mapping[str, str]) -> str:
    members = written(node.members, parameters)
    where = "" if node.where == core.TRUE else f" where {written(node.where, parameters)}"
    head = f"{node.variable} of {members}{where}"
    if node.quantifier in ("count", "sum"):
        what = "" if node.quantifier == "count" else f"{written(node.body, parameters)} over "
        return f"{node.quantifier}({what}{head})"
    word = "one" if node.quantifier == "any" else "each"
    return f"{word} {head} has: {written(node.body, parameters)}"
