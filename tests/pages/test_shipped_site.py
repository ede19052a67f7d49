"""The site of the shipped rules: the same bytes each time, searched and looked through with axe-core in a browser."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from support.axe import axe_source, faults_of
from support.browser import address_of, browsing

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]
LOOKED_AT = (
    "index.html",
    "search.html?q=maglock",
    "provisions/ibc.sensor-release.html",
    "provisions/ibc.occupant-load.html",
    "provisions/ibc.occupant-load-factors.html",
    "codes/index.html",
    "codes/ibc.html",
    "codes/ibc-2021.html",
    "facts/lock.html",
    "facts/lock.kind.html",
    "computations/index.html",
    "computations/wire.voltage-drop.html",
    "jurisdictions/index.html",
    "jurisdictions/US-CA.html",
    "guides/designer.html",
    "guides/auditor.html",
    "reference/python.html",
)
SEARCHES = {
    "1010.2.12": "provisions/ibc.sensor-release.html",
    "IBC 2024 1010.2.11": "codes/ibc-2024.html#1010.2.11",
    "maglock": "provisions/ibc.sensor-release.html",
    "panic bar": "provisions/ibc.panic-hardware-required.html",
    "delayed egress": "provisions/ibc.delayed-egress.html",
    "ibc": "codes/ibc.html",
    "hold time": "facts/action.hold_time.html",
    "wire gauge": "computations/wire.voltage-drop.html",
    "dementia": "provisions/ibc.controlled-egress.html",
    "stairwel re-entry": "provisions/ibc.stair-reentry.html",
    "California": "jurisdictions/US-CA.html",
    "push to exit": "provisions/ibc.sensor-release.html",
    "7.2.1.6.2": "provisions/nfpa101.sensor-release.html",
}


def build(folder: Path, seed: str) -> dict[str, bytes]:
    subprocess.run(
        [sys.executable, "-m", "clauseway", "site", "build", "-o", str(folder)],
        check=True,
        env={**os.environ, "PYTHONHASHSEED": seed},
        cwd=ROOT,
    )
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in files}


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shipped") / "site"
    build(folder, "1")
    return folder


def test_the_same_rules_give_the_same_bytes(site: Path, tmp_path: Path) -> None:
    again = build(tmp_path / "again", "2")
    first = {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}
    assert set(again) == set(first)
    assert [name for name in again if again[name] != first[name]] == []


def test_what_people_type_is_found(site: Path) -> None:
    missed: dict[str, Any] = {}
    with browsing() as (page, outside):
        page.goto(address_of(site / "search.html"))
        for typed, wanted in SEARCHES.items():
            page.fill("#find", typed)
            found = page.eval_on_selector_all("#found a", "links => links.map(link => link.getAttribute('href'))")
            if wanted not in found[:5]:
                missed[typed] = found[:5]
        assert outside == []
    assert missed == {}


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    return axe_source(tmp_path_factory.mktemp("axe"))


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_axe_finds_nothing_serious_and_nothing_sticks_out(site: Path, axe: str, width: int, scheme: str) -> None:
    told = []
    with browsing(width, 900) as (page, outside):
        page.emulate_media(color_scheme=scheme)
        for name in LOOKED_AT:
            page.goto(address_of(site / name.partition("?")[0]) + name[len(name.partition("?")[0]) :])
            told += faults_of(page, axe, name)
        assert outside == []
    assert told == []
