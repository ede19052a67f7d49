"""A headless Chromium for tests that look at pages; pages may reach nothing but files."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser", "google-chrome")


def chromium() -> str:
    """Where a Chromium is; `.ci/run` installs one where none is."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    assert found, "these tests need Chromium: apt-get install chromium"
    return found


@contextmanager
def browsing(width: int = 1280, height: int = 900) -> Iterator[tuple[Any, list[str]]]:
    """A page of a new browser, and the addresses outside files that it asked for."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": width, "height": height})
        outside: list[str] = []
        page.on(
            "request",
            lambda request: None if request.url.startswith(("file:", "data:")) else outside.append(request.url),
        )
        yield page, outside
        browser.close()


def address_of(path: Path) -> str:
    """A file as a browser opens it."""
    return path.resolve().as_uri()
