"""`clauseway schedule`: door schedules in, and answers back into them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_cli.description import description_text
from clauseway_cli.options import (
    Choose,
    Codes,
    In,
    Layers,
    Memory,
    On,
    Rules,
    Where,
    day,
    rulebook_for,
    rulebook_named,
    shelf_of,
)
from clauseway_cli.text import WIDTH

if TYPE_CHECKING:
    from clauseway.law.rulebook import Rulebook
    from clauseway_schedules.openings import Imported
    from clauseway_schedules.sheet import Workbook

app = typer.Typer(help="Door schedules: sheets of doors in, answers back into them.", no_args_is_help=True)

Schedule = Annotated[Path, typer.Argument(metavar="SCHEDULE", help="A door schedule, .csv or .xlsx.")]
MappingFile = Annotated[Path, typer.Argument(metavar="MAPPING", help="What its columns mean; see schedule propose.")]
_MOST_SHOWN = 40


@app.command()
def propose(
    schedule: Schedule,
    output: Annotated[Path, typer.Option("--output", "-o", help="The mapping to write; nothing is overwritten.")],
    base: Annotated[str, typer.Option("--base", help="A file of openings with codes, building and sets.")] = "",
    code: Codes = None,
    rules: Rules = None,
) -> None:
    """Propose what the columns of a schedule mean, to be confirmed by a person."""
    from clauseway_cli.files import write_new
    from clauseway_schedules.propose import mapping_text
    from clauseway_schedules.propose import propose as propose_mapping
    from clauseway_schedules.read_book import read_book

    book = read_book(schedule)
    proposals = propose_mapping(book, rulebook_named(code, rules, None).vocabulary)
    if not proposals:
        raise ClausewayError(
            Problem(Place(str(schedule)), "no sheet looks like a list of doors or rooms", "a heading such as DOOR NO")
        )
    write_new(output, mapping_text(book, proposals, base))
    for proposal in proposals:
        known = [column for column in proposal.columns if column.to]
        typer.echo(
            f"{proposal.sheet}: {proposal.describes} named by {proposal.name or 'nothing'}; "
            f"{len(known)} of {len(proposal.columns)} columns recognised"
        )
    typer.echo(f"{output} is written. Look at each column, say confirmed: yes, then: clauseway schedule import")


@app.command("import")
def import_schedule(
    schedule: Schedule,
    mapping: MappingFile,
    output: Annotated[Path, typer.Option("--output", "-o", help="The file of openings to write (.yaml or .json).")],
    code: Codes = None,
    rules: Rules = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
) -> None:
    """Turn a schedule into a file of openings. Status 3 when some cell was not understood."""
    from clauseway_cli.files import write_new

    book, imported, _ = _imported(schedule, mapping, code, rules, None, Where(place, day(on), choose=choose))
    write_new(output, description_text(imported.data, output, indent=1))
    _show(book, imported)
    typer.echo(f"{output} is written; next: clauseway check {output}")
    raise typer.Exit(3 if imported.troubles else 0)


@app.command()
def answer(
    schedule: Schedule,
    mapping: MappingFile,
    output: Annotated[Path, typer.Option("--output", "-o", help="The schedule with answers to write (.csv or .xlsx).")],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    accept_memory: Memory = False,
) -> None:
    """Check a schedule and write it again with a verdict, its reasons and what was not understood beside each door."""
    from clauseway.answers.check import check
    from clauseway.answers.finding import VERDICT_WORDS
    from clauseway.case.project import read_project
    from clauseway.text.source import node_from_data
    from clauseway_cli.files import write_new, write_new_bytes
    from clauseway_schedules.answer_sheet import answered_csv, answered_xlsx

    if output.suffix.casefold() not in (".csv", ".xlsx") or output.suffix.casefold() != schedule.suffix.casefold():
        raise ClausewayError(Problem(Place(str(output)), "another kind of file", f"a new {schedule.suffix} file"))
    book, imported, rulebook = _imported(schedule, mapping, code, rules, layer, Where(place, day(on), choose=choose))
    project = read_project(node_from_data(imported.data, str(schedule)), rulebook.vocabulary)
    report = check(rulebook, project, on=day(on), accept_memory=accept_memory)
    openings = [each for each in report.answers if each.kind == "opening"]
    if output.suffix.casefold() == ".csv":
        write_new(output, answered_csv(book, imported, openings))
    else:
        write_new_bytes(output, answered_xlsx(schedule, imported, openings))
    _show(book, imported)
    for verdict, words in VERDICT_WORDS.items():
        count = sum(1 for each in openings if each.verdict == verdict)
        if count:
            typer.echo(f"{count:6} {words}")
    typer.echo(f"{output} is written.")
    raise typer.Exit(report.status)


def _imported(
    schedule: Path,
    mapping: Path,
    code: list[str] | None,
    rules: list[Path] | None,
    layer: list[str] | None,
    where: Where,
) -> tuple[Workbook, Imported, Rulebook]:
    from clauseway.case.project import read_project
    from clauseway.text.source import node_from_data, read_yaml
    from clauseway_schedules.base import read_base
    from clauseway_schedules.mapping import read_mapping
    from clauseway_schedules.openings import import_book
    from clauseway_schedules.read_book import read_book

    node = read_yaml(mapping)
    read = read_mapping(node)
    base = read_base(read, mapping, node)
    rulebook = rulebook_for(node_from_data(base, read.base), code, shelf_of(rules), layer, where)
    book = read_book(schedule)
    imported = import_book(book, read, base, rulebook.vocabulary)
    read_project(node_from_data(imported.data, str(schedule)), rulebook.vocabulary)
    return book, imported, rulebook


def _show(book: Workbook, imported: Imported) -> None:
    """What became of the cells, and each that was not understood."""
    counts = ", ".join(f"{number} {state}" for state, number in imported.counts.items())
    typer.echo(f"{book.name}: {len(imported.rows)} rows; cells: {counts or 'none'}")
    show_some([f"{cell.place}: {cell.text}: {cell.why}" for cell in imported.troubles], " cells")


def show_some(notes: Sequence[str], what: str = "") -> None:
    """Notes on what was not understood, the first of them in full and the rest counted."""
    import textwrap

    for note in notes[:_MOST_SHOWN]:
        for line in textwrap.wrap(note, WIDTH, initial_indent="  ", subsequent_indent="    "):
            typer.echo(line)
    if len(notes) > _MOST_SHOWN:
        typer.echo(f"  and {len(notes) - _MOST_SHOWN}{what} more")
