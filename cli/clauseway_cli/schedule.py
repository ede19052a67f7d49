"""`clauseway schedule`: door schedules in, and answers back into them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway_cli.asked import Where, day, rulebook_for, rulebook_named, shelf_of
from clauseway_cli.description import description_text
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules
from clauseway_cli.text import WIDTH

if TYPE_CHECKING:
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook
    from clauseway_schedules.openings import Imported
    from clauseway_schedules.sheet import Workbook

app = typer.Typer(help="Door schedules: sheets of doors in, answers back into them.", no_args_is_help=True)


def register(whole: typer.Typer) -> None:
    """Add these commands to the command line."""
    whole.add_typer(app, name="schedule")


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

    found = _found(schedule, mapping, code, rules, None, Where(place, day(on), choose=choose))
    write_new(output, description_text(found.imported.data, output, indent=1))
    _show(found)
    typer.echo(f"{output} is written; next: clauseway check {output}")
    raise typer.Exit(3 if found.imported.troubles else 0)


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
    from clauseway.answers.finding import VERDICT_WORDS, status_of, worst
    from clauseway.answers.many import Work, made_of_each
    from clauseway_cli.files import refuse_existing, write_new, write_new_bytes
    from clauseway_cli.progress import progress
    from clauseway_schedules.answer_sheet import answered_csv, answered_xlsx, words_of

    if output.suffix.casefold() not in (".csv", ".xlsx") or output.suffix.casefold() != schedule.suffix.casefold():
        raise ClausewayError(Problem(Place(str(output)), "another kind of file", f"a new {schedule.suffix} file"))
    refuse_existing(output)
    found = _found(schedule, mapping, code, rules, layer, Where(place, day(on), choose=choose))
    work = Work(found.rulebook, found.project, words_of, accept_memory=accept_memory)
    with progress("Checking") as tell:
        made = list(made_of_each(work, tell=tell))
    doors = [each for each in made if each.kind == "opening"]
    words = {each.id: each.of for each in doors}
    if output.suffix.casefold() == ".csv":
        write_new(output, answered_csv(found.book, found.imported, words))
    else:
        write_new_bytes(output, answered_xlsx(schedule, found.imported, words))
    _show(found)
    for verdict, named in VERDICT_WORDS.items():
        count = sum(1 for each in doors if each.verdict == verdict)
        if count:
            typer.echo(f"{count:6} {named}")
    typer.echo(f"{output} is written.")
    raise typer.Exit(worst(status_of(each.verdict, each.works) for each in made))


@app.command()
def report(
    schedule: Schedule,
    mapping: MappingFile,
    output: Annotated[Path, typer.Option("--output", "-o", help="The file to write, as clauseway report writes it.")],
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    accept_memory: Memory = False,
    since: Annotated[
        Path | None, typer.Option("--changed-since", help="A record; the page shows what is not as it was.")
    ] = None,
    matrix: Annotated[bool, typer.Option("--matrix", help="As .csv: doors by arrangement, not findings.")] = False,
) -> None:
    """Check a schedule and write a report for people: .html, .pdf, .csv, .json or .bcfzip. Status as for check."""
    from clauseway_cli.report import Asked, write_report

    asked = Asked(output, since, matrix, on=day(on), accept_memory=accept_memory)
    found = _found(schedule, mapping, code, rules, layer, Where(place, day(on), choose=choose))
    _show(found)
    raise typer.Exit(write_report([(found.rulebook, found.project)], asked))


@dataclass(frozen=True)
class _Found:
    """A schedule as it was read: what became of its cells, and the project with the rulebook it is judged by."""

    book: Workbook
    imported: Imported
    rulebook: Rulebook
    project: Project


def _found(
    schedule: Path,
    mapping: Path,
    code: list[str] | None,
    rules: list[Path] | None,
    layer: list[str] | None,
    where: Where,
) -> _Found:
    from clauseway.case.project import read_project
    from clauseway.text.source import Limits, node_from_data, read_yaml
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
    # How large a schedule may be is for its own reader to say.
    openings = node_from_data(imported.data, str(schedule), limits=Limits(bytes=2**30, nodes=10**8))
    return _Found(book, imported, rulebook, read_project(openings, rulebook.vocabulary))


def _show(found: _Found) -> None:
    """What became of the cells, and each that was not understood."""
    imported = found.imported
    counts = ", ".join(f"{number} {state}" for state, number in imported.counts.items())
    typer.echo(f"{found.book.name}: {len(imported.rows)} rows; cells: {counts or 'none'}")
    show_some([f"{cell.place}: {cell.text}: {cell.why}" for cell in imported.troubles], " cells")


def show_some(notes: Sequence[str], what: str = "") -> None:
    """Notes on what was not understood, the first of them in full and the rest counted."""
    import textwrap

    for note in notes[:_MOST_SHOWN]:
        for line in textwrap.wrap(note, WIDTH, initial_indent="  ", subsequent_indent="    "):
            typer.echo(line)
    if len(notes) > _MOST_SHOWN:
        typer.echo(f"  and {len(notes) - _MOST_SHOWN}{what} more")
