"""The pages of computations: formula, numbers taken, an example with its answer, a plot, and the rules that use it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from functools import cache
from itertools import groupby

from clauseway.answers.address import provision_page
from clauseway.answers.compute_input import Put, example_of, quoted, read_values
from clauseway.answers.compute_table import points_of, table_of
from clauseway.compute.description import Argument, Computation, Disagreement
from clauseway.compute.registry import computation_named, computations
from clauseway.compute.sheet import sheet
from clauseway.compute.units import label, shown
from clauseway.text.problems import ClausewayError
from clauseway_cli.compute_plot import as_svg
from clauseway_cli.compute_text import held_text, sheet_text
from clauseway_pages.atlas import Atlas
from clauseway_pages.markup import Html, bullets, join, link, table, tag
from clauseway_pages.page import Page
from clauseway_pages.wording import computation_page, names_link

_DIRECTIONS = {
    "+": "never falls",
    "-": "never rises",
    "±": "moves one way, which depends on the others",
    "0": "moves both ways",
}


def computation_pages(atlas: Atlas) -> Iterator[Page]:
    """A page for each computation, and one that lists them."""
    every = computations()
    for record in every.values():
        yield _page(atlas, record)
    groups = []
    for subject, records in groupby(every.values(), key=lambda record: record.subject):
        rows = [[link(computation_page(each.name), each.title), tag("code", each.name)] for each in records]
        groups += [tag("h2", subject.capitalize(), id_=subject), table(subject.capitalize(), _LIST, rows)]
    note = tag("p", "Engineering, not code: these decide nothing about what a code allows.")
    yield Page("computations/index.html", "Computations", "list", "Formulas for locks, wire, supplies, doors and ways "
               "out.", join([note, *groups]))  # fmt: skip


_LIST = ("What is computed", "Name")


def _page(atlas: Atlas, record: Computation) -> Page:
    takes = [
        [tag("th", each.name, scope="row", id_=each.name), each.symbol, each.meaning, _span(each), _default(each),
         _DIRECTIONS[each.direction]]
        for each in record.arguments
    ]  # fmt: skip
    head = ["Name", "Symbol", "What it is", "Range", "If not said", "As it rises, the result"]
    body = join(
        [
            tag("p", tag("code", record.name), ". Engineering, not code."),
            tag("p", tag("code", f"{record.result.symbol} = {record.formula_with_symbols()}", class_="formula")),
            tag("p", f"It gives: {record.result.name}, in {' or '.join(_units(record))}."),
            tag("h2", "What it takes", id_="takes"),
            table("Numbers that it takes", head, takes),
            _worked(record.name),
            tag("h2", "Used by", id_="used-by"),
            _users(atlas, record.name),
            tag("h2", "Assumes", id_="assumes") if record.assumptions else None,
            bullets(record.assumptions),
            tag("h2", "Caution", id_="caution") if record.caution else None,
            tag("p", record.caution) if record.caution else None,
            tag("h2", "Sources", id_="sources"),
            bullets(f"{source} ({source.kind})" for source in record.sources),
            *(_disagreement(each) for each in record.disagreements),
        ]
    )
    arguments = " ".join(each.meaning for each in record.arguments)
    summary = f"{record.result.symbol} = {record.formula_with_symbols()}"
    words = (record.name, record.result.name, arguments)
    return Page(computation_page(record.name), record.title, "computation", summary, body, words)


def _units(record: Computation) -> list[str]:
    return list(dict.fromkeys(label(unit) or "plain numbers" for unit in record.result.units))


def _span(argument: Argument) -> str:
    spans = dict.fromkeys(f"{shown(argument.low, unit)} to {shown(argument.high, unit)}" for unit in argument.units)
    return "; ".join(spans)


def _default(argument: Argument) -> str:
    return "" if argument.default is None else shown(argument.default, argument.units[0])


def _disagreement(each: Disagreement) -> Html:
    points = [f"{reading.says} ({reading.source})" for reading in each.readings]
    return join([tag("h2", f"Sources differ: {each.matter}"), bullets(points), tag("p", f"Taken: {each.chosen}")])


def _typed(record: Computation) -> list[str]:
    """An example of everything that has to be said."""
    words = []
    for argument in record.arguments:
        if argument.default is None:
            example = example_of(argument)
            words.append(f"{argument.name}={f'{example}, {example}' if argument.many else example}")
    return words


@cache
def _worked(name: str) -> Html:
    """A real answer to an example of a computation, and the plot around it where there is one."""
    record = computation_named(name)
    words = _typed(record)
    try:
        puts = read_values(record, words)
        page = sheet(record.name, {name: put.value for name, put in puts.items()})
        answer = sheet_text(page, puts, table_of(record, puts))
    except (ClausewayError, ValueError):
        return Html()
    call = " ".join(["clauseway compute", record.name, *(quoted(*word.split("=", 1)) for word in words)])
    plot = _plot(record, puts)
    return join(
        [
            tag("h2", "An example", id_="example"),
            tag("pre", f"$ {call}\n\n{answer}", tabindex="0"),
            tag("figure", tag("div", plot, class_="wide", role="region", tabindex="0", aria_label="Plot"))
            if plot
            else None,
        ]
    )


def _plot(record: Computation, puts: Mapping[str, Put]) -> Html:
    try:
        points = points_of(record, puts)
        held = held_text(sheet(record.name, {name: put.value for name, put in puts.items()}), points.over.name)
        drawn = as_svg(record, points, held)
    except (ClausewayError, ValueError):
        return Html()
    words = f"{record.result.name} over {points.over.name.replace('_', ' ')}"
    named = re.sub(r"<svg ", f'<svg class="plot" role="img" aria-label="{tag("i", words)[3:-4]}" ', drawn, count=1)
    return Html(named)


def _users(atlas: Atlas, name: str) -> Html:
    points = [
        join([link(provision_page(user), tag("code", user)), ": " if labels else "", names_link(labels, user)])
        for user, labels in atlas.reading.get(name, {}).items()
    ]
    return bullets(points) or tag("p", "No rule; it answers on its own.")
