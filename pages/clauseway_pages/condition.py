"""One condition on the page of its provision: what it asks, its values side by side, its examples worked."""

from __future__ import annotations

from collections.abc import Sequence

from clauseway.answers.explain import printed_parameters, written_part
from clauseway.language import core
from clauseway.language.written import written
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Condition
from clauseway_pages.atlas import Across, Atlas
from clauseway_pages.cases import Case
from clauseway_pages.jurisdiction import changes_to
from clauseway_pages.markup import Html, bullets, join, table, tag
from clauseway_pages.values import citation_row, condition_in, read_by, value_row
from clauseway_pages.wording import PROVES, capital, condition_link, rule, sentence

_NAMES: dict[str, str] = {}


def condition_section(atlas: Atlas, across: Across, label: str, seen: set[str]) -> Html:
    """The part of a provision's page about one condition; `seen` holds the values that have an anchor already."""
    editions = [edition for edition in across.editions if condition_in(across, edition, label)]
    newest = editions[-1]
    condition = condition_in(across, newest, label)
    assert condition is not None
    book = atlas.book(across, newest)
    only = [] if len(editions) == len(across.editions) else [tag("p", f"Only in {', '.join(editions)}.", class_="only")]
    return tag(
        "section",
        tag("h3", label.replace("-", " "), " ", tag("code", f"{across.name}/{label}")),
        *only,
        tag("p", "It asks whether ", sentence(condition.line.asks, book), ".", class_="asks"),
        _side_by_side(atlas, across, label, seen),
        _amended(atlas, across, label),
        _lines(atlas, across, label, editions),
        _otherwise(condition, book),
        _relations(atlas, condition),
        tag("p", " ".join(PROVES[each] for each in _proves(condition)), class_="proves"),
        _as_rule(across, label, editions),
        worked(atlas.cases.get(across.name, {}).get(label, [])),
        id_=label,
    )


def _proves(condition: Condition) -> Sequence[str]:
    citation = condition.line.citation
    return [each for each in (citation.if_met, citation.if_unmet) if each]


def _side_by_side(atlas: Atlas, across: Across, label: str, seen: set[str]) -> Html:
    """Where the condition stands and the values that it reads, an edition in each column."""
    found = {edition: condition_in(across, edition, label) for edition in across.editions}
    names = dict.fromkeys(
        name for each in found.values() if each is not None for name in read_by([each.own], across.name)
    )
    rows = [citation_row(across, [each.line.citation if each else None for each in found.values()])]
    rows += [value_row(atlas, across, name, anchored=name not in seen) for name in names]
    seen.update(names)
    return table(f"{label.replace('-', ' ').capitalize()} by edition", ["", *across.editions], rows)


def _amended(atlas: Atlas, across: Across, label: str) -> Html:
    """What law changes in the condition, or in the values that it reads."""
    found = [condition_in(across, edition, label) for edition in across.editions]
    names = {name for each in found if each is not None for name in read_by([each.own], across.name)}
    parts = [f"conditions/{label}", f"permitted/{label}", *(f"parameters/{name}" for name in sorted(names))]
    return changes_to(atlas.library, across, parts)


def _lines(atlas: Atlas, across: Across, label: str, editions: Sequence[str]) -> Html:
    """The lines, alternatives and exceptions that have a name, in any edition."""
    rows: dict[str, list[object]] = {}
    forms = set()
    for edition in reversed(editions):
        condition = condition_in(across, edition, label)
        assert condition is not None
        book = atlas.book(across, edition)
        forms.add(condition.form)
        for key, line in condition.lines.items():
            if key in rows:
                continue
            asked = capital(sentence(line.asks, book)) or rule(written_part(condition, key, printed_parameters(book)))
            item = line.citation.item if line.citation.item != condition.line.citation.item else ""
            name = key.removeprefix(f"{label}/").replace("/", ": ").replace("-", " ")
            until = "" if edition == editions[-1] else f" (until {edition})"
            rows[key] = [tag("th", name, until, scope="row", id_=key), asked, item, sentence(line.remedy, book)]
    if not rows:
        return Html()
    together = tag("p", "One of them must meet every line.") if "some" in forms else None
    head = ["Name", "What it asks", "Item", "To do where it is not met"]
    return join([together, table("Its lines, alternatives and exceptions", head, rows.values())])


def _otherwise(condition: Condition, book: Rulebook) -> Html:
    unmet, remedy = sentence(condition.line.unmet, book), sentence(condition.line.remedy, book)
    parts = [
        tag("p", tag("strong", "Not met: "), unmet) if unmet else None,
        tag("p", tag("strong", "To do: "), remedy) if remedy else None,
    ]
    return join(parts)


def _relations(atlas: Atlas, condition: Condition) -> Html:
    known = atlas.provisions
    excused = [condition_link(name, known) for name in condition.excused_by]
    opposed = [join([condition_link(name, known), f": {why}"]) for name, why in condition.opposes]
    return join(
        [
            tag("p", "Excused where one of these is permitted and wholly met:") if excused else None,
            bullets(excused),
            tag("p", "Asks the opposite of:") if opposed else None,
            bullets(opposed),
        ]
    )


def _as_rule(across: Across, label: str, editions: Sequence[str]) -> Html:
    """The rule as it is decided; editions that read alike share one."""
    by_text: dict[str, list[str]] = {}
    for edition in editions:
        condition = condition_in(across, edition, label)
        assert condition is not None
        by_text.setdefault(named(condition.own), []).append(edition)
    shown = [
        tag("p", f"{', '.join(several)}: " if len(by_text) > 1 else "", rule(words))
        for words, several in by_text.items()
    ]
    return tag("details", tag("summary", "As a rule"), *shown)


def named(node: core.Node) -> str:
    """A term with the names of values instead of the values."""
    return written(node, _NAMES)


def worked(cases: Sequence[Case]) -> Html:
    """The examples of a condition: what is changed in the door that they start from, and what the engine says."""
    if not cases:
        return Html()
    rows = []
    for case in cases:
        changes = [tag("li", tag("code", path), ": ", tag("code", value)) for path, value in case.changes]
        changed = tag("ul", *changes) if changes else "as it stands"
        verdict = tag("span", case.verdict, class_=f"verdict {case.verdict}")
        edition = ", ".join(case.only) or case.edition
        rows.append([verdict, changed, edition, case.says])
    summary = f"Worked: {len(cases)} {'example' if len(cases) == 1 else 'examples'}"
    head = ["Verdict", "Changed in the door", "Edition", "The answer"]
    return tag("details", tag("summary", summary), table("Examples, answered by the engine", head, rows))
