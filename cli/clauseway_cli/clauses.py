"""The commands about the clauses of a code: what is encoded of it, and what a cited section is."""

from __future__ import annotations

import json
import sys
from enum import StrEnum
from typing import Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import library_of
from clauseway_cli.options import Layers, Rules


class Format(StrEnum):
    text = "text"
    json = "json"


Output = Annotated[Format, typer.Option("--format", help="How the answer is written.")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.command("clauses")(clauses)
    app.command("cite")(cite)


def clauses(
    named: Annotated[
        list[str] | None,
        typer.Argument(metavar="[CODE@EDITION]...", help="Such as ibc@2021, or ibc for all its editions."),
    ] = None,
    standing: Annotated[
        list[str] | None,
        typer.Option("--standing", help="Only encoded, partly, needs-human or out-of-scope; may be repeated."),
    ] = None,
    show_all: Annotated[bool, typer.Option("--all", help="The counts of every code and edition.")] = False,
    rules: Rules = None,
    layer: Layers = None,
    output: Output = Format.text,
) -> None:
    """List the sections of a code with how far each is encoded, and the counts."""
    from clauseway.answers.clause_tables import clause_tables, clauses_data, with_standing
    from clauseway.model.clause import STANDINGS
    from clauseway.text.nearest import nearest, one_of
    from clauseway_cli.clauses_text import coverage_text, summary_text

    for each in standing or ():
        if each not in STANDINGS:
            near = nearest(each, STANDINGS) or ""
            raise ClausewayError(Problem(NOWHERE, f"--standing {each}", one_of(STANDINGS), near))
    library = library_of(rules)
    if show_all and (named or standing or layer):
        raise ClausewayError(Problem(NOWHERE, "--all beside a code, a standing or a layer", "--all alone"))
    if not show_all and not named:
        known = [f"{code.id}@{code.editions[-1]}" for code in library.codes.values() if not code.always]
        raise ClausewayError(Problem(NOWHERE, "no code is named", f"{one_of(known, 20)}; or --all for the counts"))
    found = clause_tables(library, named or (), layer or ())
    if output is Format.json:
        data = clauses_data(found, standing or (), counts=show_all)
        typer.echo(json.dumps(data, ensure_ascii=False, indent=2))
    elif show_all:
        typer.echo(summary_text(found), nl=False)
    else:
        tables = [(table, with_standing(table, standing or ()).rows) for table in found]
        typer.echo("\n".join(coverage_text(table, rows) for table, rows in tables), nl=False)


def cite(
    text: Annotated[str, typer.Argument(help='One or more citations, such as "IBC 2021 1010.2.11"; - reads a text.')],
    rules: Rules = None,
    output: Output = Format.text,
) -> None:
    """Say what a cited section is, where the same stands in other editions, and whether its number is one of another.

    Status: 0 all are known, 1 a number is of another edition or not known, 3 no edition is named, 2 nothing to read.
    """
    from clauseway.answers.cited import cite as look_up
    from clauseway.answers.cited import cited_data
    from clauseway.text.citation import LONGEST
    from clauseway_cli.cite_text import meanings_text

    if text == "-":
        text = sys.stdin.read(LONGEST + 1)
    found = look_up(library_of(rules), text)
    if output is Format.json:
        typer.echo(json.dumps(cited_data(found), ensure_ascii=False, indent=2))
    else:
        typer.echo(meanings_text(found.reading, found.meanings), nl=False)
    raise typer.Exit(found.status)
