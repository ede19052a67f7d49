"""Traces: each reaches a clause and a rule file, and its leaves alone give the verdict again."""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from xml.etree import ElementTree

import pytest

from clauseway.answers import finding as F
from clauseway.answers.check import check
from clauseway.answers.trace import trace
from clauseway.answers.trace_node import TraceNode, findings_named, nodes_of
from clauseway.answers.trace_text import rows, trace_data, trace_svg, trace_text
from clauseway.case.open import open_project, project_from_text
from clauseway.case.things import Project
from clauseway.language import possible as P
from clauseway.law.library import load
from clauseway.law.packed import pack, unpack
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.text.problems import ClausewayError

MISSING = object()


@cache
def demo() -> tuple[Rulebook, Project, F.Report]:
    rulebook = resolve(load(), ["ibc@2021"])
    project = open_project("demo", rulebook)
    return rulebook, project, check(rulebook, project)


@cache
def traced() -> tuple[tuple[F.Finding, TraceNode], ...]:
    rulebook, project, report = demo()
    return tuple((f, trace(rulebook, project, f)) for answer in report.answers for f in answer.findings)


def one(opening: str, identity: str) -> TraceNode:
    rulebook, project, report = demo()
    return trace(rulebook, project, findings_named(report, opening, identity)[0])


# --- reading the tree a second time, from its leaves --------------------------------------------------------

Assumed = dict[tuple[str, str], P.Value]


def again(node: TraceNode, assumed: Assumed, done: dict[str, P.Value]) -> P.Value:
    """The value of a node from its leaves alone; a small reader of its own."""
    if node.key not in done:
        done[node.key] = _again(node, assumed, done)
    return done[node.key]


def _again(node: TraceNode, assumed: Assumed, done: dict[str, P.Value]) -> P.Value:
    if (node.of, node.fact) in assumed and node.op in ("fact", "derived"):
        return assumed[node.of, node.fact]
    if not node.children:
        if node.op in ("any", "all", "each", "count", "sum"):
            return _over(node, [], done)
        return node.result
    if node.op in ("any", "all", "each", "count", "sum"):
        return _over(node, [[again(child, assumed, done) for child in m.children] for m in node.children], done)
    parts = [again(child, assumed, done) for child in node.children]
    op, _, sign = node.op.partition(" ")
    if op in ("finding", "labelled", "named", "derived"):
        return parts[0]
    if op == "unverified":
        return None if parts[0] is True else parts[0]
    if op == "and":
        return P.every(parts)
    if op == "or":
        return P.some(parts)
    if op == "not":
        return P.negate(parts[0])
    if op == "when":
        return P.some((P.negate(parts[0]), parts[1]))
    if op == "assuming":
        return parts[1] if parts[0] is True else None
    if op == "compare":
        return P.compare(sign, *parts)
    if op == "belongs":
        return P.belongs(parts[0], parts[1].options)
    if op == "overlaps":
        return P.overlaps(parts[0], parts[1].options)
    if op == "includes":
        return P.includes(parts[0], parts[1].options)
    if op == "arithmetic":
        return P.arithmetic(sign, *parts)
    if op == "same-choice":
        a, b = parts
        return True if len(a.options) == 1 and a == b else False if not a.options & b.options else None
    if op == "cases":
        return node.result
    return node.result


def _over(node: TraceNode, members: list[list[P.Value]], done: dict[str, P.Value]) -> P.Value:
    if node.op in ("count", "sum"):
        return node.result
    passes = [P.every((m.result, where)) for m, (where, _) in zip(node.children, members, strict=True)]
    if node.op == "any":
        return P.some(P.every((p, body)) for p, (_, body) in zip(passes, members, strict=True))
    truth = P.every(P.some((P.negate(p), body)) for p, (_, body) in zip(passes, members, strict=True))
    return None if truth is True and node.op == "all" and True not in passes else truth


def completions(root: TraceNode, assumed: Assumed, left: int = 12) -> Iterator[Assumed]:
    """Ways to fill in what is unknown and has few values, one fact after another."""
    for node in nodes_of(root):
        if node.op in ("fact", "derived") and node.of and (node.of, node.fact) not in assumed and left:
            values: list[P.Value] = []
            if node.result is None:
                values = [True, False]
            elif isinstance(node.result, P.Choice) and 1 < len(node.result.options) <= 12:
                values = [P.Choice(frozenset((option,))) for option in node.result.options]
            for value in values:
                yield {**assumed, (node.of, node.fact): value}
            if values:
                return


def settled(root: TraceNode, assumed: Assumed, budget: int = 10) -> P.Value:
    """The truth on which all completions agree."""
    truth = again(root, assumed, {})
    if truth is not None or budget == 0:
        return truth
    found = {settled(root, inner, budget - 1) for inner in completions(root, assumed)}
    return found.pop() if len(found) == 1 else None


