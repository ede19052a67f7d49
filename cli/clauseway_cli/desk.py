"""`clauseway desk`: the page on which an opening is described in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("desk")(desk)


def desk(
    output: Annotated[Path, typer.Option("--output", "-o", help="The folder to write; nothing is overwritten.")],
    pyodide: Annotated[
        Path | None, typer.Option("--pyodide", help="The npm package pyodide, unpacked; else npm fetches it.")
    ] = None,
    rules: Rules = None,
) -> None:
    """Write a page on which doors are described and checked in a browser; any web server of static files serves it."""
    from clauseway_describe.build import build

    library = library_of(rules)
    written = build(library, folder_of(pyodide), output, lambda what: typer.echo(what, err=True))
    typer.echo(
        f"{output} is written: {written.places} places, {written.books} rulebooks, {written.size / 1024**2:.0f} MiB.\n"
        f"Serve it, such as with: python -m http.server --directory {output}"
    )


def folder_of(pyodide: Path | None) -> Path:
    """The folder of the Python for browsers: the one that is named, or fetched into the cache."""
    from clauseway.law.cache import cache_folder
    from clauseway_describe.fetch import fetched, pyodide_in

    return pyodide_in(pyodide) if pyodide is not None else fetched(cache_folder() or Path.cwd())
