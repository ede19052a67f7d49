"""`clauseway amend`: write, check and preview an amendment in a folder of one's own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway_cli.amend_new import new
from clauseway_cli.asked import day, library_of
from clauseway_cli.options import Memory, On, Rules

if TYPE_CHECKING:
    from clauseway.law.library import Library

File = Annotated[Path, typer.Argument(help="The file of the amendment, in DIR/jurisdictions/ID.")]
Place = Annotated[
    str, typer.Option("--in", help="Where to try it; else where it stands or is adopted.", metavar="JURISDICTION")
]

amend_app = typer.Typer(help="Write, check and preview an amendment in your own folder.", no_args_is_help=True)


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    app.add_typer(amend_app, name="amend")
    amend_app.command("new")(new)
    amend_app.command("check")(check)
    amend_app.command("preview")(preview)


def _opened(file: Path, rules: list[Path] | None) -> tuple[Library, str]:
    """The rules with the folder of an amendment on top, and the name of its layer."""
    from clauseway.answers.preview import layer_in, root_of

    root = root_of(file)
    name = layer_in(file)
    others = [folder for folder in rules or () if folder.resolve() != root.resolve()]
    return library_of([*others, root]), name


def check(file: File, place: Place = "", on: On = "", rules: Rules = None) -> None:
    """Check an amendment where it is laid: shape, meaning, targets, dates and examples.

    Status: 0 it stands and its examples pass, 1 an example fails, 3 it has no examples, 2 it is not law.
    """
    from clauseway.answers.local_examples import Trials
    from clauseway.answers.preview import laid_on
    from clauseway.answers.preview import preview as preview_of
    from clauseway_cli.amend_text import examples_lines, footing_line

    library, name = _opened(file, rules)
    typer.echo(f"{name} ({file})")
    for footing in laid_on(library, name, day(on), place):
        seen = preview_of(library, name, footing)
        count = len(seen.changes)
        changes = "1 change" if count == 1 else f"{count} changes"
        typer.echo(f"  stands over {footing_line(footing)}: {changes} in effect")
    tried = list(Trials(library).of_layer(name, day(on), place))
    for line in examples_lines(tried):
        typer.echo(line)
    raise typer.Exit(3 if not tried else 0 if all(each.passed for each in tried) else 1)


def preview(
    file: File,
    openings: Annotated[
        list[str] | None, typer.Argument(metavar="[OPENINGS]...", help="Files of openings, to see which change.")
    ] = None,
    place: Place = "",
    on: On = "",
    full: Annotated[bool, typer.Option("--full", help="Show openings whose verdict stays as well.")] = False,
    rules: Rules = None,
    accept_memory: Memory = False,
) -> None:
    """Show what an amendment makes of the rules: before and after, what it reaches, and which doors change.

    Status: 0 no verdict changes, 1 one does, 2 the amendment is not law.
    """
    from clauseway.answers.compared import doors_of
    from clauseway.answers.preview import in_words, laid_on, reached
    from clauseway.answers.preview import preview as preview_of
    from clauseway.case.open import read_openings
    from clauseway_cli.amend_text import preview_text
    from clauseway_cli.compare_text import swings_text
    from clauseway_cli.text import explanation_text

    library, name = _opened(file, rules)
    parts: list[str] = []
    changed = False
    for footing in laid_on(library, name, day(on), place):
        seen = preview_of(library, name, footing)
        parts.append(preview_text(seen, list(in_words(seen, explanation_text)), reached(seen)))
        for path in openings or ():
            doors = doors_of(read_openings(path), (seen.before, seen.after), seen.found, accept_memory=accept_memory)
            parts.append(swings_text(path, doors, full=full))
            changed = changed or bool(doors.verdicts)
    typer.echo("\n".join(parts), nl=False)
    raise typer.Exit(1 if changed else 0)
