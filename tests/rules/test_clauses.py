"""The lists of what a code holds beyond its provisions: they speak of its editions, sources and provisions."""

from __future__ import annotations

from pathlib import Path

import pytest

from clauseway.law.folders import shipped_rules
from clauseway.law.library import load
from clauseway.text.source import Node, read_yaml

LISTS = sorted(shipped_rules().glob("codes/*/clauses.yaml"))
UNREAD = {"memory", "practice"}


def keys(node: Node | None) -> set[str]:
    assert node is not None
    return {key for key, _ in node.items()}


def text(node: Node, key: str) -> str:
    found = node.get(key)
    assert found is not None, f"{node.place}: no {key}"
    assert found.text, f"{node.place}: {key} is empty"
    return found.text


@pytest.mark.parametrize("path", LISTS, ids=lambda path: path.parent.name)
def test_a_list_of_clauses_fits_its_code(path: Path) -> None:
    node = read_yaml(path)
    code = load().codes[path.parent.name]
    sources = keys(read_yaml(path.with_name("sources.yaml")).get("sources")) | UNREAD
    assert text(node, "code") == code.id
    assert keys(node.get("covers")) <= set(code.editions)
    clauses = node.get("clauses")
    assert clauses is not None
    for name, clause in clauses.items():
        sections, basis = clause.get("sections"), clause.get("section_basis")
        assert sections is not None
        assert basis is not None
        assert keys(sections) <= set(code.editions), name
        if basis.is_map:
            assert keys(basis) == keys(sections), name
        given = [value for _, value in basis.items()] if basis.is_map else [basis]
        assert {value.text for value in given} <= sources, name
        standing = text(clause, "standing")
        assert name not in code.provisions or standing in ("partly", "encoded"), f"{name}: {standing}, yet a provision"
