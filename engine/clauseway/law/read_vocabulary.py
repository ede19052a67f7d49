"""From the files of rules/facts to the vocabulary; shapes were checked before, meanings are checked here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from clauseway.language.types import UNITS
from clauseway.model.vocabulary import (
    INVERSE,
    KEYED,
    MANY,
    ONE,
    OWNS,
    Fact,
    Kind,
    Listed,
    Measured,
    Relation,
    ValueList,
    Vocabulary,
)
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.quantity import parse_quantity
from clauseway.text.source import Node

SORTS = ("yes-no", "choice", "choices", "quantity", "count", "text", "date", "approval")


def read_vocabulary(lists: Iterable[Node], kinds: Iterable[Node]) -> Vocabulary:
    """The vocabulary made of value lists and kinds of things.

    Raises:
        ClausewayError: naming every unknown kind, list, unit or broader value, and every name declared twice.
    """
    problems: list[Problem] = []
    value_lists: dict[str, ValueList] = {}
    for node in lists:
        for name, declared in _items(node, "lists"):
            value_lists[name] = _value_list(name, declared, problems)
    found: dict[str, Kind] = {}
    for node in kinds:
        kind = _kind(node, value_lists, problems)
        if kind.name in found:
            problems.append(Problem(kind.place, f"the kind {kind.name} is declared twice", "one file for each kind"))
        found[kind.name] = kind
    _check_links(found, value_lists, problems)
    if problems:
        raise ClausewayError(problems)
    return Vocabulary(found, value_lists)


def _items(node: Node, key: str) -> Iterable[tuple[str, Node]]:
    inner = node.get(key)
    return inner.items() if inner is not None else ()


def _text(node: Node, key: str, default: str = "") -> str:
    inner = node.get(key)
    return inner.text or default if inner is not None else default


def _value_list(name: str, node: Node, problems: list[Problem]) -> ValueList:
    values = node.get("values") or node
    listed: dict[str, Listed] = {}
    for value, declared in values.items():
        if declared.is_map:
            listed[value] = Listed(_text(declared, "about"), _text(declared, "within"), _text(declared, "phase"))
        else:
            listed[value] = Listed(declared.text or "")
    for value, declared in values.items():
        within = listed[value].within
        if within and within not in listed:
            problems.append(
                Problem(
                    declared.place,
                    f"{value} is within {within}, which {name} does not list",
                    "a listed value",
                    nearest(within, listed) or "",
                )
            )
            listed[value] = Listed(listed[value].about)
    for value in listed:
        seen, at = {value}, listed[value].within
        while at and at not in seen:
            seen.add(at)
            at = listed[at].within
        if at:
            problems.append(Problem(values.place, f"{value} is within itself: {name}", "a tree of values"))
            listed[value] = Listed(listed[value].about)
    return ValueList(name, listed, _text(node, "about"))


def _kind(node: Node, lists: dict[str, ValueList], problems: list[Problem]) -> Kind:
    name = _text(node, "thing")
    relations = {key: _relation(key, inner) for key, inner in _items(node, "relations")}
    facts = {key: _fact(name, key, inner, lists, problems) for key, inner in _items(node, "facts")}
    for key in facts.keys() & relations.keys():
        problems.append(Problem(node.place, f"{name}.{key} is both a fact and a relation", "one of them"))
    return Kind(
        name,
        _text(node, "title", name),
        _text(node, "plural", name + "s"),
        _text(node, "about"),
        _text(node, "within"),
        relations,
        facts,
        node.place,
        _text(node, "adding"),
    )


def _relation(name: str, node: Node) -> Relation:
    about, ask, by = _text(node, "about"), _text(node, "ask"), _text(node, "by")
    most = int(_text(node, "most", "0"))
    for form in (OWNS, ONE, MANY, KEYED):
        if node.get(form) is not None:
            return Relation(name, form, _text(node, form), by, most, about, ask)
    kind, _, relation = _text(node, INVERSE).partition(".")
    return Relation(name, INVERSE, kind, relation, most, about, ask)


def _bound(text: str, unit: str, node: Node, problems: list[Problem], infinite: float) -> float:
    if text == "none":
        return infinite
    try:
        return parse_quantity(text, unit).value
    except ValueError as error:
        problems.append(Problem(node.place, str(error), "a bound of the range, or none"))
        return infinite


def _fact(kind: str, name: str, node: Node, lists: dict[str, ValueList], problems: list[Problem]) -> Fact:
    sort, unit, noun, values = _text(node, "is"), _text(node, "unit"), _text(node, "noun"), ""
    low, high = -math.inf, math.inf
    if sort not in SORTS:
        problems.append(
            Problem(node.place, f"{kind}.{name} is {sort or 'nothing'}", one_of(SORTS), nearest(sort, SORTS) or "")
        )
    if sort == "quantity" and unit not in UNITS:
        problems.append(
            Problem(
                node.place,
                f"{kind}.{name} has the unit {unit or 'none'}",
                one_of(UNITS, 30),
                nearest(unit, UNITS) or "",
            )
        )
        sort, unit = "text", ""
    if sort in ("quantity", "count"):
        bounds = node.get("range")
        texts = [element.text or "" for element in bounds.elements()] if bounds is not None else []
        if bounds is None or len(texts) != 2:
            problems.append(Problem(node.place, f"{kind}.{name} has no range", "range: [lowest, highest]"))
        else:
            low = _bound(texts[0], unit or "count", bounds, problems, -math.inf)
            high = _bound(texts[1], unit or "count", bounds, problems, math.inf)
    if sort in ("choice", "choices"):
        declared = node.get("values")
        if declared is None:
            problems.append(Problem(node.place, f"{kind}.{name} lists no values", "values, or the name of a list"))
            sort = "text"
        elif declared.is_map:
            values = f"{kind}.{name}"
            lists[values] = _value_list(values, declared, problems)
        elif (declared.text or "") in lists:
            values = declared.text or ""
        else:
            problems.append(
                Problem(
                    declared.place,
                    f"no value list {declared.text}",
                    one_of(sorted(lists)),
                    nearest(declared.text or "", lists) or "",
                )
            )
            sort = "text"
    return Fact(
        name,
        sort,
        _text(node, "about"),
        _text(node, "ask"),
        node.key_place or node.place,
        unit,
        noun,
        low,
        high,
        values,
        _text(node, "from", "given"),
        _text(node, "effort"),
        _text(node, "when_absent"),
        _measured(f"{kind}.{name}", node.get("measured"), unit, problems),
        _text(node, "phase"),
    )


def _measured(dotted: str, node: Node | None, unit: str, problems: list[Problem]) -> Measured | None:
    if node is None:
        return None
    to = _text(node, "to")
    if to and not unit:
        problems.append(Problem(node.place, f"{dotted} is no quantity, so it is not read to {to}", "no key to"))
    elif to:
        _bound(to, unit, node, problems, 0.0)
    return Measured(_text(node, "with"), _text(node, "how"), to, _text(node, "again") == "true")


def _check_links(kinds: Mapping[str, Kind], lists: Mapping[str, ValueList], problems: list[Problem]) -> None:
    for kind in kinds.values():
        if kind.within and kind.within not in kinds:
            problems.append(
                Problem(
                    kind.place,
                    f"{kind.name} is within {kind.within}, which is no kind of thing",
                    one_of(sorted(kinds), 20),
                    nearest(kind.within, kinds) or "",
                )
            )
        for relation in kind.relations.values():
            where = f"{kind.name}.{relation.name}"
            if relation.kind not in kinds:
                problems.append(
                    Problem(
                        kind.place,
                        f"{where} leads to {relation.kind}, which is no kind of thing",
                        one_of(sorted(kinds), 20),
                        nearest(relation.kind, kinds) or "",
                    )
                )
            elif relation.form == KEYED and relation.by not in kinds and relation.by not in lists:
                problems.append(
                    Problem(
                        kind.place,
                        f"{where} is keyed by {relation.by}",
                        "a kind or a value list",
                        nearest(relation.by, [*kinds, *lists]) or "",
                    )
                )
            elif relation.form == INVERSE and relation.by not in kinds[relation.kind].relations:
                problems.append(
                    Problem(
                        kind.place,
                        f"{where} is the inverse of {relation.kind}.{relation.by}",
                        "a relation of that kind",
                        nearest(relation.by, kinds[relation.kind].relations) or "",
                    )
                )
        for fact in kind.facts.values():
            if fact.when_absent and fact.sort == "choice" and fact.when_absent not in lists[fact.values].leaves:
                problems.append(
                    Problem(
                        fact.place, f"{kind.name}.{fact.name} is {fact.when_absent} when absent", "one of its values"
                    )
                )
