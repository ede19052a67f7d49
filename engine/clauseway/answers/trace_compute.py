"""A computation in a trace: its formula, and the same with the numbers put in."""

from __future__ import annotations

from dataclasses import replace

from clauseway.answers.trace_node import TraceNode, keyed
from clauseway.compute.registry import computation_named
from clauseway.language import core
from clauseway.language.possible import Interval
from clauseway.readers.computed import given_of


def compute_node(base: TraceNode, term: core.Compute, arguments: tuple[TraceNode, ...]) -> TraceNode:
    """The step of a computation; `arguments` are the steps of what it takes, in the order of the term."""
    record = computation_named(term.name)
    formula = f"{record.result.symbol} = {record.formula_with_symbols()}"
    values = [_value(node) for node in arguments]
    note = f"{record.title}: {formula}"
    if isinstance(base.result, Interval) and base.result.is_point:
        spans = {name: value for (name, _), value in zip(term.arguments, values, strict=True)}
        note = f"{note} = {record.formula_with_numbers(given_of(record, spans))}"
    named = tuple(
        keyed(replace(node, what=f"{name} = {node.what}", key=""))
        for (name, _), node in zip(term.arguments, arguments, strict=True)
    )
    source = "; ".join(str(source) for source in record.sources)
    return replace(base, op=f"compute {term.name}", note=note, source=source, children=named)


def _value(node: TraceNode) -> Interval | list[Interval] | None:
    if node.op != "listing":
        assert isinstance(node.result, Interval)
        return node.result
    return [child.result for child in node.children if isinstance(child.result, Interval)]
