"""Several codes on one opening: each answers; where two ask opposite things, that is said and not settled."""

from __future__ import annotations

from collections.abc import Sequence

from clauseway.answers import finding as F


def conflicts_among(findings: Sequence[F.Finding]) -> tuple[F.Conflict, ...]:
    """Pairs of findings on one opening whose codes ask opposite things, as the rules declare them."""
    asked: dict[str, F.Finding] = {}
    for finding in findings:
        if finding.verdict != F.NOT_APPLICABLE:
            asked.setdefault(finding.id, finding)
    return tuple(
        F.Conflict((finding.id, other), (finding.verdict, asked[other].verdict), why)
        for finding in asked.values()
        for other, why in finding.opposes
        if other in asked
    )
