"""The sentences of conditions: what stands in them between braces, and the history of what they are about."""

from __future__ import annotations

from pathlib import Path

from clauseway.language import core
from clauseway.law.parameters import history_of
from clauseway.law.resolve import resolve
from clauseway.model.provision import Change, Placeholder, Template
from clauseway.text.problems import Place
from clauseway.text.source import Node
from support.small_code import small_library

RULE = """\
conditions:
  locks:
    each: {it: opening.locks}
    require: it.self_locking
    says: {asks: "so", met: "{it.kind} yes.", unmet: "{it.kind} no."}
    remedy: None.
  devices:
    each: {it: opening.devices}
    require: it.ready_access
    says: {asks: "so", met: "{it.kind} yes.", unmet: "{it.kind} no."}
    remedy: None.
"""


def facts_of(template: Template) -> list[str]:
    nodes = [part.node for part in template if isinstance(part, Placeholder)]
    return [each.fact for node in nodes for each in core.walk(node) if isinstance(each, core.Get)]


def test_the_same_words_mean_what_their_own_condition_binds(tmp_path: Path) -> None:
    rulebook = resolve(small_library(tmp_path, RULE), ["xx@2021"])
    told = [
        (facts_of(each.line.met), facts_of(each.line.unmet)) for each in rulebook.provisions["xx.matter"].conditions
    ]
    assert told == [(["lock.kind"], ["lock.kind"]), (["device.kind"], ["device.kind"])]


def test_what_a_text_was_amended_by_is_known_of_all_that_it_stands_in() -> None:
    place = Place("a.yaml")
    first, second, third = (Change(name, place, "set", "a", "b") for name in ("first", "second", "third"))
    amended = Node("48 in", place, history=(first,))
    inner = Node({"value": amended, "also": Node("x", place)}, place, history=(second,))
    apart = Node({"x": Node("y", place, history=(third,))}, place)
    assert history_of(Node({"limit": inner, "again": amended, "rows": apart}, place)) == (second, first)
    assert history_of(Node({"limit": Node("x", place)}, place)) == ()
