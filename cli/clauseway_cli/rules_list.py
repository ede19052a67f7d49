"""`clauseway rules list`: the provisions, or all that is known in one way and waits to be verified."""

from __future__ import annotations

import json
import textwrap
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import NEWEST, library_of
from clauseway_cli.options import Codes, Layers, Rules

if TYPE_CHECKING:
    from clauseway.answers.resting import Resting

WIDTH = 80
_KINDS = ("requirement", "locking-arrangement")


class Format(StrEnum):
    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add the command to those about the rules."""
    app.command("list")(rules_list)


def rules_list(
    search: Annotated[str, typer.Argument(help="Only what has this in its id or title.")] = "",
    kind: Annotated[str, typer.Option("--kind", help="requirement or locking-arrangement")] = "",
    basis: Annotated[str, typer.Option("--basis", help="All that is known so, such as memory, with its place.")] = "",
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[Format, typer.Option("--format", help="How a list by --basis is written.")] = Format.text,
) -> None:
    """List provisions with their sections; with --basis, what is known so and where it is written, and the counts."""
    from clauseway.answers.coverage import BASES
    from clauseway.answers.resting import resting, resting_data
    from clauseway.law.resolve import resolve
    from clauseway.text.nearest import nearest, one_of
    from clauseway_cli.text import listed_text

    if kind not in ("", *_KINDS):
        raise ClausewayError(Problem(NOWHERE, f"--kind {kind}", one_of(_KINDS), nearest(kind, _KINDS) or ""))
    if basis not in ("", *BASES):
        raise ClausewayError(Problem(NOWHERE, f"--basis {basis}", one_of(BASES), nearest(basis, BASES) or ""))
    if output is Format.json and not basis:
        raise ClausewayError(Problem(NOWHERE, "--format json without --basis", "--basis memory"))
    library = library_of(rules)
    rulebook = resolve(library, code or [NEWEST], layer or ())
    wanted = search.casefold()
    if not basis:
        rows = [
            (provision.name, f"{provision.citation.section}  {provision.title}")
            for provision in rulebook.provisions.values()
            if kind in ("", provision.kind) and wanted in f"{provision.name} {provision.title}".casefold()
        ]
        typer.echo(listed_text(rows, "nothing matches"), nl=False)
        return
    titles = {provision.name: provision.title for provision in rulebook.provisions.values()}
    kinds = {provision.name: provision.kind for provision in rulebook.provisions.values()}
    found = []
    for each in resting(rulebook, basis, {name: known.clauses for name, known in library.codes.items()}):
        owner = each.id.partition("/")[0]
        if kind and kinds.get(owner) != kind:
            continue
        if wanted in f"{each.id} {titles.get(owner, '')} {each.detail}".casefold():
            found.append(each)
    if output is Format.json:
        typer.echo(json.dumps(resting_data(tuple(found), basis), ensure_ascii=False, indent=2))
    else:
        typer.echo(resting_text(found, basis), nl=False)


def resting_text(found: list[Resting], basis: str, width: int = WIDTH) -> str:
    """What rests on a basis, each with its citation and its place, and the counts."""
    from clauseway.answers.resting import counted
    from clauseway.text.section import canonical_item, item_words

    lines: list[str] = []
    for each in found:
        item = f" {item_words(canonical_item(each.item))}" if each.item else ""
        source = f", {each.source}" if each.source else ""
        detail = f": {each.detail}" if each.detail else ""
        lines.append(each.id)
        about = f"{each.kind}, {each.code.upper()} {each.edition} {each.section}{item}{source}{detail}"
        for text in (about, str(each.place)):
            lines += textwrap.wrap(
                text, width, initial_indent="    ", subsequent_indent="      ",
                break_on_hyphens=False, break_long_words=False,
            )  # fmt: skip
    counts = [f"{count} {kind}{'s' if count != 1 else ''}" for kind, count in counted(found).items() if count]
    how = {"memory": "from memory", "practice": "by practice"}.get(basis, f"as {basis}")
    total = f"{len(found)} known {how}"
    lines += textwrap.wrap(f"{total}: {', '.join(counts)}." if counts else f"{total}.", width)
    return "\n".join(lines) + "\n"
