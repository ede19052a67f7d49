"""Opening a file of openings, or the demo that ships with the rules."""

from __future__ import annotations

from pathlib import Path

from clauseway.case.project import read_project
from clauseway.case.things import Project
from clauseway.law.folders import shipped_rules
from clauseway.law.rulebook import Rulebook
from clauseway.text.source import Node, node_from_data, read_yaml

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


def open_project(path: str | Path, rulebook: Rulebook) -> Project:
    """The project in a file, read against a rulebook's vocabulary.

    Raises:
        ClausewayError: with everything that is wrong with the file.
    """
    return read_project(read_openings(path), rulebook.vocabulary)


def project_from_data(data: object, rulebook: Rulebook, name: str = "data") -> Project:
    """The project in plain Python data; standard library only.

    Raises:
        ClausewayError: with everything that is wrong with the data.
    """
    return read_project(node_from_data(data, name), rulebook.vocabulary)
