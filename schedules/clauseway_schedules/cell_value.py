"""What one cell says: the value of a fact as a file of openings takes it, or why it is not understood."""

from __future__ import annotations

import re
from dataclasses import dataclass

from clauseway.case.read_value import read_value
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.text.nearest import nearest
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data
from clauseway_schedules.mapping import Column
from clauseway_schedules.targets import Target

UNKNOWN = "unknown"
_OPEN = frozenset(("?", "tbd", "tbc", "tba", "unknown", "not known"))
_NOT_APPLICABLE = frozenset(("n/a", "na", "n.a.", "n. a.", "-", "--", "---", "\u2013", "\u2014", "none", "nil"))
_YES = {"yes": "true", "y": "true", "true": "true", "no": "false", "n": "false", "false": "false"}
_BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?(?:[ -][0-9]+/[0-9]+)?|[0-9]+/[0-9]+")
_BETWEEN = re.compile(r"\s*(?:[x\u00d7]|\bby\b)\s*", re.I)
_FEET_AND_INCHES = re.compile(r"^([0-9]+)\s*-\s*([0-9]+(?:\s+[0-9]+/[0-9]+)?)$")
_SHEET_NAME = re.compile(r"[^A-Za-z0-9_.-]+")


class CellTrouble(Exception):
    """A cell that is not understood: what it is, and what would be."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a cell says to one target: a text, a list of texts, or None for not known."""

    value: str | list[str] | None


def values_of(text: str, column: Column, targets: tuple[Target, ...], vocabulary: Vocabulary) -> tuple[Said, ...]:
    """What a cell that is not blank says to each target of its column.

    Raises:
        CellTrouble: when it is not understood.
    """
    words = dict(column.values)
    whole = words.get(text.casefold())
    if whole is None and len(targets) > 1:
        parts = _BETWEEN.split(text)
        if text.casefold() in _OPEN:
            parts = [UNKNOWN] * len(targets)
        if len(parts) != len(targets):
            raise CellTrouble(f"{len(parts)} values where the column leads to {len(targets)} facts")
    else:
        parts = [text] * len(targets)
    return tuple(
        _one(words.get(part.casefold(), part) if whole is None else whole, part, column, target, vocabulary)
        for part, target in zip(parts, targets, strict=True)
    )


def blank_value(column: Column, target: Target, vocabulary: Vocabulary) -> Said:
    """What a blank cell means where the person said that it means something.

    Raises:
        CellTrouble: when that is no value of the fact.
    """
    return _one(column.blank, column.blank, column, target, vocabulary)


def name_of(text: str) -> str:
    """A name for a file of openings from a mark or a room as typed: spaces and slashes become hyphens."""
    return _SHEET_NAME.sub("-", text).strip("-._")[:60]


def _one(text: str, typed: str, column: Column, target: Target, vocabulary: Vocabulary) -> Said:
    folded = text.casefold()
    if folded in _OPEN:
        return Said(None)
    mapped = text != typed
    if target.fact is None:
        name = text if target.reference is None and mapped else name_of(text)
        if folded in _NOT_APPLICABLE and not mapped:
            raise CellTrouble(_says_nothing(typed))
        if not name:
            raise CellTrouble("no name in it")
        if target.reference is None and name not in target.sets:
            near = nearest(name, target.sets)
            raise CellTrouble(f"the base has no set {name}" + (f"; did they mean {near}?" if near else ""))
        return Said(name)
    return Said(_checked(_as_value(text, typed, mapped, column, target.fact, vocabulary), target, vocabulary))


def _says_nothing(typed: str) -> str:
    return f"{typed} can mean several things: say in the mapping what it means here (values: {{{typed!r}: ...}})"


def _as_value(
    text: str, typed: str, mapped: bool, column: Column, fact: Fact, vocabulary: Vocabulary
) -> str | list[str]:
    folded = text.casefold()
    if fact.sort in ("yes-no", "approval"):
        if folded in _YES:
            return _YES[folded]
    elif fact.sort in ("choice", "choices"):
        leaves = vocabulary.lists[fact.values].leaves
        parts = [part.strip() for part in text.split(",")] if fact.sort == "choices" else [text]
        found = [_leaf(part, leaves) for part in parts]
        known = [leaf for leaf in found if leaf is not None]
        if len(known) == len(parts):
            return known if fact.sort == "choices" else known[0]
        if mapped and text == "none":
            return "none"
        if folded not in _NOT_APPLICABLE:
            wrong = parts[found.index(None)]
            near = nearest(wrong, leaves)
            raise CellTrouble(f"{wrong} is no {fact.name}" + (f"; did they mean {near}?" if near else ""))
    elif fact.sort in ("quantity", "count"):
        if _BARE.fullmatch(text) and fact.sort == "quantity":
            if not column.unit:
                raise CellTrouble(f"{text} without a unit; say in the mapping which unit bare numbers have")
            return f"{text} {column.unit}"
        dashed = _FEET_AND_INCHES.fullmatch(text)
        if dashed and column.unit == "ft-in":
            return f"{dashed[1]}'-{dashed[2]}\""
    if folded in _NOT_APPLICABLE and not mapped:
        raise CellTrouble(_says_nothing(typed))
    return text


def _leaf(text: str, leaves: frozenset[str]) -> str | None:
    """The listed word that a text is, but for case, spaces and hyphens; nothing that only looks like it."""
    folded = "".join(text.casefold().replace("-", " ").split())
    return next((leaf for leaf in sorted(leaves) if "".join(leaf.replace("-", " ").split()).casefold() == folded), None)


def _checked(value: str | list[str], target: Target, vocabulary: Vocabulary) -> str | list[str]:
    assert target.fact is not None
    try:
        read_value(node_from_data(value, ""), target.fact, f"{target.kind}.{target.fact.name}", vocabulary)
    except ClausewayError as error:
        problem = error.problems[0]
        raise CellTrouble(problem.found + (f"; expected {problem.expected}" if problem.expected else "")) from None
    return value
