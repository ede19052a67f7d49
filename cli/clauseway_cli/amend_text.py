"""An amendment as text: where it is laid, what it changes, what it reaches, and how its examples went."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from clauseway.answers.footing import Footing
from clauseway.answers.local_examples import Tried
from clauseway.answers.preview import Preview, Reached
from clauseway.law.jurisdictions import text
from clauseway.law.laying import Laid
from clauseway.law.verbs import VERBS, shown
from clauseway.model.jurisdiction import TODAY
from clauseway_cli.law_text import failure

WIDTH = 80


def _wrapped(words: str, indent: str, then: str, width: int = WIDTH) -> list[str]:
    return textwrap.wrap(
        words, width, initial_indent=indent, subsequent_indent=then, break_on_hyphens=False, break_long_words=False
    )


def footing_line(footing: Footing) -> str:
    """Where a layer is laid, in one line."""
    day = footing.terms.dates.get(TODAY, "")
    on = f", {day}" if day else ""
    over = f"{footing.code}@{footing.edition}"
    below = f" with {', '.join(footing.below)}" if footing.below else ""
    whose = f", {footing.terms.authority}" if footing.terms.authority else ""
    label = "" if footing.label == over else f"{footing.label}: "
    return f"{label}{over}{below}{on}{whose}"


def change_lines(laid: Laid) -> Iterator[str]:
    """One change in words."""
    node = laid.node
    if node.get("at") is None:
        yield from _wrapped(f"- brings {text(node, 'id')}: {text(node, 'title')} ({laid.cite})", "  ", "    ")
        return
    verb = next(name for name in VERBS if node.get(name) is not None)
    operand, was = node.get(verb), node.get("was")
    assert operand is not None
    said = f"{shown(was)} -> {shown(operand)}" if was is not None and verb in ("set", "renumber") else shown(operand)
    said = "" if verb in ("remove", "restate") else f": {said}"
    direction = f", {text(node, 'direction')}" if node.get("direction") is not None else ""
    since = f", from {laid.since}" if laid.since else ""
    scope = f", where {text(node, 'scope')}" if node.get("scope") is not None else ""
    yield from _wrapped(f"- {verb} {text(node, 'at')}{said} ({laid.cite}{direction}{since}{scope})", "  ", "    ")
    if node.get("reason") is not None:
        yield from _wrapped(text(node, "reason"), "    ", "    ")


def reached_lines(found: Reached) -> Iterator[str]:
    """What an amendment reaches."""
    for heading, names in (
        ("Provisions it reaches", found.provisions),
        ("Conditions it reaches", found.conditions),
        ("Facts computed from it", found.computed),
        ("Facts that are newly asked", found.asked),
    ):
        if names:
            yield heading
            yield from _wrapped(", ".join(names), "  ", "  ")


def preview_text(seen: Preview, diffs: Sequence[tuple[str, Sequence[str]]], found: Reached) -> str:
    """A layer on one footing: its changes, the rules before and after in words, and what it reaches."""
    lines = [f"Over {footing_line(seen.footing)}", "", "Changes in effect"]
    for laid in seen.changes:
        lines += change_lines(laid)
    if not seen.changes:
        lines.append("  none on this day")
    for name, diff in diffs:
        lines += ["", f"{name}, before (-) and after (+)", *(f"  {line}".rstrip() for line in diff)]
    reach = list(reached_lines(found))
    if reach:
        lines += ["", *reach]
    return "\n".join(lines) + "\n"


def examples_lines(tried: Sequence[Tried]) -> Iterator[str]:
    """How the examples went; those that failed in full."""
    failed = [each for each in tried if not each.passed]
    for each in failed:
        yield from _wrapped(failure(each), "  - ", "    ")
    if not tried:
        yield "  no examples: nothing shows that it does what it should"
    else:
        verdicts = "1 verdict" if len(tried) == 1 else f"{len(tried)} verdicts"
        yield f"  examples: {verdicts} tried, {len(failed)} failed"
