"""The command that says what a jurisdiction has in force, and why."""

from __future__ import annotations

import json
from enum import StrEnum
from typing import Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import day, library_of
from clauseway_cli.options import Authorities, Choose, Known, On, Rules


class Format(StrEnum):
    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("codes")(codes)


def codes(
    place: Annotated[str, typer.Option("--in", help="The jurisdiction, such as US-CA.", metavar="JURISDICTION")] = "",
    on: On = "",
    permit_application: Annotated[str, typer.Option("--permit-application", metavar="YYYY-MM-DD")] = "",
    permit_issue: Annotated[str, typer.Option("--permit-issue", metavar="YYYY-MM-DD")] = "",
    construction: Annotated[str, typer.Option("--construction", metavar="YYYY-MM-DD")] = "",
    known: Known = "",
    choose: Choose = "",
    authority: Authorities = None,
    rules: Rules = None,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """Say which codes, editions and amendments a jurisdiction has in force on a date, and why; or list them all."""
    from clauseway.answers.under import timetable, under, under_data
    from clauseway.law.adoption import Asked, jurisdiction_called, readings
    from clauseway.model.jurisdiction import TODAY
    from clauseway_cli.law_text import in_force_text, timetable_text

    library = library_of(rules)
    if not place:
        if output is Format.json:
            from clauseway.answers.listed_data import code_list_data
            from clauseway.answers.sheet_data import as_json

            typer.echo(as_json(code_list_data(library)), nl=False)
            return
        if not library.jurisdictions:
            raise ClausewayError(
                Problem(NOWHERE, "no jurisdiction is described", "a folder jurisdictions, with --rules")
            )
        for each in library.jurisdictions.values():
            typer.echo(f"{each.id:12} {each.name}")
        return
    jurisdiction = jurisdiction_called(library, place)
    given = {
        TODAY: day(on),
        "permit-application": day(permit_application, "--permit-application"),
        "permit-issue": day(permit_issue, "--permit-issue"),
        "construction": day(construction, "--construction"),
    }
    dates = {name: value for name, value in given.items() if value}
    if not dates and output is Format.text:
        name = f"{jurisdiction.name} ({jurisdiction.id}): all that was adopted; --on says what is in force on a date"
        typer.echo(timetable_text(name, timetable(library, jurisdiction)), nl=False)
        return
    asked = Asked(dates, day(known, "--known"), choose, tuple(authority or ()))
    found = readings(library, jurisdiction, asked)
    laws = [(each, under(library, jurisdiction, asked, each, len(found))) for each in found]
    if output is Format.json:
        data = [
            {"codes": list(reading.codes), "layers": list(reading.layers), "on": dates.get(TODAY), **under_data(law)}
            for reading, law in laws
        ]
        typer.echo(json.dumps({"schema": "clauseway-codes/1", "readings": data}, ensure_ascii=False, indent=2))
    else:
        typer.echo(in_force_text(laws, library), nl=False)
