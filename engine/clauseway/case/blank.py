"""A commented file of openings to fill in, for one kind of lock.

It asks what the rules ask of such a lock: the facts that the conditions of the rulebook read, and no others.
"""

from __future__ import annotations

from collections.abc import Iterable

from clauseway.language import core
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Provision
from clauseway.model.vocabulary import Fact, Kind, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem

_DEVICES = {
    "sensor": ("approach-sensor", ("sensor-release",)),
    "button": ("push-button", ("sensor-release",)),
    "bar": ("door-hardware-switch", ("door-hardware-release",)),
}


def blank_file(rulebook: Rulebook, lock: str, arrangement: str, code: str) -> str:
    """The text of the file; blank values are unknown until they are filled in.

    Raises:
        ClausewayError: for a kind of lock or an arrangement that the vocabulary does not list.
    """
    vocabulary = rulebook.vocabulary
    _must_be_listed(vocabulary, "lock.kind", lock, "a kind of lock")
    if arrangement:
        _must_be_listed(vocabulary, "lock.arrangement", arrangement, "an arrangement")
    read = _facts_read(rulebook, arrangement)
    writer = _Writer(vocabulary, read)
    writer.head(code)
    writer.block("building", 0, _facts(vocabulary, "building", read))
    writer.line(0, "rooms:")
    writer.block("inside-room", 2, _facts(vocabulary, "room", read), "the space people leave")
    writer.line(2, "outside-room: {}")
    writer.line(0, "supplies:")
    writer.block("supply", 2, _facts(vocabulary, "supply", read), "what feeds the lock; take it out if nothing does")
    writer.line(0, "openings:")
    writer.line(2, "door-1:", "a name of your own; add more openings below")
    writer.line(4, "complete:", "all-below, once every lock, device, sign and space served is listed")
    writer.facts(4, _facts(vocabulary, "opening", read))
    writer.line(4, "sides:")
    for side in ("inside", "outside"):
        writer.line(6, f"{side}:")
        writer.line(8, f"space: {side}-room")
        writer.facts(8, _facts(vocabulary, "side", read))
    writer.line(4, "passages:")
    writer.line(6, "out:")
    for text in ("from_side: inside", "to_side: outside", "serves: [inside-room]"):
        writer.line(8, text)
    writer.facts(8, _facts(vocabulary, "passage", read))
    writer.line(6, "in:")
    for text in ("from_side: outside", "to_side: inside"):
        writer.line(8, text)
    writer.line(8, "role:", "none, if nobody is to leave in this direction; or required or provided")
    writer.line(4, "leaves:")
    writer.line(6, "leaf:")
    writer.facts(8, _facts(vocabulary, "leaf", read))
    writer.line(4, "locks:")
    writer.line(6, "lock:")
    writer.line(8, f"kind: {lock}")
    writer.line(8, f"arrangement: {arrangement}".rstrip(), vocabulary.kinds["lock"].facts["arrangement"].ask)
    writer.line(8, "leaf: leaf")
    for relation in ("supply", "cable"):
        writer.line(8, f"{relation}:", f"{vocabulary.kinds['lock'].relations[relation].ask} A name, or none.")
    both = lock.startswith("electromagnetic")
    writer.line(8, f"secures: [{'out, in' if both else 'out'}]", "the directions in which it holds the door")
    writer.facts(8, _facts(vocabulary, "lock", read, but=("kind", "arrangement")))
    writer.line(8, "on:", "what the lock does at each event")
    response = _facts(vocabulary, "response", read)
    for event in _events_read(rulebook, arrangement):
        writer.line(10, f"{event}:", vocabulary.lists["event"].values[event].about)
        writer.facts(12, response)
    writer.line(8, "by_hand:")
    writer.line(10, "inside:", "how somebody inside opens this lock by hand")
    writer.facts(12, _facts(vocabulary, "hand_release", read))
    writer.line(4, "devices:")
    for name, (kind, used_by) in _DEVICES.items():
        if arrangement and arrangement not in used_by:
            continue
        writer.line(6, f"{name}:")
        writer.line(8, f"kind: {kind}")
        writer.line(8, "side: inside")
        writer.facts(8, _facts(vocabulary, "device", read, but=("kind",)))
        writer.line(8, "acts:")
        writer.line(10, "lock:", "what it does to this lock")
        writer.facts(12, _facts(vocabulary, "action", read))
    writer.line(4, "signs:", "or none")
    return "\n".join(writer.lines) + "\n"


