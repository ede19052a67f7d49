"""`clauseway survey`: a table of openings, each row like one that is described, answered all at once."""

from __future__ import annotations

import json
import sys
import time
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import Where, day, rulebook_for, shelf_of
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules

if TYPE_CHECKING:
    from clauseway.survey.run import Totals
    from clauseway.survey.table import Progress

SCHEMA = "clauseway-survey/1"


class Format(StrEnum):
    text = "text"
    json = "json"


def register(app: typer.Typer) -> None:
    """Add this command to the command line."""
    app.command("survey")(survey)


def survey(
    data: Annotated[Path, typer.Argument(metavar="DATASET", help="A table: .parquet, .arrow, .feather or .csv.")],
    described: Annotated[
        str, typer.Option("--openings", help="A file of openings; each row is like one of them, with its own values.")
    ],
    code: Codes = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    rules: Rules = None,
    layer: Layers = None,
    like: Annotated[str, typer.Option("--like", help="The column that names the opening a row is like.")] = "like",
    identity: Annotated[str, typer.Option("--id", help="The column that names the row itself.")] = "id",
    ignore: Annotated[
        list[str] | None, typer.Option("--ignore", help="A column that says nothing of the opening; may be repeated.")
    ] = None,
    failing: Annotated[
        Path | None, typer.Option("--failing", help="Write the rows that do not comply: a new .parquet or .csv.")
    ] = None,
    findings: Annotated[
        Path | None, typer.Option("--findings", help="Write what is not met, a row each: a new .parquet or .csv.")
    ] = None,
    undetermined: Annotated[
        bool, typer.Option("--undetermined", help="Write what is undetermined as well, and what is missing for it.")
    ] = False,
    settle: Annotated[
        bool,
        typer.Option("--settle", help="Ask the checker about what is undetermined: slower, and the same as a check."),
    ] = False,
    accept_memory: Memory = False,
    scheduler: Annotated[
        str, typer.Option("--scheduler", help="Count on a Dask cluster, such as tcp://host:8786; a Parquet file.")
    ] = "",
    quiet: Annotated[bool, typer.Option("--quiet", help="Show no progress.")] = False,
    output: Annotated[Format, typer.Option("--format", help="How the counts are written.")] = Format.text,
) -> None:
    """Answer a table of openings and count. Status: 0 no violation, 1 something fails, 3 something is open."""
    from clauseway.answers import finding as F
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project
    from clauseway.survey.datasets import open_data
    from clauseway.survey.table import Asked, survey_data

    node = read_openings(described)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, Where(place, day(on), choose=choose))
    project = read_project(node, rulebook.vocabulary)
    verdicts = frozenset((F.UNMET, F.UNDETERMINED) if undetermined else (F.UNMET,))
    asked = Asked(identity, like, tuple(ignore or ()), accept_memory, settle, failing, findings, verdicts)
    start = time.perf_counter()
    shown = None if quiet or not sys.stderr.isatty() else _progress(start)
    if scheduler:
        from clauseway.survey.spread import spread

        if failing is not None or findings is not None:
            told = "--scheduler beside --failing or --findings"
            raise ClausewayError(Problem(NOWHERE, told, "one of them: a cluster counts and writes no tables"))
        totals = spread(rulebook, json.dumps(node.plain()), open_data(data), asked, scheduler, shown)
    else:
        totals = survey_data(rulebook, project, open_data(data), asked, shown)
    if output is Format.json:
        typer.echo(json.dumps(totals_data(totals, rulebook.digest, settle), ensure_ascii=False, indent=2))
    else:
        typer.echo(totals_text(totals, settle), nl=False)
    failed, opened = totals.verdicts[F.FAILS], totals.verdicts[F.UNDETERMINED] + totals.verdicts[F.NEEDS_APPROVAL]
    raise typer.Exit(1 if failed else 3 if opened or not totals.rows else 0)


def _progress(start: float) -> Progress:
    def show(rows: int, of: int | None) -> None:
        took = time.perf_counter() - start
        whole = f" of {of:,}" if of is not None else ""
        end = "\n" if rows == of else ""
        typer.echo(f"\r{rows:,}{whole} rows, {rows / max(took, 1e-9):,.0f} a second", nl=False, err=True)
        typer.echo(end, nl=False, err=True)

    return show


def totals_data(totals: Totals, digest: str, settled: bool) -> dict[str, object]:
    """The counts as JSON data."""
    return {
        "schema": SCHEMA,
        "rulebook": digest,
        "rows": totals.rows,
        "settled": settled,
        "verdicts": totals.verdicts,
        "findings": {name: vars(tally) for name, tally in sorted(totals.findings.items())},
    }


def totals_text(totals: Totals, settled: bool) -> str:
    """The counts for people."""
    words = {"does-not-comply": "do not comply", "undetermined": "not decided", "needs-approval": "need approval",
             "complies": "no violation found"}  # fmt: skip
    lines = [f"{totals.rows:,} rows"]
    lines += [f"  {totals.verdicts[name]:>12,}  {said}" for name, said in words.items()]
    rows = [
        (tally.unmet, tally.undetermined + tally.needs_approval, tally.met, name)
        for name, tally in totals.findings.items()
        if tally.unmet or tally.undetermined or tally.needs_approval
    ]
    if rows:
        lines += ["", f"{'not met':>12} {'open':>12} {'met':>12}"]
        lines += [
            f"{unmet:>12,} {opened:>12,} {met:>12,}  {name}"
            for unmet, opened, met, name in sorted(rows, key=lambda row: (-row[0], -row[1], row[3]))
        ]
    if not settled:
        lines += ["", "What is open here may be decided by a check, which tries what is unknown: --settle."]
    lines += ["", "A reading of the codes, not an approval."]
    return "\n".join(lines) + "\n"
