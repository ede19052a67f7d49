"""Amendments: small layers of verbs over the picked provisions of a code.

A change names its target by a path of names, says what it expects to find there (`was`), and is refused when the
target is missing or different. Whatever it sets remembers who set it, where, and instead of what.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from clauseway.law.aliases import aliases_of
from clauseway.law.jurisdictions import text
from clauseway.law.laying import GUIDANCE, Laid
from clauseway.law.rest import resting, takes_away_a_duty, within_scope
from clauseway.law.verbs import CHANGED, NAMES_WAS, VERBS, check_was, number_of, shown, value_of
from clauseway.model.provision import MEMORY, Change
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node

_HOLDERS = frozenset(
    ("parameters", "conditions", "permitted", "exceptions", "any_of", "all_of", "lines", "assumes", "let", "cases")
)
"""Maps from names to parts, each of which remembers its own changes."""


@dataclass
class _Standing:
    """The provisions while layers are laid over them, and what earlier changes did to each path."""

    code: str
    provisions: dict[str, Node]
    aliases: Mapping[str, str]
    removed: dict[str, Change] = field(default_factory=dict)
    touched: list[tuple[str, Laid]] = field(default_factory=list)
    amended: set[str] = field(default_factory=set)


@dataclass(frozen=True)
class Amended:
    """The provisions of a code under its layers, and the names of those that a layer touched or brought."""

    provisions: Mapping[str, Node]
    touched: frozenset[str]


def amend(provisions: Mapping[str, Node], changes: Sequence[Laid], code: str, force: str = "") -> Amended:
    """The picked provisions of a code with the changes laid over them, in their order.

    Raises:
        ClausewayError: for a missing or changed target, and for two changes of one rank and one day to one item; both
            places are named.
    """
    standing = _Standing(code, dict(provisions), aliases_of(provisions))
    problems: list[Problem] = []
    for laid in changes:
        try:
            if text(laid.layer, "binding") == GUIDANCE and force != GUIDANCE:
                binding = (laid.layer.get("binding") or laid.layer).place
                found = f"guidance cannot change {code}, which is {force or 'law'}"
                raise ClausewayError(Problem(binding, found, "a code whose force is guidance, in codes/"))
            if laid.node.get("changes") is None and laid.node.get("at") is None:
                _bring(standing, laid)
            else:
                _apply(standing, laid)
        except ClausewayError as error:
            problems.extend(error.problems)
    if problems:
        raise ClausewayError(problems)
    return Amended(standing.provisions, frozenset(standing.amended & set(standing.provisions)))


def _bring(standing: _Standing, laid: Laid) -> None:
    """Put in a whole provision that a layer brings."""
    node = laid.node
    name = text(node, "id")
    there = standing.provisions.get(name)
    if there is not None:
        place = (node.get("id") or node).place
        raise ClausewayError(
            Problem(place, f"{standing.code} has {name} already ({there.place})", "a new id, or a layer that amends it")
        )
    change = Change(laid.name, node.place, "bring", "nothing", name, laid.cite, laid.since, "", laid.authority)
    standing.provisions[name] = replace(node, history=(change,))
    standing.amended.add(name)
    standing.touched.append((name, laid))


def _apply(standing: _Standing, laid: Laid) -> None:
    node = laid.node
    at = node.get("at")
    written = at.text or "" if at is not None else ""
    owner, slash, inside = written.partition("/")
    address = f"{standing.aliases.get(owner, owner)}{slash}{inside}"
    where = (at or node).place
    verb = next(name for name in VERBS if node.get(name) is not None)
    operand = node.get(verb)
    assert operand is not None
    steps = address.split("/")
    if steps[0] not in standing.provisions:
        _refuse_missing(standing, steps[0], where)
    _refuse_clash(standing, laid, verb, address, operand, where)
    target = _find(standing, steps, where)
    was = node.get("was")
    spoken = number_of(target) if verb == "renumber" else value_of(target)
    if was is None and verb in NAMES_WAS:
        raise ClausewayError(Problem(node.place, f"{verb} without was", f"was: {shown(spoken)}"))
    if was is not None:
        check_was(was, target, spoken, address)
    if verb == "restate":
        return
    change = Change(
        laid.name,
        node.place,
        verb,
        shown(spoken),
        shown(operand),
        laid.cite,
        laid.since,
        text(node, "direction"),
        laid.authority,
        text(node, "reason"),
    )
    kind = text(standing.provisions[steps[0]], "kind")
    if takes_away_a_duty(verb, steps, kind) and (laid.basis is None or laid.basis.text == MEMORY):
        found = f"{address} is taken away from memory only"
        raise ClausewayError(Problem(node.place, found, "basis: how the amendment is known"))
    scope = node.get("scope")
    changed: Node | None
    if scope is not None:
        changed = within_scope(verb, steps, target, operand, scope)
    else:
        changed = CHANGED[verb](target, operand, address)
    also = node.get("also")
    if also is not None and changed is not None:
        changed = replace(changed, value={**dict(changed.items()), "also": also})
    whole = standing.provisions[steps[0]]
    if changed is None:
        standing.removed[address] = change
    else:
        changed = _remembering(changed, target, change, verb, operand, steps)
    placed = _placed(whole, steps[1:], changed)
    if placed is not None:
        if changed is None:
            placed = replace(placed, history=(*placed.history, change))
        placed = resting(placed, verb, steps[1:], operand, laid.basis, node)
        standing.provisions[steps[0]] = placed
    else:
        del standing.provisions[steps[0]]
    standing.amended.add(steps[0])


def _remembering(changed: Node, target: Node, change: Change, verb: str, operand: Node, steps: Sequence[str]) -> Node:
    """What a change made, with the change in its history; new parts remember it themselves."""
    if verb == "add" or (verb == "replace" and steps[-1] in _HOLDERS):
        return replace(changed, value=_marked(changed, operand, change, steps[-1] in _HOLDERS))
    return replace(changed, history=(*target.history, change))


def _marked(node: Node, new: Node, change: Change, parts: bool) -> dict[str, Node]:
    result = dict(node.items())
    for name, _ in new.items():
        inner = result[name]
        if not parts and name in _HOLDERS and inner.is_map:
            result[name] = replace(inner, value=_marked(inner, inner, change, True))
        else:
            result[name] = replace(inner, history=(*inner.history, change))
    return result


def _refuse_missing(standing: _Standing, name: str, where: Place) -> None:
    gone = standing.removed.get(name)
    if gone is not None:
        raise ClausewayError(
            Problem(where, f"{name} was removed by {gone.layer} at {gone.place}", "a target that still stands")
        )
    known = sorted(standing.provisions)
    found = f"no provision {name} in this edition of {standing.code}"
    raise ClausewayError(Problem(where, found, one_of(known), nearest(name, known) or ""))


def _refuse_clash(standing: _Standing, laid: Laid, verb: str, address: str, operand: Node, where: Place) -> None:
    """Refuse a second change of one rank and one day to one item, or to a part of it."""
    own = [f"{address}/{name}" for name, _ in operand.items()] if verb == "add" else [address]
    for path in own:
        for other, earlier in standing.touched:
            same = path == other or path.startswith(f"{other}/") or other.startswith(f"{path}/")
            if not same or earlier.rank != laid.rank or earlier.since != laid.since:
                continue
            name = f"{laid.rank}" if earlier.name != laid.name else laid.name
            found = f"{path} is changed twice in {name}; the first change is at {earlier.node.place}"
            raise ClausewayError(Problem(where, found, "one change, or another day (from) for the later one"))
    if verb != "restate":
        standing.touched += [(path, laid) for path in own]


def _find(standing: _Standing, steps: Sequence[str], where: Place) -> Node:
    node = standing.provisions[steps[0]]
    for depth, step in enumerate(steps[1:], 1):
        inner = node.get(step)
        if inner is None:
            path = "/".join(steps[: depth + 1])
            gone = standing.removed.get(path)
            if gone is not None:
                raise ClausewayError(
                    Problem(where, f"{path} was removed by {gone.layer} at {gone.place}", "a target that still stands")
                )
            known = [name for name, _ in node.items()]
            raise ClausewayError(
                Problem(
                    where,
                    f"{'/'.join(steps[:depth])} has no {step} ({node.place})",
                    one_of(known, 12) if known else "an existing name",
                    nearest(step, known) or "",
                )
            )
        node = inner
    return node


def _placed(node: Node, steps: Sequence[str], changed: Node | None) -> Node | None:
    if not steps:
        return changed
    entries = dict(node.items())
    inner = _placed(entries[steps[0]], steps[1:], changed)
    if inner is None:
        del entries[steps[0]]
    else:
        entries[steps[0]] = inner
    return replace(node, value=entries)
