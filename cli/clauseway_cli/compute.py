"""`clauseway compute`: one computation on its own, answered like a calculation sheet."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

if TYPE_CHECKING:
    from clauseway.compute.description import Computation


PROJECT = "project"
"""In place of a subject: a sheet of all that is described in files of openings."""


class Format(StrEnum):
    """How the answer is written."""

    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.command()(compute)


def compute(
    subject: Annotated[
        str,
        typer.Argument(
            metavar="SUBJECT",
            help="Such as wire.voltage-drop; a part of a name or title searches; none lists all; `project` with files "
            "of openings gives a sheet of every door and supply.",
        ),
    ] = "",
    values: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="NAME=VALUE",
            help='Such as length="150 ft" current=0.5A gauge=18, length="50..150 ft" for a range, length=? if unknown.',
        ),
    ] = None,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
    plot: Annotated[Path | None, typer.Option("--plot", help="A new .svg file with the result as a line.")] = None,
    opening: Annotated[list[str] | None, typer.Option("--opening", help="With project: only this opening.")] = None,
) -> None:
    """Compute one thing about a lock, its supply, wire, battery, door or way out. Engineering, not code."""
    if plot is not None and plot.suffix != ".svg":
        raise ClausewayError(Problem(NOWHERE, f"a plot called {plot.name}", "a name that ends in .svg"))
    if plot is not None and plot.exists():
        raise ClausewayError(Problem(Place(str(plot)), "this file exists already", "a new name; nothing is written"))
    if subject == PROJECT:
        from clauseway_cli.compute_project import answer_project

        if plot is not None:
            raise ClausewayError(Problem(NOWHERE, "--plot with project", "the name of one computation"))
        answer_project(values or [], opening or [], as_data=output is Format.json)
        return
    if opening:
        raise ClausewayError(Problem(NOWHERE, "--opening without project", "clauseway compute project FILE"))
    record = _chosen(subject, values or [])
    if record is not None:
        _answer(record, values or [], output, plot)
    elif plot is None:
        _list(subject, output)
    else:
        raise ClausewayError(Problem(NOWHERE, "--plot without a computation", "the name of one computation"))


def _chosen(subject: str, values: list[str]) -> Computation | None:
    """The computation meant by its full name or the part after the dot; None where a list is asked for."""
    from clauseway.answers.sheet_data import computations_found, named_computation

    if "=" in subject:
        raise ClausewayError(Problem(NOWHERE, f"`{subject}` comes before the name of a computation", _CALL))
    try:
        return named_computation(subject)
    except ClausewayError:
        if not values and computations_found(subject):
            return None
        raise


_CALL = 'clauseway compute wire.voltage-drop length="150 ft" current=0.5A gauge=18'


def _list(search: str, output: Format) -> None:
    from clauseway.answers.sheet_data import as_json, computations_data, computations_found
    from clauseway_cli.compute_text import list_text

    found = computations_found(search)
    if output is Format.json:
        typer.echo(as_json(computations_data(found)), nl=False)
    else:
        typer.echo(list_text(found, f"Such as: {_CALL}"), nl=False)


def _answer(record: Computation, values: list[str], output: Format, plot: Path | None) -> None:
    from clauseway.answers.compute_input import problem_of, read_values
    from clauseway.answers.compute_table import points_of, table_of
    from clauseway.answers.sheet_data import as_json, sheet_record
    from clauseway.compute.sheet import sheet
    from clauseway_cli.compute_plot import as_svg
    from clauseway_cli.compute_text import held_text, sheet_text
    from clauseway_cli.files import write_new

    puts = read_values(record, values)
    try:
        page = sheet(record.name, {name: put.value for name, put in puts.items()})
        table = table_of(record, puts)
        drawn = ""
        if plot is not None:
            points = points_of(record, puts)
            drawn = as_svg(record, points, held_text(page, points.over.name))
    except ValueError as error:
        raise ClausewayError(problem_of(error)) from None
    if plot is not None:
        write_new(plot, drawn)
    if output is Format.json:
        typer.echo(as_json(sheet_record(page, puts, table)), nl=False)
        return
    typer.echo(sheet_text(page, puts, table), nl=False)
    if plot is not None:
        typer.echo(f"\n{plot} is written.")
