"""Named values of provisions: quantities with their printed units, sets of listed values, texts."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from clauseway.language.possible import Choice, Interval, Text, Value
from clauseway.language.types import DATE, UNITS, NumberType, OptionsType, TextType, Type, dimension
from clauseway.model.provision import MEMORY, Basis, Change, Citation, Parameter, Reading
from clauseway.model.vocabulary import Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.quantity import Quantity, is_unit, parse_quantity
from clauseway.text.source import Node

_COUNTED = re.compile(r"\d+( [a-z]+)?")
"""A whole number with a noun: parameters that count say what they count."""

_SPECIAL = {MEMORY: Basis(MEMORY), "practice": Basis("practice")}


@dataclass(frozen=True)
class Sources:
    """The sources of a code: id -> (kind, title, where)."""

    entries: Mapping[str, Mapping[str, str]]

    def basis(self, node: Node | None, owner: Node) -> Basis:
        """How a thing is known; where nothing is said it is known from memory only.

        Raises:
            ClausewayError: for a source that the code does not list.
        """
        if node is None:
            return _SPECIAL[MEMORY]
        name = node.text or ""
        if name in _SPECIAL:
            return _SPECIAL[name]
        if name not in self.entries:
            known = [*self.entries, *_SPECIAL]
            raise ClausewayError(
                Problem(
                    node.place or owner.place,
                    f"no source {name or node.kind}",
                    one_of(known, 20),
                    nearest(name, known) or "",
                )
            )
        return Basis(self.entries[name].get("kind", "secondary"), name)


def lower_parameters(
    key: str, node: Node, parent: Citation, sources: Sources, vocabulary: Vocabulary
) -> tuple[Parameter, Type]:
    """A parameter with its type.

    Raises:
        ClausewayError: for a value that does not fit its unit or list, or a basis without a source.
    """
    item, section, basis = node.get("item"), node.get("section"), node.get("basis")
    citation = replace(
        parent,
        item=item.text or "" if item is not None else parent.item,
        section=section.text or parent.section if section is not None else parent.section,
        basis=sources.basis(basis, node) if basis is not None else parent.basis,
    )
    value_node = node.get("value")
    place = node.key_place or node.place
    if value_node is None:
        raise ClausewayError(Problem(place, f"the parameter {key} has no value", "value, or values by edition"))
    of = node.get("of")
    history = history_of(node)
    also = node.get("also")
    value: Value
    kind: Type
    if of is None:
        value, kind, form = number(value_node, node.get("unit"), also)
        printed = [value_node.text or ""] + ([also.text or ""] if also is not None else [])
        return Parameter(key, value, tuple(printed), form, citation, place, history), kind
    if of.text == "text":
        text = Text(value_node.text)
        return Parameter(key, text, (value_node.text or "",), "text", citation, place, history), TextType()
    if of.text == "date":
        day = _day(value_node)
        return Parameter(key, day, (value_node.text or "",), "date", citation, place, history), DATE
    listed = vocabulary.value_list(of.text or "")
    if listed is None:
        choices = [f for f in vocabulary.fact_names if (found := vocabulary.fact(f)) and found.values]
        raise ClausewayError(
            Problem(
                of.place,
                f"no value list {of.text}",
                "a list, or a choice fact",
                nearest(of.text or "", [*vocabulary.lists, *choices]) or "",
            )
        )
    options: set[str] = set()
    problems = []
    elements = list(value_node.elements()) if value_node.is_list else [value_node]
    for element in elements:
        if element.text is None or element.text not in listed.values:
            problems.append(
                Problem(
                    element.place,
                    f"{element.text or element.kind} is not a value of {listed.name}",
                    one_of(listed.values, 30),
                    nearest(element.text or "", listed.values) or "",
                )
            )
        else:
            options |= listed.expand(element.text)
    if problems:
        raise ClausewayError(problems)
    printed = [element.text or "" for element in elements]
    parameter = Parameter(
        key, Choice(frozenset(options)), tuple(printed), f"options:{listed.name}", citation, place, history
    )
    return parameter, OptionsType(listed.name)


def _day(node: Node) -> Interval:
    try:
        day = datetime.date.fromisoformat(node.text or "").toordinal()
    except ValueError:
        raise ClausewayError(Problem(node.place, f"{node.text or node.kind}", "a date such as 2002-07-01")) from None
    return Interval(day, day)


def number(node: Node, unit: Node | None, also: Node | None) -> tuple[Interval, NumberType, str]:
    """A printed quantity or count, `... per noun` included, with its type and its form.

    Raises:
        ClausewayError: when it cannot be read.
    """
    wanted = unit.text if unit is not None and unit.text in UNITS else None
    written = node.text or ""
    amount, _, _per = written.partition(" per ")
    quantity = _quantity(amount.strip(), wanted, node)
    second = None
    if also is not None:
        second = _quantity((also.text or "").partition(" per ")[0].strip(), quantity.dimension, also)
    noun = ""
    if quantity.dimension == "count":
        noun = amount.partition(" ")[2].strip() if not amount.strip().isdigit() else ""
        if unit is not None and unit.text not in UNITS:
            noun = unit.text or ""
    value = Interval(
        quantity.value,
        quantity.value,
        quantity.system,
        second.value if second else None,
        second.system if second else None,
    )
    form = f"count:{noun}" if quantity.dimension == "count" else f"quantity:{quantity.dimension}"
    return value, NumberType(dimension(quantity.dimension), noun), form


def _quantity(text: str, wanted: str | None, node: Node) -> Quantity:
    noun = text.partition(" ")[2]
    if wanted is None and noun and _COUNTED.fullmatch(text) and not is_unit(noun):
        return parse_quantity(text, "count")
    try:
        return parse_quantity(text, wanted)
    except ValueError as error:
        if wanted is None and _COUNTED.fullmatch(text):
            return parse_quantity(text, "count")
        raise ClausewayError(Problem(node.place, str(error), "a number with its unit")) from None


def readings_of(node: Node, sources: Sources) -> tuple[Reading, ...]:
    """The values that sources give where they differ, in the order of the file.

    Raises:
        ClausewayError: for a basis that is no source.
    """
    readings = node.get("readings")
    if readings is None:
        return ()
    return tuple(
        Reading(value, _text(inner, "says"), sources.basis(inner.get("basis"), inner))
        for value, inner in readings.items()
    )


def _text(node: Node, key: str) -> str:
    inner = node.get(key)
    return inner.text or "" if inner is not None else ""


_APART = frozenset(
    ("exceptions", "any_of", "all_of", "lines", "parameters", "conditions", "permitted", "examples", "rows")
)
"""What remembers its own changes."""


def history_of(node: Node) -> tuple[Change, ...]:
    """The amendments that made a node, or what stands in it, what it is; its named parts remember their own."""
    found: dict[Change, None] = {}
    _remember(node, found)
    return tuple(found)


def _remember(node: Node, found: dict[Change, None]) -> None:
    if node.history:
        found.update(dict.fromkeys(changes_of(node)))
    if isinstance(node.value, dict):
        for key, inner in node.value.items():
            if key not in _APART and (inner.history or not isinstance(inner.value, str)):
                _remember(inner, found)


def changes_of(node: Node) -> list[Change]:
    """The amendments that a node itself remembers."""
    return [change for change in node.history if isinstance(change, Change)]
