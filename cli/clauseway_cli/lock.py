"""`clauseway rules lock`: no meaning changes under its revision, and no id vanishes."""

from __future__ import annotations

from collections import Counter
from typing import Annotated

import typer

from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules


def register(app: typer.Typer) -> None:
    """Add the command to those about the rules."""
    app.command("lock")(lock)


def lock(
    check: Annotated[bool, typer.Option("--check", help="Write nothing; only compare.")] = False,
    rules: Rules = None,
) -> None:
    """Write the revisions and meanings of all provisions into revisions.lock, or compare with what is written there.

    With --rules, for the last folder that is named. Status: 1 when a meaning changed under its revision, a revision
    went back or an id is gone; then nothing is written. 0 otherwise.
    """
    from clauseway.law.revisions import LOCK, differences, lock_text, read_lock, refused, revisions_of
    from clauseway_cli.files import write_over

    library = library_of(rules)
    folder = library.folders[-1]
    today = revisions_of(library, folder)
    path = folder / LOCK
    found = differences(read_lock(path), today)
    for each in found:
        at = f"  ({each.place})" if each.place.file else ""
        typer.echo(f"{each.state}: {each.name}: {each.says}{at}")
    counts = Counter(each.state for each in found)
    said = ", ".join(f"{count} {state}" for state, count in counts.items()) or "nothing changed"
    typer.echo(f"{len(today.entries)} provisions in their editions; {said}")
    if refused(found):
        raise typer.Exit(1)
    if not check:
        write_over(path, lock_text(today))
        typer.echo(f"{path} is written")