def test_every_finding_of_the_demo_is_traced() -> None:
    assert len(traced()) > 500
    assert {f.verdict for f, _ in traced()} >= {F.MET, F.UNMET, F.UNDETERMINED, F.NOT_APPLICABLE}


LITTLE = """\
openings:
  a: {}
  b: {locks: {l: {kind: electromagnetic-direct-pull}}, devices: {d: {kind: push-button}}, leaves: {f: {}}}
"""


def test_every_finding_of_a_door_of_which_little_is_known_is_traced() -> None:
    """What a derivation leaves open has its words as well, whatever the fact may be."""
    rulebook, *_ = demo()
    project = project_from_text(LITTLE, rulebook)
    report = check(rulebook, project)
    roots = [(f, trace(rulebook, project, f)) for answer in report.answers for f in answer.findings]
    assert len(roots) > 30
    assert {f.verdict for f, _ in roots} >= {F.UNDETERMINED}
    assert all(root.value == f.verdict for f, root in roots)


def test_each_trace_reaches_a_clause_and_a_line_of_a_rule_file() -> None:
    for finding, root in traced():
        found = list(nodes_of(root))
        if finding.id.endswith("/complete"):
            assert any(node.op == "missing" for node in found)
            continue
        assert any(node.citation and node.citation.section for node in found), finding.id
        assert any(node.place.file.startswith("rules/") and node.place.line for node in found), finding.id


def test_each_leaf_says_where_it_comes_from() -> None:
    for finding, root in traced():
        for node in nodes_of(root):
            if node.op == "fact":
                assert node.known_by, (finding.id, node)
                assert node.place.line or node.known_by in ("unknown", "absent"), (finding.id, node)
            if node.op == "parameter":
                assert node.place.line
                assert node.citation is not None
                assert node.citation.edition


def test_the_leaves_give_each_verdict_again() -> None:
    wrong = []
    for finding, root in traced():
        if root.op == "described":
            continue
        (child,) = root.children
        truth = again(child, {}, {})
        assert truth is child.result or truth == child.result, finding.id
        if finding.verdict in (F.MET, F.UNMET) and truth is None:
            truth = settled(child, {})
        expected = {F.MET: [True], F.UNMET: [False], F.NOT_APPLICABLE: [True, None]}.get(finding.verdict, [None])
        if truth not in expected:
            wrong.append((finding.id, finding.subject.path, finding.verdict, truth))
    assert wrong == []


def test_every_inner_node_follows_from_its_children() -> None:
    done: dict[str, P.Value] = {}
    for _, root in traced():
        for node in nodes_of(root):
            if node.op not in ("finding", "described", "member"):
                assert again(node, {}, done) == node.result, node


def test_a_trace_names_the_excuse_and_why_it_falls() -> None:
    text = trace_text(one("d102", "ibc.free-egress/always-free"))
    assert "excused by ibc.sensor-release" in text
    assert "The excuse falls." in text
    assert "demo:" in text
    assert "rules/codes/ibc/sensor-release.yaml:" in text


def test_equal_parts_stand_once_and_depth_is_limited() -> None:
    root = one("d102", "ibc.free-egress/always-free")
    drawn = rows(root)
    shown = [row.node.key for row in drawn if row.node.children and not row.again]
    assert len(shown) == len(set(shown))
    assert max(row.depth for row in rows(root, 3)) == 2
    assert "below" in json.dumps(trace_data(root, 3))
    assert len(trace_text(root, 3)) < len(trace_text(root))


def test_a_rulebook_whose_equal_terms_are_one_gives_the_same_trace() -> None:
    """A kept rulebook shares equal terms of different clauses; each line still names its own clause."""
    rulebook, project, report = demo()
    shared = unpack(json.loads(json.dumps(pack(rulebook))))
    for opening in ("d102", "d104"):
        finding = findings_named(report, opening, "ibc.free-egress/always-free")[0]
        assert trace_data(trace(shared, project, finding)) == trace_data(trace(rulebook, project, finding))


def test_the_picture_is_xml_and_the_same_each_time() -> None:
    root = one("d101", "ibc.free-egress/always-free")
    picture = trace_svg(root)
    assert picture == trace_svg(one("d101", "ibc.free-egress/always-free"))
    assert ElementTree.fromstring(picture).tag.endswith("svg")
    assert json.loads(json.dumps(trace_data(root))) == trace_data(root)


@pytest.mark.parametrize(
    ("names", "near"),
    [
        (("d1O1", "ibc.free-egress/always-free"), "d101"),
        (("d101", "ibc.free-egres/always-free"), "ibc.free-egress/always-free"),
        (("d101", "ibc.free-egress/always-free", "magnt"), "magnet"),
    ],
)
def test_an_unknown_name_offers_the_nearest(names: tuple[str, ...], near: str) -> None:
    with pytest.raises(ClausewayError) as caught:
        findings_named(demo()[2], *names)
    assert caught.value.problems[0].nearest == near
