"""How verdicts are called in reports, in the order in which they matter."""

from __future__ import annotations

from clauseway.answers import finding as F

VERDICTS = {name: F.VERDICT_WORDS[name] for name in (F.FAILS, F.UNDETERMINED, F.NEEDS_APPROVAL, F.COMPLIES)}
VERDICTS[F.NOT_APPLICABLE] = "nothing applies"
FINDINGS = {
    "unmet": "not met",
    "undetermined": "open",
    "needs-approval": "needs approval",
    "met": "met",
    "not-applicable": "does not apply",
}
NOWHERE = "no storey described"


def clause_of(citation: dict[str, str]) -> str:
    """A citation in one line: IBC 2021 1010.2.12, item 4."""
    section = f" {citation['section']}" if citation.get("section") else ""
    item = f", item {citation['item']}" if citation.get("item") else ""
    return f"{citation['code']} {citation['edition']}{section}{item}"
