"""What several commands ask for: a date, the law, the rulebook that a file of openings names. Needs no command line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from clauseway.text.problems import NOWHERE, ClausewayError, Problem

if TYPE_CHECKING:
    from clauseway.answers import asked_law
    from clauseway.answers.governing import Governing
    from clauseway.law.library import Library
    from clauseway.law.rulebook import Rulebook
    from clauseway.law.shelf import Shelf
    from clauseway.text.source import Node

NEWEST = "ibc@2021"


def known_site(site: str) -> None:
    """Refuse an address of a site that a browser would run.

    Raises:
        ClausewayError: for one that is neither a folder nor a web address.
    """
    from urllib.parse import urlsplit

    if urlsplit(site).scheme not in ("", "http", "https", "file"):
        raise ClausewayError(Problem(NOWHERE, f"--site {site}", "a folder, or an address that begins with https://"))


@dataclass(frozen=True)
class Where:
    """What a command says of the law by place and date."""

    jurisdiction: str = ""
    on: str = ""
    known: str = ""
    choose: str = ""
    authorities: tuple[str, ...] = ()


def day(written: str, option: str = "--on") -> str:
    """A date as ISO text, or nothing.

    Raises:
        ClausewayError: for anything else.
    """
    try:
        return date.fromisoformat(written).isoformat() if written else ""
    except ValueError:
        raise ClausewayError(Problem(NOWHERE, f"{option} {written}", "a date such as 2026-05-01")) from None


def shelf_of(rules: list[Path] | None) -> Shelf:
    """The shipped rules with a person's own folders, read only where no kept rulebook will do."""
    from clauseway.law.cache import cache_folder
    from clauseway.law.shelf import Shelf

    return Shelf(tuple(rules or ()), cache_folder())


def library_of(rules: list[Path] | None) -> Library:
    """The shipped rules with a person's own folders."""
    from clauseway.law.library import load

    return load(tuple(rules or ()))


def governing_for(
    node: Node, code: list[str] | None, shelf: Shelf, where: Where, layer: list[str] | None = None
) -> tuple[Governing, ...]:
    """The readings of the law of a place, where the command or the file names one and no codes; else nothing.

    Raises:
        ClausewayError: for a place beside codes, and all that is wrong with the place or its law.
    """
    if not _by_place(node, code, where):
        return ()
    from clauseway.answers.asked_law import place_asked
    from clauseway.answers.governing import kept_governing

    found = place_asked(node, code or (), _as_options(where))
    return kept_governing(shelf, found.name, found.asked, layer or (), found.place) if found is not None else ()


def rulebook_for(
    node: Node, code: list[str] | None, shelf: Shelf, layer: list[str] | None, where: Where | None = None
) -> Rulebook:
    """The rulebook that the command names, or else the file of openings itself.

    Raises:
        ClausewayError: when neither names a code or a place, a named one does not exist, or the law of the place may be
            read in several ways.
    """
    where = where or Where()
    found = governing_for(node, code, shelf, where, layer)
    if found:
        from clauseway.answers.governing import the_only

        return the_only(found, where.choose).rulebook
    codes = _codes(node, code)
    kept = shelf.found(codes, layer or (), where.on) if codes else None
    if kept is not None:
        return kept
    from clauseway.answers import asked_law

    rulebook = asked_law.rulebook_for(node, code or (), shelf.library, layer or (), _as_options(where))
    if codes:
        shelf.keep(codes, layer or (), where.on, rulebook)
    return rulebook


def _codes(node: Node, code: list[str] | None) -> list[str]:
    from clauseway.case.open import codes_named_in

    return code or [element.text or "" for element in codes_named_in(node)]


def _by_place(node: Node, code: list[str] | None, where: Where) -> bool:
    """Whether the law is asked for by place, or something is said that goes with a place only."""
    from clauseway.case.open import law_named_in

    named = law_named_in(node)
    said = where.jurisdiction or where.known or where.choose or where.authorities
    return bool(said) or (not code and bool(named.jurisdiction))


def _as_options(where: Where) -> asked_law.Where:
    from clauseway.answers import asked_law

    return asked_law.Where(where.jurisdiction, where.on, where.known, where.choose, where.authorities, "--")


def rulebook_named(
    code: list[str] | None, rules: list[Path] | None, layer: list[str] | None, where: Where | None = None
) -> Rulebook:
    """The rulebook of the codes or of the place that a command names, or of the newest code."""
    where = where or Where()
    shelf = shelf_of(rules)
    if not where.jurisdiction:
        return shelf.rulebook(code or [NEWEST], layer or (), where.on)
    from clauseway.answers.governing import the_only
    from clauseway.text.source import node_from_data

    found = governing_for(node_from_data({}, "the command"), code, shelf, where, layer)
    return the_only(found, where.choose).rulebook
