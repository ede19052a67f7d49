"""Whose law governs a file of openings: what is asked for on top of the file, else what the file itself names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clauseway.answers.governing import Governing, governing, the_only
from clauseway.case.open import codes_named_in, law_named_in
from clauseway.law.adoption import Asked
from clauseway.law.laying import Terms
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import TODAY
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node

if TYPE_CHECKING:
    from clauseway.law.library import Library


@dataclass(frozen=True)
class Where:
    """What somebody asks of the law by place and date; dates are ISO text, and empty means nothing is said.

    `mark` stands before the names of these in messages, as `--` does on a command line.
    """

    jurisdiction: str = ""
    on: str = ""
    known: str = ""
    choose: str = ""
    authorities: tuple[str, ...] = ()
    mark: str = ""


def governing_for(
    node: Node, codes: Sequence[str], library: Library, where: Where, layers: Sequence[str] = ()
) -> tuple[Governing, ...]:
    """The readings of the law of a place, where one is asked for or the file names one, and no codes; else nothing.

    Raises:
        ClausewayError: for a place beside codes, and all that is wrong with the place or its law.
    """
    found = place_asked(node, codes, where)
    return governing(library, found.name, found.asked, layers, place=found.place) if found is not None else ()


@dataclass(frozen=True)
class PlaceAsked:
    """The place whose law governs, what is asked of it, and where it is named."""

    name: str
    asked: Asked
    place: Place


def place_asked(node: Node, codes: Sequence[str], where: Where) -> PlaceAsked | None:
    """The place whose law is asked for, or that a file names; none where it is codes.

    Raises:
        ClausewayError: for a place beside codes, and for what goes with a place only.
    """
    named = law_named_in(node)
    mark = where.mark
    if where.jurisdiction and codes:
        found = f"{mark}in and {mark}code together"
        raise ClausewayError(Problem(NOWHERE, found, f"one of them: {mark}in says which codes govern"))
    name = where.jurisdiction or ("" if codes else named.jurisdiction)
    if not name:
        for option, said in (("known", where.known), ("choose", where.choose), ("authority", where.authorities)):
            if said:
                found = f"{mark}{option} without a jurisdiction"
                raise ClausewayError(Problem(NOWHERE, found, f"{mark}in, such as US-CA"))
        return None
    dates = {**named.dates, **({TODAY: where.on} if where.on else {})}
    asked = Asked(dates, where.known, where.choose, where.authorities or named.authorities, named.site)
    return PlaceAsked(name, asked, NOWHERE if where.jurisdiction else named.place)


def rulebook_for(
    node: Node, codes: Sequence[str], library: Library, layers: Sequence[str] = (), where: Where | None = None
) -> Rulebook:
    """The rulebook that is asked for, or else that of the file of openings itself.

    Raises:
        ClausewayError: when neither names a code or a place, a named one does not exist, or the law of the place may be
            read in several ways.
    """
    where = where or Where()
    found = governing_for(node, codes, library, where, layers)
    if found:
        return the_only(found, where.choose).rulebook
    from clauseway.law.resolve import parse_code, resolve

    named = codes_named_in(node)
    if not codes:
        for element in named:
            parse_code(element.text or "", library, element.place)
    codes = codes or [element.text or "" for element in named]
    if not codes:
        known = ", ".join(f"{name}@{found.editions[-1]}" for name, found in library.codes.items() if not found.always)
        expected = f"{where.mark}code, or codes: in the file; such as {known}"
        raise ClausewayError(Problem(node.place, "it is not said which code governs", expected))
    return resolve(library, codes, layers, Terms({TODAY: where.on} if where.on else {}))
