"""Rulebooks that tests check against: a few shipped provisions, and probes that use the whole rule language."""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from pathlib import Path

from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook

PROBES = Path(__file__).parent / "rules"
IBC = ("code", "sources", "free-egress", "hardware-height", "sensor-release", "door-hardware-release")


def copy_rules(folder: Path, provisions: tuple[str, ...] = IBC) -> Path:
    """A rules folder with the shipped vocabulary and schemas and a few provisions of the shipped code."""
    shipped = shipped_rules()
    for name in ("facts", "schemas", "examples"):
        shutil.copytree(shipped / name, folder / name)
    shutil.copy(shipped / "index.yaml", folder / "index.yaml")
    code = folder / "codes" / "ibc"
    code.mkdir(parents=True)
    for name in provisions:
        shutil.copy(shipped / "codes" / "ibc" / f"{name}.yaml", code)
    return folder


@cache
def small_rules() -> Path:
    """One such folder for all tests of a run."""
    return copy_rules(Path(tempfile.mkdtemp(prefix="clauseway-rules-")))


@cache
def library() -> Library:
    """The few shipped provisions and the probes."""
    return load([PROBES], shipped=small_rules())


@cache
def rulebook(*codes: str) -> Rulebook:
    """A rulebook of the library, by default of the shipped provisions and the probes."""
    return resolve(library(), codes or ("ibc@2021", "probe@2023"))
