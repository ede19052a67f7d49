"""The law of a place as text: what is in force and why, over time, and what a person must look at."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from clauseway.answers.under import Passage, Under, reason, rests_on
from clauseway.model.jurisdiction import TODAY

if TYPE_CHECKING:
    from clauseway.answers.local_examples import Tried
    from clauseway.law.adoption import Reading
    from clauseway.law.library import Library

WIDTH = 80


def _wrapped(text: str, width: int, indent: str = "", then: str = "") -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=indent, subsequent_indent=then or indent, break_on_hyphens=False
    ) or [indent.rstrip()]


def law_lines(law: Under, width: int = WIDTH) -> Iterator[str]:
    """What stands at the head of a report: the place, the dates, the reading, and what is left to a person."""
    dates = ", ".join(
        f"{'date of the check' if name == TODAY else name.replace('-', ' ')} {day}"
        for name, day in sorted(law.dates.items())
    )
    yield from _wrapped(f"In {law.name} ({law.jurisdiction}); {dates}", width)
    if law.choice:
        yield from _wrapped(f"Reading: {law.choice}. The applicant may choose; each choice is shown.", width)
    if law.authority:
        yield from _wrapped(f"Reading: the law of {law.authority}. Each authority must be satisfied.", width)
    if law.not_encoded:
        count = len(law.not_encoded)
        clauses = "1 local clause is" if count == 1 else f"{count} local clauses are"
        on = law.dates.get(TODAY, "")
        asked = f"clauseway codes --in {law.jurisdiction}" + (f" --on {on}" if on else "")
        yield from _wrapped(f"{clauses} not encoded and left to a person: {asked}", width)


def in_force_text(readings: Sequence[tuple[Reading, Under]], library: Library, width: int = WIDTH) -> str:
    """What is in force, and why."""
    lines: list[str] = []
    for reading, law in readings:
        if lines:
            lines.append("")
        lines += list(_head(law, width))
        for code in reading.codes:
            lines += ["", *_code(code, library)]
        lines += ["", "Because"]
        for each in reading.adopted:
            lines += _wrapped(
                f"{each.adoption.name}: {each.adoption.title}, on {rests_on(each)}", width, "  - ", "    "
            )
            lines += _wrapped(reason(each), width, "      ")
        lines += list(_layers(reading, library, width))
        if law.not_encoded:
            lines += ["", "Not encoded: a person must look at"]
        for place, clause in law.not_encoded:
            lines += _wrapped(f"{place} {clause.cite}: {clause.title} ({clause.standing})", width, "  - ", "    ")
            lines += _wrapped(clause.note, width, "      ")
    return "\n".join(lines) + "\n"


def _head(law: Under, width: int) -> Iterator[str]:
    dates = ", ".join(
        f"{'date of the check' if name == TODAY else name.replace('-', ' ')} {day}"
        for name, day in sorted(law.dates.items())
    )
    yield from _wrapped(f"{law.name} ({law.jurisdiction}); {dates}", width)
    if law.choice:
        yield f"Reading: {law.choice} (the applicant may choose)"
    if law.authority:
        yield f"Reading: the law of {law.authority} (each authority decides for itself)"


def _code(code: str, library: Library) -> Iterable[str]:
    name, _, edition = code.partition("@")
    return (f"{library.codes[name].title} {edition} ({code})",)


def _layers(reading: Reading, library: Library, width: int) -> Iterator[str]:
    from clauseway.answers.under import layer_status

    if not reading.layers:
        return
    yield ""
    yield "Amended by, in this order"
    for name in reading.layers:
        title, binding, site = layer_status(library, name)
        said = f"{name}: {title}" if title else name
        if binding == "ruling":
            said += f" (a ruling: binds {site} alone)"
        elif binding != "law":
            said += f" ({binding})"
        yield from _wrapped(said, width, "  - ", "    ")


def timetable_text(name: str, passages: Sequence[Passage], width: int = WIDTH) -> str:
    """All that was adopted, over time."""
    lines = [name]
    place = ""
    for each in passages:
        if each.jurisdiction != place:
            place = each.jurisdiction
            lines += ["", place]
        lines += _wrapped(f"{each.adoption}: {each.title}, on {each.rests}", width, "  ", "    ")
        for known, since, until in each.spans:
            span = f"from {since}" + (f" until {until}" if until else "")
            lines += _wrapped(span + (f", known since {known}" if known else ""), width, "      ")
        if each.status != "adopted":
            lines.append(f"      {each.status}: not law")
        else:
            decides = "the date of the check" if each.decided_by == TODAY else each.decided_by
            lines += _wrapped(f"decided by {decides}; {each.cite}", width, "      ")
        if each.choice:
            lines += _wrapped(f"the applicant may choose {', '.join(each.choice)} instead", width, "      ")
    return "\n".join(lines) + "\n"


def failure(tried: Tried) -> str:
    """An example of a layer that came to something else, in one line."""
    from clauseway.answers.local_examples import AFTER

    when = "with" if tried.when == AFTER else "without"
    says = f"{tried.condition}: {tried.found}, expected {tried.expected} {when} {tried.layer}"
    return f"{tried.footing} {says} ({tried.says}; {tried.place})"
