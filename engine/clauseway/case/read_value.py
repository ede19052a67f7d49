"""Reading one value of a fact as a person typed it."""

from __future__ import annotations

import datetime
import math

from clauseway.case.things import Given
from clauseway.language.possible import Choice, Choices, Interval, Text, Value
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.quantity import QuantityError, parse_quantity
from clauseway.text.source import Node

KNOWN_BY = ("measured", "stated", "assumed")
_FORMS = ("value", "at_least", "at_most", "one_of", "known_by", "note", "other", "by", "evidence")


def read_value(node: Node, fact: Fact, dotted: str, vocabulary: Vocabulary) -> Given | None:
    """What was stated, or None where nothing was (blank, `unknown`, or something outside the vocabulary).

    Raises:
        ClausewayError: for a value that the fact cannot have.
    """
    if node.value is None or node.text == "unknown":
        return None
    if not node.is_map:
        return Given(_plain(node, fact, dotted, vocabulary), _typed(node), node.place)
    entries = dict(node.items())
    for key, inner in entries.items():
        if key not in _FORMS:
            raise ClausewayError(
                Problem(
                    inner.key_place or inner.place,
                    f"{dotted} has no {key}",
                    one_of(_FORMS, 20),
                    nearest(key, _FORMS) or "",
                )
            )
    known = entries.get("known_by")
    known_by = known.text or "" if known is not None else "stated"
    if known_by not in KNOWN_BY:
        raise ClausewayError(
            Problem(
                known.place if known else node.place,
                f"known_by {known_by or 'nothing'}",
                one_of(KNOWN_BY),
                nearest(known_by, KNOWN_BY) or "",
            )
        )
    note = entries.get("note")
    if "other" in entries:
        return None
    value = _ranged(node, entries, fact, dotted, vocabulary)
    if value is None and fact.sort not in ("yes-no", "approval"):
        return None
    return Given(value, _typed_map(entries), node.place, known_by, note.text or "" if note is not None else "")


def _typed(node: Node) -> str:
    if node.is_list:
        return ", ".join(element.text or "" for element in node.elements())
    return node.text or ""


def _typed_map(entries: dict[str, Node]) -> str:
    if "value" in entries:
        return _typed(entries["value"])
    words = {"at_least": "at least", "at_most": "at most", "one_of": "one of"}
    return " and ".join(f"{words[key]} {_typed(entries[key])}" for key in words if key in entries)


def _ranged(node: Node, entries: dict[str, Node], fact: Fact, dotted: str, vocabulary: Vocabulary) -> Value:
    if "value" in entries:
        inner = entries["value"]
        if inner.value is None or inner.text == "unknown":
            return None
        return _plain(inner, fact, dotted, vocabulary)
    if "one_of" in entries:
        if fact.sort != "choice":
            raise ClausewayError(
                Problem(entries["one_of"].place, f"{dotted} is no choice", "at_least or at_most, or a value")
            )
        found = [_plain(element, fact, dotted, vocabulary) for element in entries["one_of"].elements()]
        options: frozenset[str] = frozenset().union(*(value.options for value in found if isinstance(value, Choice)))
        if not options:
            raise ClausewayError(Problem(entries["one_of"].place, "one_of nothing", "at least one value"))
        return Choice(options)
    if not ("at_least" in entries or "at_most" in entries):
        raise ClausewayError(Problem(node.place, f"{dotted} has no value", "value, at_least, at_most or one_of"))
    if fact.sort == "choices" and "at_least" in entries and "at_most" not in entries:
        sure = _plain(entries["at_least"], fact, dotted, vocabulary)
        assert isinstance(sure, Choices)
        return Choices(sure.sure, vocabulary.lists[fact.values].leaves)
    if fact.sort not in ("quantity", "count"):
        raise ClausewayError(Problem(node.place, f"a range for {dotted}", "a range only of quantities and counts"))
    low, high = fact.low, fact.high
    if "at_least" in entries:
        value = _plain(entries["at_least"], fact, dotted, vocabulary)
        assert isinstance(value, Interval)
        low = value.low
    if "at_most" in entries:
        value = _plain(entries["at_most"], fact, dotted, vocabulary)
        assert isinstance(value, Interval)
        high = value.high
    if low > high:
        raise ClausewayError(
            Problem(node.place, f"{dotted} is at least more than it is at most", "a range that holds a value")
        )
    return Interval(low, high)


def _plain(node: Node, fact: Fact, dotted: str, vocabulary: Vocabulary) -> Value:
    if fact.sort == "choices":
        elements = list(node.elements()) if node.is_list else [node]
        if node.text == "none":
            return Choices(frozenset(), frozenset())
        found = [_choice(element, fact, dotted, vocabulary) for element in elements]
        options: frozenset[str] = frozenset().union(*(value.options for value in found))
        return Choices(options, options)
    if node.text is None:
        raise ClausewayError(Problem(node.place, f"{node.kind} for {dotted}", _expected(fact, vocabulary)))
    if fact.sort in ("yes-no", "approval"):
        if node.text not in ("true", "false"):
            near = "true" if node.text.casefold() in ("yes", "y", "on", "granted") else "false"
            known = node.text.casefold() in ("yes", "no", "y", "n", "on", "off", "granted", "refused")
            raise ClausewayError(
                Problem(node.place, f"{node.text} for {dotted}", "true or false", near if known else "")
            )
        return node.text == "true"
    if fact.sort == "choice":
        return _choice(node, fact, dotted, vocabulary)
    if fact.sort == "text":
        return Text(node.text)
    if fact.sort == "date":
        return _date(node, dotted)
    return _number(node, fact, dotted)


def _expected(fact: Fact, vocabulary: Vocabulary) -> str:
    if fact.sort in ("choice", "choices"):
        return one_of(vocabulary.lists[fact.values].values, 12)
    if fact.sort in ("yes-no", "approval"):
        return "true or false"
    return {"quantity": f"a {fact.unit} with its unit", "count": f"a number of {fact.noun}"}.get(fact.sort, "a text")


def _choice(node: Node, fact: Fact, dotted: str, vocabulary: Vocabulary) -> Choice:
    listed = vocabulary.lists[fact.values]
    text = node.text or ""
    if text not in listed.values:
        raise ClausewayError(
            Problem(
                node.place,
                f"{text or node.kind} is not a value of {dotted}",
                one_of(listed.values, 12),
                nearest(text, listed.values) or "",
            )
        )
    return Choice(listed.expand(text))


def _date(node: Node, dotted: str) -> Interval:
    try:
        day = datetime.date.fromisoformat(node.text or "").toordinal()
    except ValueError:
        raise ClausewayError(Problem(node.place, f"{node.text} for {dotted}", "a date such as 2024-05-01")) from None
    return Interval(day, day)


def _number(node: Node, fact: Fact, dotted: str) -> Interval:
    text = node.text or ""
    try:
        quantity = parse_quantity(text, fact.unit if fact.sort == "quantity" else "count")
    except QuantityError as error:
        raise ClausewayError(Problem(node.place, f"{dotted}: {error.found}", error.expected, error.nearest)) from None
    value = quantity.value
    if not fact.low <= value <= fact.high or (fact.sort == "count" and value != math.floor(value)):
        raise ClausewayError(
            Problem(node.place, f"{text} for {dotted} is outside of what it can be", _expected(fact, _NO_LISTS))
        )
    return Interval(value, value, quantity.system)


_NO_LISTS = Vocabulary({}, {})
