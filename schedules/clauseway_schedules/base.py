"""The file of openings that says what the sheets do not: codes, the building, sets, supplies."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from clauseway.text.problems import ClausewayError, Problem
from clauseway.text.source import Node, read_yaml
from clauseway_schedules.mapping import Mapping


def read_base(mapping: Mapping, mapping_path: Path, node: Node) -> dict[str, Any]:
    """The base of a mapping as data, empty where it names none; its name counts from the mapping's folder.

    Raises:
        ClausewayError: for a base outside that folder, or one that cannot be read.
    """
    if not mapping.base:
        return {}
    place = (node.get("base") or node).place
    folder = mapping_path.parent.resolve()
    path = (folder / mapping.base).resolve()
    if not path.is_relative_to(folder):
        raise ClausewayError(
            Problem(place, f"base: {mapping.base[:80]}", "a file in the folder of the mapping or below")
        )
    plain = read_yaml(path, name=mapping.base).plain()
    if not isinstance(plain, dict):
        raise ClausewayError(
            Problem(place, f"base: {mapping.base[:80]} is no file of openings", "a map with building, sets")
        )
    return plain
