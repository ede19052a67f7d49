"""One door on the page of a report: its line, and what is told of it, in pieces that doors may have in common."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING, Any

from markupsafe import escape

from clauseway.answers.wording import place_in_words
from clauseway_reports.summary import Line, line_of
from clauseway_reports.words import FINDINGS, clause_of

if TYPE_CHECKING:
    from jinja2 import Environment, Template

OWN = "\x1f"
"""Stands for the name of the door itself in pieces that are written once for many."""
_CUT = "\x1e"
_SPACE = re.compile(r"[ \t\r\n]+")


@dataclass(frozen=True, slots=True)
class Shown:
    """A door: its line, and the pieces of HTML that tell of it, one behind the other, with `OWN` for its name."""

    line: Line
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Other:
    """What is not met or open of a room, a supply ...: sentence, verdict in words, id and page of each finding."""

    id: str
    findings: tuple[tuple[str, str, str, str], ...]


@cache
def environment() -> Environment:
    """Templates that escape all they are given, and know no name that is not given."""
    from jinja2 import Environment, StrictUndefined

    return Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)


@cache
def template(name: str) -> Template:
    """A template that lies beside this module."""
    return environment().from_string(files("clauseway_reports").joinpath(name).read_text(encoding="utf-8"))


def shown(door: Mapping[str, Any], site: str = "") -> Shown:
    """A door of a report; with `site`, the address of a built site, its findings link to their pages there."""
    text = template("door.html").render(
        door=_told(door),
        site=site.rstrip("/"),
        clause_of=clause_of,
        place_of=lambda finding: _place(door, finding),
        cut=_CUT,
    )
    text = text.replace(OWN, "").replace(str(escape(door["id"])) or OWN, OWN)
    pieces = (_SPACE.sub(" ", piece).strip(" ") for piece in text.split(_CUT))
    # The same text is one object for all doors that have it: it goes once from one process to another.
    return Shown(line_of(door), tuple(sys.intern(piece) for piece in pieces if piece))


def other(answer: Mapping[str, Any]) -> Other:
    """A room, a supply ... of a report."""
    return Other(
        answer["id"],
        tuple(
            (finding["says"], FINDINGS[finding["verdict"]], finding["id"], finding["page"])
            for finding in answer["findings"]
            if finding["verdict"] not in ("met", "not-applicable")
        ),
    )


def _told(door: Mapping[str, Any]) -> dict[str, Any]:
    def of(verdict: str) -> list[Mapping[str, Any]]:
        return [f for f in door["findings"] if f["verdict"] == verdict and f["of"] == "requirement"]

    asked: dict[str, str] = {}
    for finding in of("undetermined") + of("needs-approval"):
        for missing in finding["missing"]:
            asked.setdefault(missing["ask"], missing["fact"])
    return {
        "unmet": of("unmet"),
        "open": of("undetermined"),
        "approvals": of("needs-approval"),
        "asked": list(asked),
        "practice": [f for f in door["findings"] if f["of"] == "practice" and f["verdict"] == "unmet"],
        "lacks": [a for a in door["arrangements"] if a["claimed"] == "met" and a["verdict"] != "met"],
        "met": len(of("met")),
        "conflicts": door["conflicts"],
        "relies_on": door["relies_on"],
    }


def _place(door: Mapping[str, Any], finding: Mapping[str, Any]) -> str:
    """Where at the door a finding is: at its lock magnet; nothing where it is about the door as a whole."""
    path = finding["subject"]["id"]
    own = f"openings/{door['id']}"
    if path in (own, "building"):
        return ""
    return f" at {place_in_words(path).removeprefix(place_in_words(own)).removeprefix(', ')}"
