"""Whatever a page of the docs shows of a command is what the command prints."""

from __future__ import annotations

from pathlib import Path

import pytest

from support.pages import fits, played

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted((ROOT / "docs").rglob("*.md"))


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_shows_what_is_printed(page: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    shown = 0
    for step, printed in played(page):
        shown += 1
        assert fits(step.text, printed), f"{page.name} shows:\n{step.text}\nand this is printed:\n{printed}"
    answered_when_built = "```run\n" in page.read_text(encoding="utf-8")
    assert shown or answered_when_built or page.stem in ("api", "index", "python"), "no command on this page"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_says_that_it_is_no_approval(page: Path) -> None:
    assert "authority" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("shown", "printed", "alike"),
    [
        ("a\nb\n", "a\nb\n", True),
        ("a\n...\nd\n", "a\nb\nc\nd\n", True),
        ("a\n...\n", "a\n", True),
        ("a\n", "a\nb\n", False),
        ("a.c\n", "abc\n", False),
        ("r sha256:12ab\n", "r sha256:99ff\n", True),
        ("r sha256:12ab x\n", "r sha256:99ff y\n", False),
    ],
)
def test_how_pages_are_compared(shown: str, printed: str, alike: bool) -> None:
    assert fits(shown, printed) is alike
