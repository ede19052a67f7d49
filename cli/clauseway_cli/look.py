"""Looking things up: a file to fill in, what an id means, the facts, what depends on what."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import NEWEST, Where, day, rulebook_named
from clauseway_cli.check import Format
from clauseway_cli.options import Choose, Codes, In, Layers, On, Rules


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (describe, explain, facts, graph):
        app.command(command.__name__)(command)


def describe(
    lock: Annotated[str, typer.Argument(help="The kind of lock, such as electromagnetic-direct-pull.")],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The file to write; nothing is overwritten.")
    ] = None,
    arrangement: Annotated[
        str, typer.Option("--arrangement", help="The arrangement that is meant, if it is known.")
    ] = "",
    code: Annotated[str, typer.Option("--code", help="The code and edition to name in the file.")] = NEWEST,
    rules: Rules = None,
) -> None:
    """Write a commented file of openings to fill in, for one kind of lock."""
    from clauseway.case.blank import blank_file

    rulebook = rulebook_named([code], rules, None)
    text = blank_file(rulebook, lock, arrangement, code)
    if output is None:
        typer.echo(text, nl=False)
        return
    from clauseway_cli.files import write_new

    write_new(output, text)
    typer.echo(f"{output} is written. Fill it in, then: clauseway check {output}")


def explain(
    identity: Annotated[str, typer.Argument(metavar="ID", help="Such as ibc.sensor-release, lock.kind, 1010.2.12.")],
    code: Codes = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """Explain a provision, condition, parameter, fact, kind of thing or section."""
    from clauseway.answers.explain import explain as explain_id

    rulebook = rulebook_named(code, rules, layer, Where(place, day(on), choose=choose))
    explanation = explain_id(rulebook, identity)
    if output is Format.json:
        from clauseway.answers.listed_data import explanation_data
        from clauseway.answers.sheet_data import as_json

        typer.echo(as_json(explanation_data(explanation, rulebook)), nl=False)
        return
    from clauseway_cli.text import explanation_text

    typer.echo(explanation_text(explanation), nl=False)


def facts(
    search: Annotated[str, typer.Argument(help="Only facts whose name or meaning holds this.")] = "",
    chosen_by: Annotated[str, typer.Option("--chosen-by", help="given or designer")] = "",
    code: Codes = None,
    rules: Rules = None,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """List the facts of the vocabulary."""
    from clauseway.answers.listed_data import facts_data, facts_found

    rulebook = rulebook_named(code, rules, None)
    try:
        found = facts_found(rulebook.vocabulary, search, chosen_by)
    except ValueError:
        raise ClausewayError(Problem(NOWHERE, f"--chosen-by {chosen_by}", "given or designer")) from None
    if output is Format.json:
        from clauseway.answers.sheet_data import as_json

        typer.echo(as_json(facts_data(found, rulebook)), nl=False)
        return
    from clauseway_cli.text import listed_text

    typer.echo(listed_text([(name, fact.about) for name, fact in found], "no fact matches"), nl=False)


def graph(
    identity: Annotated[str, typer.Argument(metavar="ID", help="A fact, parameter, condition or provision.")],
    output: Annotated[Path | None, typer.Option("--output", "-o", help="A new .svg or .dot file.")] = None,
    depth: Annotated[int, typer.Option("--depth", help="Steps to draw in each direction.", min=1, max=9)] = 2,
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
) -> None:
    """What a thing needs and what a change of it may touch."""
    from clauseway.law.reach import around, as_dot, part_around, reach
    from clauseway.text.nearest import nearest
    from clauseway_cli.text import listed_text

    rulebook = rulebook_named(code, rules, layer)
    whole = reach(rulebook)
    names = sorted(whole.nodes)
    full = [name for name in names if name == identity or name.partition(".")[2] == identity]
    if len(full) != 1:
        raise ClausewayError(
            Problem(NOWHERE, f"nothing in the graph is called {identity}", "an id", nearest(identity, names) or "")
        )
    if output is None:
        needs, touches = around(whole, full[0])
        typer.echo(f"{full[0]}\n\nNeeds")
        typer.echo(listed_text([(name, str(whole.nodes[name].get("kind", ""))) for name in needs], "nothing"), nl=False)
        typer.echo("\nA change of it may touch")
        typer.echo(
            listed_text([(name, str(whole.nodes[name].get("kind", ""))) for name in touches], "nothing"), nl=False
        )
        return
    from clauseway_cli.files import write_new

    part = part_around(whole, full[0], depth)
    if output.suffix == ".svg":
        from clauseway.answers.picture import as_svg

        write_new(output, as_svg(part, full[0]))
    elif output.suffix == ".dot":
        write_new(output, as_dot(part))
    else:
        raise ClausewayError(Problem(NOWHERE, f"a picture called {output.name}", "a name that ends in .svg or .dot"))
    typer.echo(f"{output} is written: {part.number_of_nodes()} nodes, {part.number_of_edges()} edges.")
