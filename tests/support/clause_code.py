"""An invented code with a list of clauses, in two editions whose numbers moved."""

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
cited_as: [Door Book]
"""

SOURCES = "sources: {reader: {title: Somebody who read it, kind: secondary, where: a shelf}}\n"

SAYS = "says: {asks: it is so, met: It is so., unmet: It is not so.}, remedy: Make it so."

PROVISIONS = {
    "wide": f"""\
id: wide
code: xx
kind: requirement
title: Width of a door
about: For tests.
subject: opening
sections: {{"2021": "10.1.9", "2024": "10.1.10"}}
section_basis: {{"2021": reader, "2024": memory}}
basis: reader
parameters:
  least: {{value: 32 in, item: {{"2021": "1", "2024": "2"}}}}
conditions:
  width: {{item: {{"2021": "1", "2024": "2"}}, require: opening.clear_width >= least, {SAYS}}}
  again: {{section: {{"2021": "10.1.9.1", "2024": "10.1.10.1"}}, require: opening.clear_width >= least, {SAYS}}}
""",
    "tall": f"""\
id: tall
code: xx
kind: requirement
title: Height of a door
about: For tests.
subject: opening
sections: {{"2021": "10.1.10", "2024": "10.1.11"}}
section_basis: reader
basis: {{"2021": reader, "2024": memory}}
parameters:
  least: {{value: 80 in}}
conditions:
  height: {{require: opening.clear_height >= least, {SAYS}}}
""",
}

CLAUSES = """\
code: xx
covers: {"2021": chapter 10, "2024": chapter 10 and annex A}
clauses:
  tall:
    title: Bars in the opening
    sections: {"2021": "10.1.10"}
    section_basis: {"2021": reader}
    standing: partly
    note: Look up.
  colour:
    title: Colour of a door
    sections: {"2021": "10.2, 10.3", "2024": "10.2 item 4"}
    section_basis: memory
    standing: needs-human
    note: Look at it.
  taste:
    title: Taste
    sections: {"2024": Annex A}
    section_basis: {"2024": reader}
    standing: out-of-scope
    note: No rule speaks of it.
"""


def clause_rules(
    root: Path, clauses: str = CLAUSES, provisions: dict[str, str] | None = None, code: str = CODE
) -> Path:
    """A folder of rules with the shipped vocabulary and the invented code."""
    for name in ("facts", "schemas"):
        if not (root / name).is_dir():
            shutil.copytree(shipped_rules() / name, root / name)
    folder = root / "codes" / "xx"
    folder.mkdir(parents=True, exist_ok=True)
    files = {"code": code, "sources": SOURCES, "clauses": clauses, **(PROVISIONS if provisions is None else provisions)}
    for name, text in files.items():
        (folder / f"{name}.yaml").write_text(text, encoding="utf-8")
    return root


def clause_library(root: Path, clauses: str = CLAUSES) -> Library:
    """The library of the invented code."""
    return load(shipped=clause_rules(root, clauses))
