"""`clauseway model`: doors out of a building model (IFC), and answers back into it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_cli.asked import Where, day, rulebook_for, shelf_of
from clauseway_cli.description import description_text
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules
from clauseway_cli.schedule import show_some

if TYPE_CHECKING:
    from clauseway_schedules.ifc import FromModel

app = typer.Typer(help="Building models: doors in, answers out.", no_args_is_help=True)


def register(whole: typer.Typer) -> None:
    """Add these commands to the command line."""
    whole.add_typer(app, name="model")


Model = Annotated[Path, typer.Argument(metavar="MODEL", help="A building model, .ifc.")]


@app.command("import")
def import_model(
    model: Model,
    output: Annotated[Path, typer.Option("--output", "-o", help="The file of openings to write (.yaml or .json).")],
    base: Annotated[Path | None, typer.Option("--base", help="A file of openings with what the model lacks.")] = None,
    code: Codes = None,
    rules: Rules = None,
) -> None:
    """Turn the doors of a model into a file of openings. Status 3 when something was not understood."""
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.text.source import node_from_data
    from clauseway_cli.asked import rulebook_named
    from clauseway_cli.files import write_new
    from clauseway_schedules.ifc import read_model

    plain = read_openings(str(base)).plain() if base is not None else {}
    vocabulary = rulebook_named(code, rules, None).vocabulary
    found = read_model(model, plain if isinstance(plain, dict) else {}, vocabulary)
    read_project(node_from_data(found.data, str(model)), vocabulary)
    write_new(output, description_text(found.data, output, indent=1))
    _show(model, found)
    typer.echo(f"{output} is written; next: clauseway check {output}")
    raise typer.Exit(3 if found.unread else 0)


@app.command()
def answer(
    model: Model,
    openings: Annotated[str, typer.Argument(help="The file of openings that was made of it, completed.")],
    output: Annotated[Path, typer.Option("--output", "-o", help="The copy of the model to write, with answers.")],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    accept_memory: Memory = False,
) -> None:
    """Check openings and put answers on the doors of a copy of their model, as the property set Clauseway_Answer."""
    from clauseway.answers.check import check
    from clauseway.answers.report import CAUTION
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway_schedules.answer_sheet import words_of
    from clauseway_schedules.ifc import write_answers

    if output.exists() or output.suffix.casefold() != ".ifc":
        raise ClausewayError(Problem(Place(str(output)), "not a new .ifc file", "a new name that ends in .ifc"))
    node = read_openings(openings)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, Where(place, day(on), choose=choose))
    project = read_project(node, rulebook.vocabulary)
    report = check(rulebook, project, on=day(on), accept_memory=accept_memory)
    texts: dict[str, dict[str, str]] = {}
    for each in report.answers:
        given = project.given(f"openings/{each.id}", "model_id", "") if each.kind == "opening" else None
        if given is not None:
            verdict, violated, waiting = words_of(each)
            told = {"Opening": each.id, "Verdict": verdict, "Violated": violated, "Open": waiting}
            codes = ", ".join(str(one) for one in report.codes)
            texts[given.typed] = {**told, "Codes": codes, "Rules": report.digest, "Caution": CAUTION}
    from clauseway_cli.files import made_beside

    with made_beside(output) as temporary:
        written = write_answers(model, temporary, texts)
    doors = sum(1 for each in report.answers if each.kind == "opening")
    typer.echo(f"{output} is written: answers on {written} doors, of {doors} that are described.")
    raise typer.Exit(report.status)


def _show(model: Path, found: FromModel) -> None:
    typer.echo(f"{model}: {found.schema}, {found.doors} doors")
    show_some([f"{each.door}, {each.what}: {each.text}: {each.why}" for each in found.unread])
