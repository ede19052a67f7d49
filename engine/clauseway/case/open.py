"""Opening a file of openings, or the demo that ships with the rules."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.law.folders import shipped_rules
from clauseway.law.jurisdictions import is_date, text, texts
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import PROJECT_DATES, TODAY
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node, node_from_data, parse_yaml, read_yaml

DEMO = "demo"


def openings_path(path: str | Path) -> Path:
    """Where a file of openings lies; `demo` means the shipped one."""
    return shipped_rules() / "demo" / "harbour-hall.yaml" if str(path) == DEMO else Path(path)


def read_openings(path: str | Path) -> Node:
    """What stands in a file of openings; `demo` means the shipped one.

    Raises:
        ClausewayError: for a file that cannot be read.
    """
    return read_yaml(openings_path(path), name=str(path))


def codes_named_in(node: Node) -> list[Node]:
    """The codes that a file of openings names for itself, each with its place."""
    codes = node.get("codes")
    if codes is None or codes.value is None:
        return []
    return list(codes.elements()) if codes.is_list else [codes]


@dataclass(frozen=True)
class Named:
    """What a file of openings says of its law: the jurisdiction, dates, site and authorities."""

    jurisdiction: str
    place: Place
    dates: Mapping[str, str]
    site: str
    authorities: tuple[str, ...]


def law_named_in(node: Node) -> Named:
    """What a file of openings says of its law.

    Raises:
        ClausewayError: for codes beside a jurisdiction, and a date that is none.
    """
    inner, dates = node.get("in"), node.get("dates")
    problems = []
    codes = codes_named_in(node)
    if inner is not None and codes:
        problems.append(Problem(codes[0].place, "codes and in together", "one of them: in says which codes govern"))
    found: dict[str, str] = {}
    known = [name for name in PROJECT_DATES if name != TODAY]
    for name, day in dates.items() if dates is not None else ():
        if name not in known:
            place = day.key_place or day.place
            problems.append(Problem(place, f"no date {name}", one_of(known), nearest(name, known) or ""))
        elif not is_date(day.text or ""):
            problems.append(Problem(day.place, f"{name} {day.text}", "a day of the calendar, such as 2024-05-01"))
        found[name] = day.text or ""
    if problems:
        raise ClausewayError(problems)
    return Named(
        inner.text or "" if inner is not None else "",
        (inner or node).place,
        found,
        text(node, "site"),
        tuple(each.text or "" for each in texts(node, "authorities")),
    )


def open_project(path: str | Path, rulebook: Rulebook) -> Project:
    """The project in a file, read against a rulebook's vocabulary.

    Raises:
        ClausewayError: with everything that is wrong with the file.
    """
    return read_project(read_openings(path), rulebook.vocabulary)


def project_from_text(text: str, rulebook: Rulebook, name: str = "openings.yaml") -> Project:
    """The project in the text of a file of openings, YAML or JSON; places call it `name`.

    Raises:
        ClausewayError: with everything that is wrong with the text.
    """
    return read_project(parse_yaml(text, name), rulebook.vocabulary)


def project_from_data(data: object, rulebook: Rulebook, name: str = "data") -> Project:
    """The project in plain Python data; standard library only.

    Raises:
        ClausewayError: with everything that is wrong with the data.
    """
    return read_project(node_from_data(data, name), rulebook.vocabulary)
