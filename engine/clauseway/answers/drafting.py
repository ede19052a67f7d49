"""Writing an amendment: what stands at its target now, and examples that show what it does."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from clauseway.answers.contrast import LOOSENED, TIGHTENED, Contrast
from clauseway.answers.examples import Example, examples_in, run_example, summary
from clauseway.answers.footing import Footing
from clauseway.law.layered import layered
from clauseway.law.laying import layers_named
from clauseway.law.library import Library
from clauseway.law.rulebook import Rulebook
from clauseway.law.verbs import number_of, shown, value_of
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.source import Node

_SPECIAL = set(":#{}[],&*!|>'\"%@`?")
_MOST = 2
"""Examples of one kind that are written."""


def flow(node: Node) -> str:
    """A node in the flow style of YAML, on one line."""
    if node.is_map:
        return "{" + ", ".join(f"{name}: {flow(inner)}" for name, inner in node.items()) + "}"
    if node.is_list:
        return "[" + ", ".join(flow(inner) for inner in node.elements()) + "]"
    return quoted(node.text or "")


def quoted(text: str) -> str:
    """A text as YAML reads it back."""
    plain = text and not (_SPECIAL & set(text)) and text == text.strip() and not text.startswith("-") and text != "null"
    return text if plain else json.dumps(text, ensure_ascii=False)


def standing(library: Library, footing: Footing) -> Mapping[str, Node]:
    """The provisions of the code of a footing, under all that is laid over it.

    Raises:
        ClausewayError: where that is no law.
    """
    code = library.codes[footing.code]
    layers = layers_named(library.layers, footing.below, footing.terms)
    found, problems = layered(library, {code.id: (code, footing.edition)}, layers, footing.terms)
    if problems:
        raise ClausewayError(problems)
    return found[code.id].provisions


def target(provisions: Mapping[str, Node], at: str, where: str) -> Node:
    """What stands at an address such as `sensor-release/parameters/height_max`.

    Raises:
        ClausewayError: when nothing does, with the nearest.
    """
    owner, *steps = at.split("/")
    if owner not in provisions:
        near = nearest(owner, provisions) or ""
        raise ClausewayError(Problem(NOWHERE, f"no provision {owner} in {where}", one_of(provisions, 12), near))
    node = provisions[owner]
    for depth, step in enumerate(steps, 1):
        inner = node.get(step)
        if inner is None:
            known = [name for name, _ in node.items()]
            found = f"{'/'.join([owner, *steps[: depth - 1]])} has no {step} ({node.place})"
            raise ClausewayError(Problem(NOWHERE, found, one_of(known, 12), nearest(step, known) or ""))
        node = inner
    return node


def was_of(node: Node, verb: str) -> str:
    """What a verb must expect to find at its target, as YAML; nothing for verbs that need not say."""
    if verb in ("add", "restate"):
        return ""
    if verb == "renumber":
        return quoted(shown(number_of(node)))
    spoken = value_of(node)
    if verb == "remove" and node.is_map:
        item = node.get("item")
        if item is not None:
            return "{item: " + json.dumps(item.text or "") + "}"
        return "[" + ", ".join(quoted(name) for name, _ in node.items()) + "]"
    return flow(spoken)


def direction_of(found: Contrast) -> str:
    """Whether all that differs is stricter or looser; nothing where that is not known."""
    kinds = {step.kind for step in found.every}
    return {frozenset((TIGHTENED,)): "stricter", frozenset((LOOSENED,)): "looser"}.get(frozenset(kinds), "")


@dataclass(frozen=True, slots=True)
class Sample:
    """An example for an amendment: openings to start from, what is changed in them, and the verdicts."""

    base: str
    change: tuple[tuple[str, str], ...]
    condition: str
    before: str
    after: str


def samples(library: Library, footing: Footing, provision: str, books: Sequence[Rulebook]) -> list[Sample]:
    """Examples of a provision that come to something else under an amendment, and some that must not."""
    node = library.codes[footing.code].provisions.get(provision)
    if node is None:
        return []
    turned: list[Sample] = []
    stayed: list[Sample] = []
    for sample in _tried(library, footing, provision, node, books):
        (turned if sample.before != sample.after else stayed).append(sample)
    conditions = {sample.condition for sample in turned}
    beside = [sample for sample in stayed if sample.condition in conditions]
    met = [sample for sample in beside if sample.after in ("met", "unmet")][:1]
    unknown = [sample for sample in beside if sample.after == "undetermined"][:1]
    return turned[:_MOST] + met + unknown


def _tried(
    library: Library, footing: Footing, provision: str, node: Node, books: Sequence[Rulebook]
) -> Iterator[Sample]:
    declared = node.get("examples")
    common = declared.get("change") if declared is not None else None
    written = declared.get("base") if declared is not None else None
    for example in examples_in(library, provision, node):
        if example.editions and footing.edition not in example.editions:
            continue
        found = [_verdict(example, book, footing.code) for book in books]
        base = example.own_base or (written.text if written is not None else None)
        if base is None or not all(found):
            continue
        shared = dict(common.items()) if common is not None and not example.own_base else {}
        change = {**shared, **dict(example.changes.items())}
        flat = tuple((path, flow(value)) for path, value in change.items())
        yield Sample(base, flat, f"{provision}/{example.condition}", *found)


def _verdict(example: Example, book: Rulebook, code: str) -> str:
    if f"{code}.{example.provision}" not in book.provisions:
        return ""
    return summary(run_example(example, book, code))
