"""axe-core in a page under test: the script as npm fetches it, and what it finds."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest


def axe_source(folder: Path) -> str:
    """The script, fetched into a folder; the test is skipped where there is no npm."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("axe-core is not run: there is no npm")
    subprocess.run([npm, "install", "--no-save", "--silent", "axe-core@4"], cwd=folder, check=True)
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")


def faults_of(page: Any, source: str, name: str) -> list[str]:
    """What is serious or critical on a page, with everything in it unfolded, and by how much it is too wide."""
    page.evaluate("document.querySelectorAll('details').forEach(each => { each.open = true; })")
    page.evaluate(source)
    found = page.evaluate("axe.run().then(result => result.violations)")
    told = [
        f"{name}: {each['id']} at {each['nodes'][0]['target']}"
        for each in found
        if each["impact"] in ("serious", "critical")
    ]
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return [*told, *([f"{name}: {wide} pixels too wide"] if wide > 0 else [])]
