"""What is encoded of a code, as text for 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence

from clauseway.answers.coverage import BASES, Coverage, Row
from clauseway.model.clause import STANDINGS

WIDTH = 80
_SECTION, _STANDING = 18, 12
_INDENT = " " * (_SECTION + 2)


def coverage_text(table: Coverage, rows: Sequence[Row], width: int = WIDTH) -> str:
    """The rows of a code in one edition, and its counts, which are those of the whole table."""
    lines = _wrapped(f"{table.title} {table.edition}", width)
    if table.covers:
        lines += _wrapped(f"Covered: {table.covers}", width)
    else:
        lines += _wrapped("No list of clauses: only what is encoded is shown, not what is left out.", width)
    lines.append("")
    for row in rows:
        lines += _row(row, width)
    if not rows:
        lines.append("no section matches")
    lines += ["", *totals_lines(table, width)]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _row(row: Row, width: int) -> Iterator[str]:
    mark = " [memory]" if row.basis.kind == "memory" else ""
    head = f"{row.section:<{_SECTION}}  {row.standing:<{_STANDING}}"
    if len(row.section) > _SECTION:
        yield from _wrapped(row.section, width)
        head = f"{_INDENT}{row.standing:<{_STANDING}}"
    hanging = " " * (_SECTION + _STANDING + 4)
    yield from textwrap.wrap(
        f"{row.title}{mark}", width, initial_indent=f"{head}  ", subsequent_indent=hanging, break_on_hyphens=False
    )
    by = ", ".join(row.by) + (f" ({_items(row.items)})" if row.items else "")
    for text in (f"by {by}" if by else "", row.note):
        if text:
            yield from textwrap.wrap(
                text, width, initial_indent=_INDENT, subsequent_indent=_INDENT, break_on_hyphens=False
            )


def _items(items: Sequence[str]) -> str:
    """`items 1, 2, 3; exceptions 1, 2`."""
    exceptions = [item.partition(" ")[2] for item in items if item[:9].lower() == "exception" and " " in item]
    others = [item for item in items if item[:9].lower() != "exception" or " " not in item]
    groups = [("item", others), ("exception", exceptions)]
    return "; ".join(f"{noun}{'s' if len(each) > 1 else ''} {', '.join(each)}" for noun, each in groups if each)


def totals_lines(table: Coverage, width: int = WIDTH) -> list[str]:
    """The counts of a table in sentences."""
    memory = sum(row.basis.kind == "memory" for row in table.rows)
    provisions = sum(table.kinds.values())
    kinds = ", ".join(f"{count} {kind}{'s' if count != 1 else ''}" for kind, count in table.kinds.items() if count)
    lines = _wrapped(f"Sections: {len(table.rows)}; {_counts(table.standings)}.", width)
    lines += _wrapped(f"{memory} of their numbers are known from memory only.", width)
    lines += _wrapped(f"Provisions: {provisions}; {kinds}.", width)
    lines += _wrapped(f"Conditions: {sum(table.conditions.values())}; {_counts(table.conditions)}.", width)
    lines += _wrapped(f"Parameters: {sum(table.parameters.values())}; {_counts(table.parameters)}.", width)
    return lines


def _counts(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{count} {name}" for name, count in counts.items() if count) or "none"


def summary_text(tables: Sequence[Coverage], width: int = WIDTH) -> str:
    """The counts of every code and edition: sections by standing; conditions and values by how they are known."""
    names = [f"{table.code}@{table.edition}" for table in tables]
    first = max((len(name) for name in names), default=4) + 1
    lines = ["Sections by standing"]
    heads = [*(name.replace("out-of-scope", "outside") for name in STANDINGS), "sections"]
    lines.append(" " * first + "".join(f"{head:>12}" for head in heads))
    for name, table in zip(names, tables, strict=True):
        numbers = [*table.standings.values(), len(table.rows)]
        lines.append(f"{name:<{first}}" + "".join(f"{number:>12}" for number in numbers))
    for title, of in (("Conditions", "conditions"), ("Parameters", "parameters")):
        lines += ["", f"{title} by how they are known"]
        lines.append(" " * first + "".join(f"{head:>10}" for head in (*BASES, "all")))
        for name, table in zip(names, tables, strict=True):
            counts = getattr(table, of)
            numbers = [*counts.values(), sum(counts.values())]
            lines.append(f"{name:<{first}}" + "".join(f"{number:>10}" for number in numbers))
    lines += ["", "Provisions and numbers"]
    kinds = {"requirement": "require", "locking-arrangement": "permit", "derivation": "derive", "table": "tables"}
    lines.append(" " * first + "".join(f"{head:>10}" for head in (*kinds.values(), "all", "memory")))
    for name, table in zip(names, tables, strict=True):
        memory = sum(row.basis.kind == "memory" for row in table.rows)
        numbers = [*(table.kinds[kind] for kind in kinds), sum(table.kinds.values()), memory]
        lines.append(f"{name:<{first}}" + "".join(f"{number:>10}" for number in numbers))
    note = "The last column counts sections whose number is known from memory only."
    unlisted = [name for name, table in zip(names, tables, strict=True) if not table.covers]
    lines += ["", note]
    if unlisted:
        lines += _wrapped(f"No list of clauses, so nothing that is left out is counted: {', '.join(unlisted)}.", width)
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, break_on_hyphens=False)
