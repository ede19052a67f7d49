"""`clauseway site build`: the rules as a folder of static pages that works from a disk."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules

site_app = typer.Typer(help="The rules as a site of static pages.", no_args_is_help=True)


def register(app: typer.Typer) -> None:
    """Add the command to the command line."""
    app.add_typer(site_app, name="site")


@site_app.callback()
def site() -> None:
    """The rules as a site of static pages."""


@site_app.command("build")
def build(
    output: Annotated[Path, typer.Option("--output", "-o", help="A new folder, or one that was built before.")] = Path(
        "clauseway-site"
    ),
    rules: Rules = None,
    desk: Annotated[bool, typer.Option("--desk", help="With the page on which a door is described.")] = False,
    pyodide: Annotated[
        Path | None,
        typer.Option("--pyodide", help="The npm package pyodide, unpacked; else --desk lets npm fetch it."),
    ] = None,
) -> None:
    """Build a page for every provision, code, fact, computation and jurisdiction. It needs the extra `site`."""
    from clauseway_pages.build import build_site

    if pyodide is not None and not desk:
        raise ClausewayError(Problem(NOWHERE, "--pyodide without --desk", "--desk, or neither"))
    library = library_of(rules)
    write = None
    if desk:
        from clauseway_cli.desk import folder_of
        from clauseway_describe.build import build as build_desk

        package = folder_of(pyodide)
        write = partial(build_desk, library, package)
    built = build_site(library, output, desk=write)
    typer.echo(f"{output / 'index.html'}: {built.pages} pages, {built.files} files, {built.size / 1e6:.1f} MB")
