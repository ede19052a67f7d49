"""An invented code of one edition pair, small enough that all its mutants can be listed by hand."""

from __future__ import annotations

import shutil
from pathlib import Path

from clauseway.law.folders import shipped_rules
from clauseway.law.library import Library, load

CODE = """\
code: xx
title: An invented code
publisher: nobody
editions: ["2021", "2024"]
force: law-when-adopted
about: For tests.
"""

HEAD = """\
id: matter
code: xx
kind: requirement
title: A matter
about: For tests.
subject: opening
sections: {"2021": "1", "2024": "1"}
section_basis: practice
basis: practice
"""

SAYS = "says: {asks: it is so, met: It is so., unmet: It is not so.}, remedy: Make it so."

OPENING = """\
project: "Example base: a door"
codes: [xx@2021]
building: {stories: 2, fire_alarm: true}
openings:
  d: {kind: swinging, is_pair: false, clear_width: 32 in, viewing_area: 5 ft2}
"""


def small_library(root: Path, provision: str, mutants: str = "", **others: str) -> Library:
    """The library of the code xx with the provision `matter`, and with `others` by file name."""
    for name in ("facts", "schemas"):
        shutil.copytree(shipped_rules() / name, root / name)
    folder = root / "codes" / "xx"
    folder.mkdir(parents=True)
    (folder / "code.yaml").write_text(CODE, encoding="utf-8")
    (folder / "matter.yaml").write_text(HEAD + provision, encoding="utf-8")
    if mutants:
        (folder / "mutants.yaml").write_text(mutants, encoding="utf-8")
    for name, text in others.items():
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    (root / "examples").mkdir()
    (root / "examples" / "door.yaml").write_text(OPENING, encoding="utf-8")
    return load(shipped=root)
