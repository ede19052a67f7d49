"""The commands. Heavy imports stay inside them, so that help and errors come at once."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli import (
    amend,
    audit,
    check,
    clauses,
    codes,
    compare,
    compute,
    design,
    desk,
    handover,
    lock,
    model,
    mutate,
    report,
    rules_list,
    schedule,
    serve,
    site,
    survey,
)
from clauseway_cli.asked import NEWEST, Where, day, library_of, rulebook_named
from clauseway_cli.check import Format
from clauseway_cli.entry import group, main
from clauseway_cli.options import Choose, Codes, In, Layers, On, Rules

if TYPE_CHECKING:
    pass

__all__ = ["app", "main"]

app = group()

check.register(app)


@app.command()
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


@app.command()
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


@app.command()
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


@app.command()
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


rules_app = typer.Typer(help="The rules themselves.", no_args_is_help=True)
app.add_typer(rules_app, name="rules")
app.add_typer(schedule.app, name="schedule")
app.add_typer(model.app, name="model")
app.command("report")(report.report)
app.command("desk")(desk.desk)


rules_list.register(rules_app)


@rules_app.command("test")
def rules_test(rules: Rules = None) -> None:
    """Run the examples of every provision in every edition that it stands in, and of every layer where it is laid."""
    from clauseway.answers.examples import examples_of, expected_in, run_example, summary
    from clauseway.answers.local_examples import Trials
    from clauseway.law.jurisdictions import text
    from clauseway.law.resolve import resolve
    from clauseway_cli.law_text import failure

    library = library_of(rules)
    ran, failed = 0, []
    for code in library.codes.values():
        books = [resolve(library, [f"{code.id}@{edition}"]) for edition in code.editions]
        for provision in code.provisions:
            for example in examples_of(library, code, provision):
                for book, edition in zip(books, code.editions, strict=True):
                    if not expected_in(example, code, book):
                        continue
                    ran += 1
                    found = summary(run_example(example, book, code.id))
                    if found != example.verdict:
                        failed.append(f"{code.id}@{edition} {example.name}: {found}  ({example.changes.place})")
    trials = Trials(library)
    for name in sorted({text(layer, "layer") for layer in library.layers}):
        for tried in trials.of_layer(name):
            ran += 1
            if not tried.passed:
                failed.append(failure(tried))
    for line in failed:
        typer.echo(line)
    typer.echo(f"{ran} examples, {len(failed)} failed")
    raise typer.Exit(1 if failed else 0)


@rules_app.command("lint")
def rules_lint(rules: Rules = None) -> None:
    """Look for exceptions that cannot apply, implied alternatives, unused values and conditions without examples."""
    from clauseway.answers.examples import examples_of
    from clauseway.law.lint import lint, unreached, unused
    from clauseway.law.resolve import resolve

    library = library_of(rules)
    found: dict[str, list[str]] = {}
    reached = {
        (f"{code.id}.{provision}", example.condition)
        for code in library.codes.values()
        for provision in code.provisions
        for example in examples_of(library, code, provision)
    }
    for code in library.codes.values():
        books = [resolve(library, [f"{code.id}@{edition}"]) for edition in code.editions]
        for book, edition in zip(books, code.editions, strict=True):
            for problem in lint(book) + unreached(book, reached):
                found.setdefault(str(problem), []).append(f"{code.id}@{edition}")
        for problem in unused(books):
            found.setdefault(str(problem), []).append(code.id)
    for text, where in found.items():
        typer.echo(f"{text}\n    in: {', '.join(where)}")
    typer.echo(f"{len(found)} to look at")
    raise typer.Exit(1 if found else 0)


lock.register(rules_app)


mutate.register(rules_app)


amend.register(app)


audit.register(app)


clauses.register(app)


codes.register(app)


compare.register(app)


compute.register(app)


design.register(app)


serve.register(app)


handover.register(app)


site.register(app)


survey.register(app)
