"""An invented country with a state, a region and a city, whose law changes over time."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

NATION = """\
jurisdiction: XX
name: Utopia
decided_by: permit-issue
adoptions:
  access: {title: Access for all, code: ada@2010, from: 2012-03-15, cite: Act 1, basis: memory}
"""

STATE = """\
jurisdiction: XX-A
name: Northland
parent: XX
decided_by: permit-application
adoptions:
  nbc-2018:
    title: Northland Building Code 2018
    code: ibc@2018
    layers: [north-2018]
    from: 2019-01-01
    until: nbc-2021
    cite: NBC 1.1
    basis: published
  nbc-2021:
    title: Northland Building Code 2021
    code: ibc@2021
    layers: [north-2021]
    dates:
      - {known: 2021-12-01, from: 2023-07-01, cite: Register 1}
      - {known: 2023-06-15, from: 2023-10-29, cite: Register 2}
      - {known: 2023-09-20, from: 2024-03-15, cite: Register 3}
    cite: NBC 1.1
    basis: published
  nbc-2024:
    title: Northland Building Code 2024
    code: ibc@2024
    cite: Bill 7
    basis: memory
    status: proposed
clauses:
  vestibules: {title: Vestibules, cite: NBC 10.9, basis: memory, standing: needs-human, note: Look at vestibules.}
"""

STATE_LAYERS = {
    "north-2018": """\
layer: north-2018
code: ibc
editions: [2018]
basis: published
changes:
  - {at: sensor-release/parameters/height_max, set: 47 in, was: 48 in, cite: NBC 10.1, direction: stricter}
""",
    "north-2021": """\
layer: north-2021
code: ibc
editions: [2021]
basis: published
changes:
  - {at: sensor-release/parameters/height_max, set: 46 in, was: 48 in, cite: NBC 10.1, direction: stricter}
""",
}

CITY = """\
jurisdiction: XXABC
name: Harbour City
parent: XX-A
adoptions:
  city: {title: City code, follows: parent, of: ibc, layers: [harbour], from: 2020-01-01, cite: Ord. 1,
    basis: published}
"""

CITY_LAYER = """\
layer: harbour
code: ibc
basis: published
changes:
  - {at: sensor-release/parameters/height_max, set: 45 in, was: 46 in, cite: Ord. 1, editions: [2021]}
  - {at: sensor-release/parameters/height_min, set: 41 in, was: 40 in, cite: Ord. 2, from: 2025-01-01}
"""


def write(root: Path, files: Mapping[str, str]) -> Path:
    """Write files of jurisdictions by their path below `jurisdictions`."""
    for name, text in files.items():
        path = root / "jurisdictions" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return root


def utopia(root: Path, **changed: str) -> Path:
    """The whole country; `changed` replaces a file: nation, state, city or harbour."""
    return write(
        root,
        {
            "XX/adoptions.yaml": changed.get("nation", NATION),
            "XX-A/adoptions.yaml": changed.get("state", STATE),
            "XX-A/north-2018.yaml": STATE_LAYERS["north-2018"],
            "XX-A/north-2021.yaml": STATE_LAYERS["north-2021"],
            "XXABC/adoptions.yaml": changed.get("city", CITY),
            "XXABC/harbour.yaml": changed.get("harbour", CITY_LAYER),
        },
    )
