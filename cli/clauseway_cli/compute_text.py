"""A calculation sheet as text for 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from clauseway.answers.compute_input import Put, gauge_text
from clauseway.answers.compute_table import Row, Table
from clauseway.answers.sheet_data import NOTE
from clauseway.compute.description import Computation, Source
from clauseway.compute.sheet import Alternative, Line, Sheet, range_text
from clauseway.compute.units import shown

WIDTH = 80


def list_text(records: Sequence[Computation], example: str) -> str:
    """Computations by subject, one a line where it fits."""
    lines: list[str] = []
    width = max(len(record.name) for record in records) + 2
    for _, group in groupby(records, key=lambda record: record.subject):
        for record in group:
            lines += _hung(f"{record.name:{width}}", record.title)
        lines.append("")
    return "\n".join([*lines, *_hung("", example)]) + "\n"


def sheet_text(page: Sheet, puts: Mapping[str, Put], table: Table | None) -> str:
    """The sheet for reading."""
    record = page.computation
    lines = [*_head(record), *_formula(page), *_numbers(page, puts), *_result(page)]
    if table is not None:
        lines += _table(record, table)
    lines += _disagreements(page.alternatives, {one.matter: one.chosen for one in record.disagreements})
    lines += _section("Assumptions", record.assumptions)
    lines += _section("Source" if len(record.sources) == 1 else "Sources", map(_source, record.sources))
    lines += _section("Caution", [record.caution] if record.caution else [])
    return "\n".join(line.rstrip() for line in [*lines, "", *_hung("", NOTE)]) + "\n"


def _hung(start: str, text: str) -> list[str]:
    """Text after a start, further lines below the text."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=start, subsequent_indent=" " * len(start), break_on_hyphens=False
    ) or [start.rstrip()]


def _head(record: Computation) -> Iterator[str]:
    if len(record.title) + len(record.name) + 2 <= WIDTH:
        yield record.title + record.name.rjust(WIDTH - len(record.title))
    else:
        yield from _hung("", record.title)
        yield record.name.rjust(WIDTH)
    yield "-" * WIDTH


def _formula(page: Sheet) -> Iterator[str]:
    yield "Formula"
    start = f"  {page.computation.result.symbol} = "
    yield from _hung(start, page.formula)
    if page.formula_with_numbers and page.formula_with_numbers != page.formula:
        yield from _hung(f"{'= ':>{len(start)}}", page.formula_with_numbers)


def _numbers(page: Sheet, puts: Mapping[str, Put]) -> Iterator[str]:
    yield ""
    yield "Numbers put in"
    names = max(len(line.name) for line in page.lines)
    symbols = max(len(line.symbol) for line in page.lines)
    start = f"  {'':{names}}  {'':{symbols}}  "
    for line in page.lines:
        label = f"  {line.name:{names}}  {line.symbol:{symbols}}  "
        yield from _hung(label, _both(line.metric, line.customary) + _as_gauge(puts.get(line.name)))
        yield from _hung(start, line.meaning)
        yield from _default(page, line, start)


def _as_gauge(put: Put | None) -> str:
    """The gauge behind an area, if it was put in as one."""
    if put is None or put.gauges is None:
        return ""
    return f", {' to '.join(dict.fromkeys(gauge_text(gauge) for gauge in put.gauges))}"


def _default(page: Sheet, line: Line, start: str) -> Iterator[str]:
    """Where a default is from, and what else is usual."""
    if line.default_from is None:
        return
    yield from _hung(f"{start}default: ", _source(line.default_from))
    argument = page.computation.argument(line.name)
    unit = argument.units[0]
    usual = [
        f"{reading.says} {shown(value, unit)}"
        for reading in argument.typical
        for name, value in reading.settings
        if name == line.name and value != argument.default
    ]
    if usual:
        yield from _hung(f"{start}also usual: ", "; ".join(usual))


def _both(metric: str, customary: str) -> str:
    return metric if metric == customary else f"{metric} ({customary})"


def _source(source: Source) -> str:
    plain = source.kind in source.text or source.kind == "derived"
    return source.text if plain else f"{source.text} ({source.kind})"


def _result(page: Sheet) -> Iterator[str]:
    result = page.computation.result
    yield ""
    yield "Result"
    sign = " =" if page.result.point is not None else ":"
    yield from _hung("  ", f"{result.name}  {result.symbol}{sign} {_both(page.metric, page.customary)}")
    for why in page.result.why:
        yield from _hung("  open: ", why)


def _table(record: Computation, table: Table) -> Iterator[str]:
    """The rows in columns: the argument and the result, each in the units in which it is shown."""
    units = list(dict.fromkeys(table.over.units))
    results = list(dict.fromkeys(record.result.units))
    gauges = any(row.gauge is not None for row in table.rows)
    rows = [[table.over.name, *[""] * (len(units) - 1 + gauges), record.result.name, *[""] * (len(results) - 1)]]
    rows += [_cells(row, units, results, gauges) for row in table.rows]
    widths = [max(len(row[place]) for row in rows[1:]) for place in range(len(rows[0]))]
    first = sum(widths[: len(units) + gauges]) + 2 * (len(units) + gauges - 1)
    yield ""
    yield f"  {rows[0][0]:>{first}}  {record.result.name}"
    for row in rows[1:]:
        yield "  " + "  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True))


def _cells(row: Row, units: Sequence[str], results: Sequence[str], gauges: bool) -> list[str]:
    cells = [gauge_text(row.gauge)] if gauges and row.gauge is not None else []
    cells += [shown(row.value, unit) for unit in units]
    return cells + [range_text(row.result, unit) if row.result else "no result" for unit in results]


def _disagreements(alternatives: Sequence[Alternative], chosen: Mapping[str, str]) -> Iterator[str]:
    if alternatives:
        yield ""
        yield "Where sources differ"
    for matter, group in groupby(alternatives, key=lambda one: one.matter):
        yield from _hung("  ", f"{matter}; taken when nothing is said: {chosen[matter]}")
        for one in group:
            gives = f": {_both(one.metric, one.customary)}" if one.metric else ""
            yield from _hung("  - ", f"{one.says}{gives} [{_source(one.source)}]")


def _section(title: str, texts: Iterable[str]) -> Iterator[str]:
    shown_texts = list(texts)
    if shown_texts:
        yield ""
        yield title
    for text in shown_texts:
        yield from _hung("  - " if len(shown_texts) > 1 else "  ", text)


def held_text(page: Sheet, over: str) -> list[str]:
    """Every number put in but the one that a plot runs over."""
    return [
        f"{line.name.replace('_', ' ')} {_both(line.metric, line.customary)}"
        for line in page.lines
        if line.name != over
    ]
