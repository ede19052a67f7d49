"""`clauseway rules mutate`: which mistakes in the rules would no example notice?"""

from __future__ import annotations

import time
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import library_of
from clauseway_cli.options import Rules

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from clauseway.answers.mutation import Fate
    from clauseway.law.equivalents import Equivalent
    from clauseway.law.library import Code, Library

_WITHOUT_TESTS = frozenset({"code", "sources", "clauses"})
"""Files beside the provisions of a code in which nothing is tested."""


class Format(StrEnum):
    """How the answer is written."""

    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add the command to the commands about rules."""
    app.command("mutate")(mutate)


def mutate(
    code: Annotated[
        list[str] | None, typer.Option("--code", help="A code, or one edition of it (ibc@2021); may be repeated.")
    ] = None,
    only: Annotated[
        list[str] | None,
        typer.Option("--only", help="A provision, or a changed file of the rules; may be repeated.", metavar="ID|FILE"),
    ] = None,
    rules: Rules = None,
    show_all: Annotated[bool, typer.Option("--all", help="Show every mutant and the example that notices it.")] = False,
    output: Annotated[Format, typer.Option("--format", help="How the answer is written.")] = Format.text,
) -> None:
    """Make small mistakes in the rules, one at a time, and report those that no example notices.

    Status: 0 when every mutant is noticed or explained, 1 when one is open or an explanation explains nothing.
    """
    from clauseway.answers.mutation import mutated, stale
    from clauseway.law.equivalents import equivalents_of

    started = time.monotonic()
    library = library_of(rules)
    chosen = _editions(library, code or [])
    wanted = _wanted(library, only or [])
    found: list[Fate] = []
    problems: list[tuple[Equivalent, str]] = []
    for name, editions in chosen.items():
        spoken = library.codes[name]
        explained = equivalents_of(library, spoken)
        own = mutated(library, spoken, editions, wanted, explained)
        found += own
        if editions == spoken.editions:
            problems += stale(explained, own, wanted)
    seconds = time.monotonic() - started
    if output is Format.json:
        typer.echo(_as_json(found), nl=False)
    else:
        typer.echo(_as_text(found, problems, seconds, show_all=show_all), nl=False)
    raise typer.Exit(1 if problems or any(fate.status == "open" for fate in found) else 0)


def _editions(library: Library, codes: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """The editions to look at by code: of each code named, or of all."""
    from clauseway.law.resolve import parse_code

    if not codes:
        return {name: code.editions for name, code in library.codes.items()}
    chosen: dict[str, tuple[str, ...]] = {}
    for written in codes:
        if "@" in written:
            code, edition = parse_code(written, library)
            chosen[code.id] = (*chosen.get(code.id, ()), edition)
        else:
            code = library.codes.get(written) or library.code(written)
            chosen[code.id] = code.editions
    return chosen


def _wanted(library: Library, only: Sequence[str]) -> frozenset[str]:
    """The names of the provisions that `only` speaks of: by id, or by a file that they depend on.

    The file of an example base stands for the provisions that use it, a list of explained mutants for its code, a file
    of facts for everything.

    Raises:
        ClausewayError: for what is none of these.
    """
    from clauseway.text.nearest import nearest

    known = {f"{code.id}.{name}": code for code in library.codes.values() for name in code.provisions}
    found: set[str] = set() if only else set(known)
    for written in only:
        path = Path(written)
        folders = path.parts[:-1] if path.suffix == ".yaml" else ()
        names = [name for name in known if written in (name, name.partition(".")[2])]
        if "facts" in folders:
            names = list(known)
        elif "examples" in folders:
            names = [name for name, code in known.items() if _uses(library, code, name.partition(".")[2], path.stem)]
        elif "codes" in folders and path.stem == "mutants":
            names = [name for name in known if name.startswith(f"{path.parent.name}.")]
        elif "codes" in folders:
            names = [name for name in known if name == f"{path.parent.name}.{path.stem}"]
        says_nothing = bool(folders) and ("examples" in folders or path.stem in _WITHOUT_TESTS)
        if not names and not says_nothing:
            near = nearest(written, known) or ""
            raise ClausewayError(Problem(NOWHERE, f"--only {written}", "a provision, or a file of the rules", near))
        found.update(names)
    return frozenset(found)


def _uses(library: Library, code: Code, provision: str, base: str) -> bool:
    """Whether an example of a provision starts from the base of that name."""
    from clauseway.answers.examples import examples_of

    return any(Path(example.base.place.file).stem == base for example in examples_of(library, code, provision))


def _as_text(
    found: Sequence[Fate], problems: Iterable[tuple[Equivalent, str]], seconds: float, *, show_all: bool
) -> str:
    lines: list[str] = []
    grouped: dict[tuple[str, str, str], list[str]] = {}
    for fate in found:
        if show_all or fate.status == "open":
            grouped.setdefault((fate.mutant, fate.status, fate.by), []).append(fate.edition)
    for (mutant, status, by), editions in grouped.items():
        lines.append(f"{status}: {mutant}")
        lines.append(f"    in {', '.join(editions)}{f'; {by}' if by else ''}")
    for equivalent, why in problems:
        lines.append(f"{equivalent.place}: {why}: {equivalent.mutant}")
    counts = {status: sum(fate.status == status for fate in found) for status in ("killed", "equivalent", "open")}
    lines.append(
        f"{len(found)} mutants: {counts['killed']} killed, {counts['equivalent']} equivalent, "
        f"{counts['open']} open ({seconds:.0f} s)"
    )
    return "\n".join(lines) + "\n"


def _as_json(found: Sequence[Fate]) -> str:
    import json
    from dataclasses import asdict

    return json.dumps([asdict(fate) for fate in found], indent=1, ensure_ascii=False) + "\n"
