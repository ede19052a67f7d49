"""Printing without the command line proper, where its care for terminals would change nothing."""

from __future__ import annotations

import sys


def say(text: str, *, err: bool = False) -> None:
    """Print a text as `typer.echo` does, without a new line of its own."""
    stream = sys.stderr if err else sys.stdout
    if stream is not None and sys.platform != "win32" and stream.encoding == "utf-8" and "\x1b" not in text:
        stream.write(text)
        stream.flush()
        return
    import typer

    typer.echo(text, nl=False, err=err)
