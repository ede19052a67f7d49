"""The traces of many findings in one store: what several of them rest on is kept once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from clauseway.answers import finding as F
from clauseway.answers.trace import Made, trace
from clauseway.answers.trace_node import TraceNode, node_data
from clauseway.answers.trace_text import decisive
from clauseway.case.things import Project
from clauseway.law.rulebook import Rulebook


def decides(finding: F.Finding) -> bool:
    """Whether a verdict hangs on a finding: it is open or fails, or an arrangement excuses it."""
    return finding.verdict not in (F.MET, F.NOT_APPLICABLE) or bool(finding.excused_by)


def stored(traces: Iterable[dict[str, Any]]) -> dict[str, Any]:
    """The traces of several answers in one store."""
    nodes: dict[str, dict[str, Any]] = {}
    roots: list[dict[str, str]] = []
    for each in traces:
        nodes.update(each["nodes"])
        roots += each["roots"]
    return {"nodes": dict(sorted(nodes.items())), "roots": roots}


def traces_of(rulebook: Rulebook, project: Project, answer: F.Answer, *, accept_memory: bool) -> dict[str, Any]:
    """The traces of the findings that decide an answer, as JSON data: `nodes` by key, and `roots` that name them.

    Each node keeps the children from which its value follows; the others can be had again from the rules and the
    inputs. A node has the same key wherever it is met.
    """
    nodes: dict[str, dict[str, Any]] = {}

    def keep(node: TraceNode) -> str:
        if node.key not in nodes:
            nodes[node.key] = {}
            children = [keep(child) for child in decisive(node)]
            nodes[node.key] = node_data(node) | ({"children": children} if children else {})
            nodes[node.key].pop("key")
        return node.key

    roots = []
    made = Made()
    for finding in filter(decides, answer.findings):
        root = keep(trace(rulebook, project, finding, accept_memory=accept_memory, made=made))
        roots.append(
            {
                "opening": answer.id,
                "finding": finding.id,
                "subject": finding.subject.path,
                "passage": finding.subject.passage,
                "mode": finding.mode,
                "root": root,
            }
        )
    return {"nodes": nodes, "roots": roots}
