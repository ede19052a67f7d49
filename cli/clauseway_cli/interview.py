"""`clauseway interview`: asks until an opening is decided, and writes the description after every answer."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway_cli.asked import Where, day, rulebook_for, shelf_of
from clauseway_cli.description import description_text
from clauseway_cli.files import write_over
from clauseway_cli.options import Choose, Codes, In, Layers, On, Rules
from clauseway_cli.text import WIDTH

if TYPE_CHECKING:
    from clauseway.case.things import Missing
    from clauseway.design.interview import Question
    from clauseway.law.rulebook import Rulebook

STOP = ("stop", "quit")
_STATUS = {"complies": 0, "does-not-comply": 1}


def interview(
    file: Annotated[str, typer.Argument(help="A file of openings to start from; it is left as it is.")],
    opening: Annotated[str, typer.Argument(help="The opening to ask about.")],
    output: Annotated[
        Path | None, typer.Option("--output", "-o", help="The file to write; an interview goes on from it.")
    ] = None,
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    only_next: Annotated[
        bool, typer.Option("--next", help="Print the next question as JSON, and ask nothing.")
    ] = False,
) -> None:
    """Ask what is not known of an opening until it is decided; answers may also come from a pipe, one a line.

    Status as for check: 0 no violation, 1 something fails, 3 something is still open.
    """
    from clauseway.answers.finding import VERDICT_WORDS
    from clauseway.case.named import openings_named
    from clauseway.case.open import read_openings
    from clauseway.design.interview import UNKNOWN, answered, ask

    if output is None and not only_next:
        raise ClausewayError(Problem(NOWHERE, "no file to write is named", "-o FILE, or --next"))
    source = str(output) if output is not None and output.exists() else file
    node = read_openings(source)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, Where(place, day(on), choose=choose))
    if only_next or output is None:
        from clauseway.design.next_question import interview_data, next_question

        step = next_question(rulebook, node, opening)
        typer.echo(json.dumps(interview_data(step, rulebook), ensure_ascii=False, indent=2))
        raise typer.Exit(_STATUS.get(step.verdict, 3))
    plain = node.plain()
    data: dict[str, Any] = plain if isinstance(plain, dict) else {}
    openings_named(_project(rulebook, data, source), [opening], Place(source))
    left: set[Missing] = set()
    questions = 0
    answers = _answers()
    while True:
        state = ask(rulebook, _project(rulebook, data, source), opening, left)
        if state.question is None:
            break
        _show(state.question)
        text = next(answers, None)
        if text is None or text.strip().casefold() in STOP:
            typer.echo("Stopped here.")
            break
        questions += 1
        if text.strip().casefold() in UNKNOWN:
            left.add(state.question.missing)
            continue
        try:
            data = answered(rulebook, data, state.question, text)
        except ClausewayError as error:
            typer.echo(f"  {error.problems[0]}")
            continue
        write_over(output, description_text(data, output))
    verdict = VERDICT_WORDS[state.verdict]
    typer.echo(f"{opening}: {verdict} after {questions} questions; {output if output.exists() else 'nothing written'}")
    raise typer.Exit(_STATUS.get(state.verdict, 3))


def _project(rulebook: Rulebook, data: dict[str, Any], name: str) -> Any:
    from clauseway.case.project import read_project
    from clauseway.text.source import node_from_data

    return read_project(node_from_data(data, name), rulebook.vocabulary)


def _answers() -> Iterator[str]:
    """Lines as they are typed or piped in; bounded, since nobody types more."""
    while True:
        sys.stdout.write("> ")
        sys.stdout.flush()
        line = sys.stdin.readline(4096)
        if not line:
            return
        yield line.rstrip("\r\n")


def _show(question: Question) -> None:
    typer.echo("")
    for line in textwrap.wrap(question.ask, WIDTH):
        typer.echo(line)
    notes = [question.about]
    shown = ", ".join(question.waiting[:2]) + (
        f" and {len(question.waiting) - 2} more" if len(question.waiting) > 2 else ""
    )
    notes.append(f"It decides or helps to decide {shown}.")
    notes.append(f"Who would know: {question.knows}.")
    for note in notes:
        for line in textwrap.wrap(note, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False):
            typer.echo(line)
    if question.may_be:
        options = "; ".join(
            f"{number} {name}" if len(question.may_be) > 3 else name for number, name in enumerate(question.may_be, 1)
        )
        for line in textwrap.wrap(
            f"Answer: {options}; or unknown, or stop",
            WIDTH,
            initial_indent="  ",
            subsequent_indent="  ",
            break_on_hyphens=False,
        ):
            typer.echo(line)
