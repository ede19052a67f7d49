"""Values side by side: a row for each value, a column for each edition."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from clauseway.answers.explain import value_of
from clauseway.language import core
from clauseway.model.provision import Citation, Condition, Parameter, Provision
from clauseway_pages.atlas import Across, Atlas, conditions_in
from clauseway_pages.markup import Html, join, table, tag
from clauseway_pages.wording import basis_of, cited

ABSENT = tag("td", "–", class_="absent")


def read_by(roots: Iterable[core.Node], name: str) -> list[str]:
    """The values of a provision that some terms read, by name, in order."""
    head = f"{name}/"
    keys = [node.key for root in roots for node in core.walk(root) if isinstance(node, core.Parameter)]
    return [key.removeprefix(head) for key in dict.fromkeys(keys) if key.startswith(head)]


def condition_in(across: Across, edition: str, label: str) -> Condition | None:
    """A condition of a provision in one edition."""
    return next((each for each in conditions_in(across.editions[edition]) if each.label == label), None)


def citation_row(across: Across, citations: Sequence[Citation | None]) -> list[object]:
    """Where something stands in each edition, and how that is known."""
    sources = across.code.sources.entries
    row: list[object] = ["Stands in"]
    for citation in citations:
        if citation is None:
            row.append(ABSENT)
            continue
        number = basis_of(citation.section_basis, sources)
        substance = basis_of(citation.basis, sources)
        row.append(join([cited(citation), tag("small", join([" substance: ", substance, "; number: ", number]))]))
    return row


def value_row(atlas: Atlas, across: Across, name: str, *, anchored: bool) -> list[object]:
    """One value in each edition, with its item and how it is known where that differs from the provision."""
    row: list[object] = [tag("th", name.replace("_", " "), scope="row", id_=name if anchored else None)]
    before: str | None = None
    for edition in across.editions:
        value = atlas.values(across, edition).get(name)
        if value is None:
            row.append(ABSENT)
        else:
            shown = value_of(value)
            changed = before is not None and shown != before
            row.append(tag("td", _value(across, value, shown), class_="changed" if changed else None))
            before = shown
    return row


def _value(across: Across, value: Parameter, shown: str) -> Html:
    sources = across.code.sources.entries
    item = value.citation.item
    small = [basis_of(value.citation.basis, sources)]
    written = [f"item {item}" if item[:1].isdigit() else item] if item else []
    differ = [
        tag("li", f"{each.value}: {each.says} ({each.basis.source or each.basis.kind})") for each in value.readings
    ]
    return join(
        [
            tag("b", shown),
            tag("small", join([" ", join([*written, *small], ", ")])),
            tag("details", tag("summary", "Sources differ"), tag("ul", *differ)) if differ else None,
        ]
    )


def value_table(atlas: Atlas, across: Across, names: Sequence[str], caption: str, seen: set[str]) -> Html:
    """Some values of a provision side by side; a name is an anchor where it is shown for the first time."""
    if not names:
        return Html()
    rows = [value_row(atlas, across, name, anchored=name not in seen) for name in names]
    seen.update(names)
    return table(caption, ["Value", *across.editions], rows)


def scope_values(across: Across) -> list[str]:
    """The values that a provision reads outside its conditions: where it applies, what it assumes, what it derives."""
    found: dict[str, None] = {}
    for each in across.editions.values():
        if isinstance(each, Provision):
            roots = [each.applies, each.recognised, *(assumption.node for assumption in each.assumptions)]
        else:
            roots = [each.node] if hasattr(each, "node") else []
        found |= dict.fromkeys(read_by(roots, across.name))
    return list(found)
