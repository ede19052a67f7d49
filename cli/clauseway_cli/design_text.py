"""What a designer is told, as calm text for 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from clauseway.answers.report import CAUTION
from clauseway.case.things import Project
from clauseway.design.data import change_in_words
from clauseway.design.needs import DEPENDS, FORBIDDEN, OPEN, PERMITTED, PROVIDE, REFUSED, Needs, Option, value_line
from clauseway.design.repair import Design, Repair
from clauseway.design.variant import SetFact
from clauseway.law.rulebook import Rulebook
from clauseway_cli.text import WIDTH, cite

_STANDINGS = {PERMITTED: "Permitted", DEPENDS: "Depends on what is not known", FORBIDDEN: "Not permitted here"}


def _item(text: str, indent: int, mark: str = "- ") -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=" " * indent + mark,
        subsequent_indent=" " * (indent + len(mark)),
        break_on_hyphens=False,
    )


def _codes(rulebook: Rulebook) -> list[str]:
    named = [f"{code.title} {code.edition}" for code in rulebook.adopted]
    return textwrap.wrap(f"Under: {', '.join(named)}", WIDTH)


def needs_text(found: Sequence[Needs], rulebook: Rulebook, *, everything: bool = False) -> str:
    """The options of openings as text."""
    lines = _codes(rulebook)
    for each in found:
        lines += ["", *textwrap.wrap(f"{each.opening}  {each.title}", WIDTH), "-" * WIDTH]
        for subject in dict.fromkeys(option.subject for option in each.options):
            passage = subject.passage.rpartition("/")[2]
            lines.append(f"Lock {subject.path.rpartition('/')[2]}, passage {passage}")
            options = [option for option in each.options if option.subject == subject]
            for standing, heading in _STANDINGS.items():
                chosen = [option for option in options if option.standing == standing]
                if chosen:
                    lines.append(f"  {heading}")
                    for option in chosen:
                        lines += _option(option, everything)
        if not each.options:
            lines += textwrap.wrap("No arrangement of these codes speaks of what is described here.", WIDTH)
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDTH)]) + "\n"


def _option(option: Option, everything: bool) -> Iterator[str]:
    yield from _item(f"{option.title} ({cite(option.citation)})", 4, "* ")
    if option.standing == FORBIDDEN and not everything:
        refused = next(need for need in option.needs if need.standing == REFUSED)
        yield from _item(refused.says or f"It is not so that {refused.asks}.", 8)
        return
    satisfied = [need for need in option.needs if need.standing not in (PROVIDE, OPEN, REFUSED)]
    for need in option.needs:
        if need in satisfied and not everything:
            continue
        item = need.citation.item
        where = f" (item {item})" if item[:1].isdigit() else ""
        marks = {PROVIDE: "provide: ", OPEN: "open: ", REFUSED: "refused: "}
        memory = " [memory]" if need.memory else ""
        yield from _item(f"{marks.get(need.standing, 'satisfied: ')}{need.asks}{where}{memory}", 8)
        for value in need.build_to:
            yield from _item(value_line(value).partition(", ")[2] or value_line(value), 12, "")
        for asked in need.missing[:3]:
            yield from _item(asked.ask, 12, "? ")
    if satisfied and not everything:
        yield from _item(f"satisfied already: {len(satisfied)} of {len(option.needs)} conditions", 8)


def repair_text(found: Sequence[Repair], rulebook: Rulebook, project: Project) -> str:
    """The least changes of openings as text."""
    lines = _codes(rulebook)
    for each in found:
        lines += ["", each.opening, "-" * WIDTH]
        if each.blocks:
            lines += textwrap.wrap("No change of what a designer chooses is enough, because:", WIDTH)
            for block in each.blocks:
                where = "; ".join(cite(citation) for citation in block.finding.citations)
                lines += _item(block.says + (f" ({where})" if where else ""), 2)
                for asked in block.finding.missing[:3]:
                    lines += _item(asked.ask, 6, "? ")
        elif not each.designs:
            words = "No design was found" if each.whole else "The search was given up"
            lines += textwrap.wrap(f"{words} after {each.looked_at} were looked at.", WIDTH)
        for number, design in enumerate(each.designs, 1):
            lines += _design(number, design, rulebook, project)
        if each.designs and not each.proven:
            words = f"It complies, but may not be a least one: known is that any costs at least {each.at_least}."
            lines += textwrap.wrap(words, WIDTH)
        elif each.designs and not each.whole:
            lines += textwrap.wrap("The first is a least one; not all others were looked at.", WIDTH)
    return "\n".join([*lines, "", *textwrap.wrap(CAUTION, WIDTH)]) + "\n"


def _design(number: int, design: Design, rulebook: Rulebook, project: Project) -> Iterator[str]:
    if not design.changes:
        yield "Nothing has to change."
        return
    yield f"{number}. effort {design.cost}"
    for change in design.changes:
        was = ""
        if isinstance(change, SetFact):
            given = project.facts.get(change.key)
            was = given.typed if given is not None else ""
        yield from _item(change_in_words(change, rulebook, was), 3)
