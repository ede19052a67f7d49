"""What several commands share: their options, a date, the rulebook that a file of openings asks for."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem

if TYPE_CHECKING:
    from clauseway.law.library import Library
    from clauseway.law.rulebook import Rulebook
    from clauseway.text.source import Node

NEWEST = "ibc@2021"

Codes = Annotated[
    list[str] | None, typer.Option("--code", help="A code and edition, such as ibc@2021; may be repeated.")
]
Rules = Annotated[
    list[Path] | None, typer.Option("--rules", help="A folder of your own rules, on top of the shipped ones.")
]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="A layer of amendments by name; may be repeated, applied in order.")
]
Strict = Annotated[bool, typer.Option("--strict", help="Decide nothing that rests on memory: all of it is open.")]
Memory = Annotated[bool, typer.Option("--accept-memory", help="Let permissions excuse that nobody has verified.")]


def day(written: str) -> str:
    """A date as ISO text, or nothing.

    Raises:
        ClausewayError: for anything else.
    """
    try:
        return date.fromisoformat(written).isoformat() if written else ""
    except ValueError:
        raise ClausewayError(Problem(NOWHERE, f"--on {written}", "a date such as 2026-05-01")) from None


def library_of(rules: list[Path] | None) -> Library:
    """The shipped rules with a person's own folders."""
    from clauseway.law.library import load

    return load(tuple(rules or ()))


def rulebook_for(node: Node, code: list[str] | None, library: Library, layer: list[str] | None) -> Rulebook:
    """The rulebook that the command names, or else the file of openings itself.

    Raises:
        ClausewayError: when neither names a code, or a named one does not exist.
    """
    from clauseway.case.open import codes_named_in
    from clauseway.law.resolve import parse_code, resolve

    named = codes_named_in(node)
    if not code:
        for element in named:
            parse_code(element.text or "", library, element.place)
    codes = code or [element.text or "" for element in named]
    if not codes:
        known = ", ".join(f"{name}@{found.editions[-1]}" for name, found in library.codes.items() if not found.always)
        raise ClausewayError(
            Problem(node.place, "it is not said which code governs", f"--code, or codes: in the file; such as {known}")
        )
    return resolve(library, codes, layer or ())


def rulebook_named(code: list[str] | None, rules: list[Path] | None, layer: list[str] | None) -> Rulebook:
    """The rulebook of the codes that a command names, or of the newest one."""
    from clauseway.law.resolve import resolve

    return resolve(library_of(rules), code or [NEWEST], layer or ())
