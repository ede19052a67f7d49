"""A report as one page of HTML that needs nothing else: no network, no other file."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup, escape

from clauseway_reports.door import OWN, Other, Shown, other, shown, template
from clauseway_reports.summary import Report, changed_since, summary
from clauseway_reports.tables import arrangement_matrix
from clauseway_reports.words import FINDINGS, NOWHERE, VERDICTS

MANY = 1000
"""With more doors than these, a page holds once what is told of several, and tells of a door when it is opened."""


@dataclass(frozen=True)
class Part:
    """A report on a page: `head` is the report without its openings, `storeys` name those of each opening by its id."""

    head: Report
    doors: Sequence[Shown]
    others: Sequence[Other]
    storeys: Mapping[str, str]


def page(
    reports: Sequence[tuple[Report, Mapping[str, str]]],
    *,
    title: str = "",
    before: Report | None = None,
    site: str = "",
) -> str:
    """The page of one or several reports, each with the storeys of its openings; see `page_of`."""
    parts = [
        Part(
            report,
            [shown(door, site) for door in report["openings"]],
            [other(each) for each in report["others"]],
            storeys,
        )
        for report, storeys in reports
    ]
    return page_of(parts, title=title, before=before, site=site)


def page_of(
    parts: Sequence[Part], *, title: str = "", before: Report | None = None, site: str = "", many: int = MANY
) -> str:
    """The page of one or several reports; `before` is an older report of one.

    With `site`, the address of a built site, each finding links to its page there. With more than `many` doors the
    page holds each piece of what is told of them once, and a script in it puts them together: 0 for never.
    The same reports give the same bytes.
    """
    doors = sum(len(part.doors) for part in parts)
    pieces = _Pieces() if 0 < many < doors else None
    heads = [part.head for part in parts]
    made: str = template("page.html").render(
        title=title or "; ".join(dict.fromkeys(head["project"] or head["file"] for head in heads)),
        parts=[_part(part, before, number, pieces) for number, part in enumerate(parts, 1)],
        site=site.rstrip("/"),
        verdicts=VERDICTS,
        findings=FINDINGS,
        caution=heads[0]["caution"] if heads else "",
        shared=pieces.script if pieces is not None else None,
    )
    return made


class _Pieces:
    """The pieces that doors have in common, each once, by its number."""

    def __init__(self) -> None:
        self.numbers: dict[str, int] = {}

    def told(self, door: Shown) -> str:
        found = (self.numbers.setdefault(piece, len(self.numbers)) for piece in door.pieces)
        return " ".join(map(str, found))

    def script(self) -> Markup:
        """All pieces as JSON that can stand in a script element."""
        text = json.dumps(list(self.numbers), ensure_ascii=False, separators=(",", ":"))
        return Markup(text.replace("<", "\\u003c"))


def _part(part: Part, before: Report | None, number: int, pieces: _Pieces | None) -> dict[str, Any]:
    lines = [door.line for door in part.doors]
    titles, rows = arrangement_matrix(lines)
    return {
        "number": number,
        "report": part.head,
        "summary": summary(lines, part.storeys),
        "doors": _doors(part, pieces),
        "count": len(lines),
        "others": [each for each in part.others if each.findings],
        "matrix": {"titles": titles, "rows": [row for row in rows if any(row[1:])]},
        "changed": changed_since(before, lines) if before is not None else None,
        "storeys": sorted({part.storeys.get(line.id, NOWHERE) for line in lines}),
    }


def _doors(part: Part, pieces: _Pieces | None) -> Iterator[dict[str, Any]]:
    for door in part.doors:
        own = str(escape(door.line.id))
        yield {
            "line": door.line,
            "storey": part.storeys.get(door.line.id, NOWHERE),
            "numbers": pieces.told(door) if pieces is not None else "",
            "body": Markup("\n".join(door.pieces).replace(OWN, own)) if pieces is None else "",
        }