def _must_be_listed(vocabulary: Vocabulary, dotted: str, written: str, what: str) -> None:
    listed = vocabulary.value_list(dotted)
    if listed is None or written not in listed.leaves:
        known = list(listed.values) if listed is not None else []
        raise ClausewayError(
            Problem(NOWHERE, f"{written} is not {what}", one_of(known, 20), nearest(written, known) or "")
        )


def _provisions(rulebook: Rulebook, arrangement: str) -> Iterable[Provision]:
    """The requirements, and the arrangement that is meant or all of them."""
    for provision in rulebook.provisions.values():
        if not arrangement or provision in rulebook.requirements or provision.id == arrangement:
            yield provision


def _nodes(rulebook: Rulebook, arrangement: str) -> Iterable[core.Node]:
    for provision in _provisions(rulebook, arrangement):
        for node in (provision.applies, *(c.own for c in provision.permitted + provision.conditions)):
            yield from core.walk(node)
    for derivation in rulebook.derivations.values():
        if derivation.code in rulebook.practice:
            yield from core.walk(derivation.node)


def _facts_read(rulebook: Rulebook, arrangement: str) -> set[str]:
    return {node.fact for node in _nodes(rulebook, arrangement) if isinstance(node, core.Get)}


def _events_read(rulebook: Rulebook, arrangement: str) -> list[str]:
    keys = {
        node.key
        for node in _nodes(rulebook, arrangement)
        if isinstance(node, core.Slot) and node.relation == "on" and isinstance(node.key, str)
    }
    return [event for event in rulebook.vocabulary.lists["event"].values if event in keys]


def _facts(vocabulary: Vocabulary, kind: str, read: set[str], but: tuple[str, ...] = ()) -> list[tuple[Kind, Fact]]:
    found = vocabulary.kinds[kind]
    return [(found, fact) for fact in found.facts.values() if f"{kind}.{fact.name}" in read and fact.name not in but]


class _Writer:
    """Lines of a file, each fact with its question and what may be answered."""

    def __init__(self, vocabulary: Vocabulary, read: set[str]) -> None:
        self.vocabulary = vocabulary
        self.read = read
        self.lines: list[str] = []

    def head(self, code: str) -> None:
        self.lines += [
            "# Fill in what is known. A blank value is unknown, and what is unknown never passes.",
            "# Lengths as 42 in, 3'-6\" or 1067 mm; yes and no as true and false; `none` for an empty list.",
            "# Anything may also be {at_least: 40 in, at_most: 48 in}, {one_of: [a, b]}, or",
            "# {value: 42 in, known_by: measured} (or stated, or assumed).",
            "project: ",
            f"codes: [{code}]",
        ]

    def line(self, indent: int, text: str, comment: str = "") -> None:
        self.lines.append(" " * indent + text + (f"  # {comment}" if comment else ""))

    def block(self, name: str, indent: int, facts: list[tuple[Kind, Fact]], comment: str = "") -> None:
        self.line(indent, f"{name}:", comment)
        self.facts(indent + 2, facts)

    def facts(self, indent: int, facts: list[tuple[Kind, Fact]]) -> None:
        for _, fact in facts:
            self.line(indent, f"{fact.name}:", f"{fact.ask} [{self.answers(fact)}]")

    def answers(self, fact: Fact) -> str:
        if fact.sort in ("yes-no", "approval"):
            return "true or false"
        if fact.sort in ("choice", "choices"):
            listed = self.vocabulary.lists[fact.values]
            return one_of(listed.values, 8)
        if fact.sort == "quantity":
            return {"length": "42 in, 1067 mm", "time": "15 s", "force": "15 lbf, 67 N"}.get(
                fact.unit, f"a {fact.unit}"
            )
        if fact.sort == "count":
            return f"a number of {fact.noun}"
        return "text"
