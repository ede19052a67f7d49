"""`clauseway rules`: the rules themselves, their examples, what may be wrong with them."""

from __future__ import annotations

import typer

from clauseway_cli import lock, mutate, rules_list
from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules

rules_app = typer.Typer(help="The rules themselves.", no_args_is_help=True)


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.add_typer(rules_app, name="rules")


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


rules_list.register(rules_app)
rules_app.command("test")(rules_test)
rules_app.command("lint")(rules_lint)
lock.register(rules_app)
mutate.register(rules_app)
