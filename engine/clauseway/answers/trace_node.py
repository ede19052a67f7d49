"""The steps of a trace, and the findings that a trace can start from."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.check import bindings
from clauseway.answers.decide_condition import Bound
from clauseway.answers.report import change_data, citation_data
from clauseway.answers.wording import UNKNOWN
from clauseway.language import core
from clauseway.language.possible import Value
from clauseway.law import codec
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Change, Citation, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem


@dataclass(frozen=True, slots=True)
class TraceNode:
    """One step of a trace.

    `op` says how its value follows from its children; `result` is that value exactly, `value` the same in words. Equal
    sub-trees have the same `key`. `of` and `fact` name what a fact belongs to.
    """

    op: str
    what: str
    value: str
    result: Value
    note: str = ""
    place: Place = NOWHERE
    known_by: str = ""
    of: str = ""
    fact: str = ""
    citation: Citation | None = None
    source: str = ""
    history: tuple[Change, ...] = ()
    children: tuple[TraceNode, ...] = ()
    key: str = ""


OPS: dict[type[core.Node], str] = {
    core.SameChoice: "same-choice",
    core.SameText: "same-text",
    core.SameThing: "same-thing",
}
"""The name of a step, where it is not that of its term."""


def keyed(node: TraceNode) -> TraceNode:
    """The node with the key that its own contents and its children's keys give it."""
    own = json.dumps(node_data(replace(node, key="")), ensure_ascii=False, sort_keys=True)
    parts = [own, *(child.key for child in node.children)]
    return replace(node, key=hashlib.sha256("\n".join(parts).encode()).hexdigest()[:12])


def described_nodes(finding: F.Finding) -> tuple[TraceNode, ...]:
    """What a finding on the description itself rests on: the facts as typed, and what was not said."""
    facts = [
        keyed(TraceNode("given", key, fact.value or UNKNOWN, None, place=fact.place, known_by=fact.known_by))
        for key, fact in finding.facts.items()
    ]
    missing = [
        keyed(TraceNode("missing", asked.fact, UNKNOWN, None, asked.ask, of=asked.missing.path))
        for asked in finding.missing
    ]
    return tuple(facts + missing)


def source_of(rulebook: Rulebook, citation: Citation) -> str:
    """The title of the source that the substance of a citation is known from."""
    entry = rulebook.sources.get(citation.code, {}).get(citation.basis.source, {})
    return entry.get("title", citation.basis.source)


def bound_of(decider: Decider, provision: Provision, subject: F.Subject) -> Iterator[Bound]:
    """The subject of a finding with what is bound on the way to it."""
    things, path = decider.project.things, subject.path
    if path not in things:
        return
    if "opening" in SUBJECTS[provision.subject]:
        while things[path].kind != "opening":
            path = decider.project.owners[path]
    yield from (b for b in bindings(decider, provision.subject, things[path]) if b.subject == subject)


def computed_form(name: str) -> str:
    """How the result of a computation is printed."""
    from clauseway.law.computations import printed_form

    return printed_form(name)


def findings_named(report: F.Report, opening: str, identity: str, subject: str = "") -> list[F.Finding]:
    """The findings of an opening (or space) with an id, about the lock or other subject called `subject` if given.

    Raises:
        ClausewayError: for a name that is not there, with the nearest.
    """
    answers = [answer for answer in report.answers if answer.id == opening]
    if not answers:
        known = [answer.id for answer in report.answers]
        raise ClausewayError(
            Problem(Place(report.file), f"no opening {opening}", one_of(known, 12), nearest(opening, known) or "")
        )
    every = [finding for answer in answers for finding in answer.findings]
    found = [f for f in every if identity in (f.id, f.id.partition(".")[2])]
    if not found:
        ids = sorted({f.id for f in every})
        raise ClausewayError(
            Problem(
                Place(report.file), f"no finding {identity} of {opening}", one_of(ids), nearest(identity, ids) or ""
            )
        )
    if not subject:
        return found
    names = sorted({name for f in found for name in _names(f.subject)})
    about = [f for f in found if subject in _names(f.subject)]
    if not about:
        raise ClausewayError(
            Problem(
                Place(report.file),
                f"no finding {identity} about {subject}",
                one_of(names),
                nearest(subject, names) or "",
            )
        )
    return about


def _names(subject: F.Subject) -> set[str]:
    """What a person may call a subject: its path, its name, its passage, or name/passage."""
    own, passage = subject.path.rpartition("/")[2], subject.passage.rpartition("/")[2]
    return {subject.path, own, passage, f"{own}/{passage}"} - {""}


def nodes_of(node: TraceNode) -> Iterator[TraceNode]:
    """Each distinct node of a trace, outermost first."""
    seen: set[str] = set()

    def visit(inner: TraceNode) -> Iterator[TraceNode]:
        if inner.key in seen:
            return
        seen.add(inner.key)
        yield inner
        for child in inner.children:
            yield from visit(child)

    return visit(node)


def exact(node: TraceNode) -> object:
    """The value of a node as JSON data, exact."""
    return codec.encode(node.result)


def node_data(node: TraceNode) -> dict[str, Any]:
    """A node without its children as JSON data; what is empty is left out."""
    data: dict[str, Any] = {
        "key": node.key,
        "op": node.op,
        "what": node.what,
        "value": node.value,
        "exact": exact(node),
        "note": node.note,
        "at": str(node.place),
        "known_by": node.known_by,
        "of": node.of,
        "fact": node.fact,
        "citation": citation_data(node.citation) if node.citation is not None else None,
        "source": node.source,
        "amended_by": [change_data(change) for change in node.history],
    }
    return {
        key: value for key, value in data.items() if value not in ("", []) and (value is not None or key == "exact")
    }
