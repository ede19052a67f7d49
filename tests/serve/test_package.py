"""The server's package: it knows the engine, not the command line, and nothing of the engine knows it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import clauseway
import clauseway_serve

SERVE = Path(clauseway_serve.__file__).parent
ENGINE = Path(clauseway.__file__).parent
MODULES = sorted(SERVE.rglob("*.py"))


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_module_is_small_says_what_it_is_and_knows_no_command(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert ast.get_docstring(ast.parse(text))
    assert len(text.splitlines()) <= 400
    assert not [name for name in imported(path) if name.startswith("clauseway_cli")]


def test_the_engine_does_not_know_the_server() -> None:
    assert [p for p in ENGINE.rglob("*.py") for name in imported(p) if name.startswith("clauseway_serve")] == []


def test_the_process_that_listens_loads_no_rules() -> None:
    """What decides is loaded by workers alone."""
    deciding = ("clauseway.answers", "clauseway.readers", "clauseway.design", "clauseway.law.library")
    for name in ("app", "guard", "pool", "run", "settings", "endpoints", "openapi", "parameters", "problem"):
        assert not [each for each in imported(SERVE / f"{name}.py") if each.startswith(deciding)], name
