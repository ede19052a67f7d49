"""The page about Python: its examples give what stands below them, and it names every public name."""

from __future__ import annotations

import doctest
from pathlib import Path

import clauseway

PAGE = Path(__file__).resolve().parents[2] / "docs" / "python.md"


def test_the_examples_give_what_is_shown() -> None:
    found = doctest.testfile(str(PAGE), module_relative=False, optionflags=doctest.ELLIPSIS, encoding="utf-8")
    assert found.attempted > 20
    assert found.failed == 0


def test_every_public_name_is_there_and_described() -> None:
    page = PAGE.read_text(encoding="utf-8")
    for name in clauseway.__all__:
        assert getattr(clauseway, name)
        assert name == "__version__" or f"{name}(" in page or f"`{name}`" in page, name
    assert set(clauseway._WHERE) == set(clauseway.__all__) - {"__version__"}
