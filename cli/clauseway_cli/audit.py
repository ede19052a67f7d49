"""The commands of an auditor: trace a finding, write and verify records, see what rests on what."""

from __future__ import annotations

import json
from enum import StrEnum
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway_cli.asked import Where, day, library_of, rulebook_for, rulebook_named, shelf_of
from clauseway_cli.options import Choose, Codes, In, Layers, Memory, On, Rules, Strict

if TYPE_CHECKING:
    from clauseway.answers.record import Record
    from clauseway.case.things import Project
    from clauseway.law.rulebook import Rulebook


class TraceFormat(StrEnum):
    text = "text"
    json = "json"


File = Annotated[str, typer.Argument(help="A file of openings (YAML or JSON), demo, or for trace a record.")]
Day = Annotated[str, typer.Option("--on", help="The date of the answer, recorded in it.", metavar="YYYY-MM-DD")]


def register(app: typer.Typer) -> None:
    """Add these commands to the command line."""
    for command in (trace, affects, record, verify, waivers, history):
        app.command(command.__name__)(command)


def _opened(
    file: str, code: list[str] | None, rules: list[Path] | None, layer: list[str] | None, where: Where | None = None
) -> tuple[Rulebook, Project]:
    from clauseway.case.open import read_openings
    from clauseway.case.project import read_project

    if _is_record(Path(file)):
        return _opened_record(Path(file))
    node = read_openings(file)
    rulebook = rulebook_for(node, code, shelf_of(rules), layer, where)
    return rulebook, read_project(node, rulebook.vocabulary)


def _is_record(path: Path) -> bool:
    """Whether a file begins as every record does."""
    if not path.is_file():
        return False
    with path.open("rb") as opened:
        return opened.read(len(_RECORD)) == _RECORD


_RECORD = b'{"digest":"sha256:'


def _opened_record(path: Path) -> tuple[Rulebook, Project]:
    """The rules and the openings inside a record."""
    from clauseway.answers.record import rulebook_in
    from clauseway.case.project import read_project
    from clauseway.text.source import parse_yaml

    kept = record_of(path)
    rulebook = rulebook_in(kept)
    return rulebook, read_project(parse_yaml(kept.given.text, kept.given.name), rulebook.vocabulary)


def trace(
    file: File,
    opening: Annotated[str, typer.Argument(help="The opening, or a room, stair or other space with findings.")],
    finding: Annotated[str, typer.Argument(help="The finding, such as ibc.free-egress/always-free.")],
    subject: Annotated[str, typer.Argument(help="The lock or other subject, where several have the finding.")] = "",
    code: Codes = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[TraceFormat, typer.Option("--format", help="How the trace is written.")] = TraceFormat.text,
    picture: Annotated[
        Path | None, typer.Option("--output", "-o", help="Write a picture (SVG) here; nothing is overwritten.")
    ] = None,
    depth: Annotated[int, typer.Option("--depth", min=0, help="How many levels to show; 0 shows all.")] = 0,
    show_all: Annotated[bool, typer.Option("--all", help="Show what did not decide as well, as JSON does.")] = False,
    accept_memory: Memory = False,
) -> None:
    """Walk from a finding down to the facts, values and clauses that it rests on."""
    from clauseway.answers.check import check
    from clauseway.answers.trace import trace as trace_of
    from clauseway.answers.trace_node import findings_named
    from clauseway.answers.trace_text import trace_data, trace_svg, trace_text

    rulebook, project = _opened(file, code, rules, layer, Where(place, day(on), choose=choose))
    report = check(rulebook, project, accept_memory=accept_memory)
    found = findings_named(report, opening, rulebook.current(finding), subject)
    trees = [trace_of(rulebook, project, each, accept_memory=accept_memory) for each in found]
    if picture is not None:
        from clauseway_cli.files import write_new

        if len(trees) > 1:
            names = ", ".join(
                f"{f.subject.path.rpartition('/')[2]}/{f.subject.passage.rpartition('/')[2]}" for f in found
            )
            raise ClausewayError(Problem(NOWHERE, f"{len(trees)} findings of this name", f"one subject: {names}"))
        write_new(picture, trace_svg(trees[0], depth, everything=show_all))
        typer.echo(f"{picture} written")
        return
    if output is TraceFormat.json:
        data = [trace_data(tree, depth) for tree in trees]
        typer.echo(json.dumps(data[0] if len(data) == 1 else data, ensure_ascii=False, indent=2))
    else:
        typer.echo("\n".join(trace_text(tree, depth, everything=show_all) for tree in trees), nl=False)


def record(
    file: File,
    output: Annotated[Path, typer.Option("--output", "-o", help="The file to write.")],
    replace: Annotated[bool, typer.Option("--replace", help="Write over an older record.")] = False,
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    on: Day = "",
    waivers: Annotated[Path | None, typer.Option("--waivers", help="A file of waivers to keep with it.")] = None,
    key: Annotated[Path | None, typer.Option("--sign", help="Sign it with this OpenSSH key, by ssh-keygen.")] = None,
    accept_memory: Memory = False,
    strict: Strict = False,
) -> None:
    """Write all that an answer was decided from, and the answer, into one file that anybody can verify."""
    from clauseway import __version__
    from clauseway.answers.record import Input, Settings, make_record
    from clauseway.answers.waivers import read_waivers, under_current_names
    from clauseway.case.open import read_openings
    from clauseway.text.source import parse_yaml, read_yaml
    from clauseway_cli.files import write_new, write_over
    from clauseway_cli.progress import progress

    recorded = day(on)
    read_openings(file)
    name, text = _text_of(file)
    rulebook = rulebook_for(parse_yaml(text, name), code, shelf_of(rules), layer, Where(on=recorded))
    codes = tuple(str(each) for each in rulebook.adopted)
    kept = read_waivers(read_yaml(waivers)) if waivers is not None else ()
    settings = Settings(recorded, accept_memory, strict, codes, tuple(layer or ()))
    kept = under_current_names(kept, rulebook.aliases)
    with progress("Deciding") as tell:
        made = make_record(Input(name, text), rulebook, settings, __version__, kept, processes=0, tell=tell)
    (write_over if replace else write_new)(output, made)
    typer.echo(f"{output} written, {len(made.encode())} bytes")
    if key is not None:
        from clauseway_cli.signing import sign, signature_of

        if replace:
            signature_of(output).unlink(missing_ok=True)
        typer.echo(f"{sign(output, key)} written")


def _text_of(file: str) -> tuple[str, str]:
    """What a file of openings is called, and its text."""
    from clauseway.case.open import openings_path

    return file, openings_path(file).read_bytes().decode("utf-8-sig")


def record_of(path: Path) -> Record:
    """The record in a file.

    Raises:
        ClausewayError: for a file that is none.
    """
    from clauseway.answers.record import LARGEST, read_record

    try:
        if not path.is_file():
            raise ClausewayError(Problem(Place(str(path)), "there is no such file", "a record"))
        if path.stat().st_size > LARGEST:
            raise ClausewayError(Problem(Place(str(path)), f"larger than {LARGEST // 1024 // 1024} MiB", "a record"))
        return read_record(path.read_bytes().decode("utf-8"), str(path))
    except UnicodeDecodeError as error:
        raise ClausewayError(
            Problem(Place(str(path)), f"byte {error.start + 1} is not UTF-8", "a record as it was written")
        ) from None
    except OSError as error:
        raise ClausewayError(Problem(Place(str(path)), f"this file cannot be read: {error.strerror}")) from None


def verify(
    file: Annotated[Path, typer.Argument(help="A record.")],
    rules: Rules = None,
    inside_only: Annotated[bool, typer.Option("--inside", help="Do not decide by today's rules as well.")] = False,
    allowed: Annotated[
        Path | None, typer.Option("--signers", help="A file of allowed signers: check the signature beside the record.")
    ] = None,
    identity: Annotated[str, typer.Option("--signer", help="Who must have signed, as that file names them.")] = "",
    output: Annotated[TraceFormat, typer.Option("--format", help="How it is written.")] = TraceFormat.text,
) -> None:
    """Check a record, decide it again, and compare.

    Status: 0 the same, 1 damaged or not what its own rules give, 3 another answer by today's rules, 2 unreadable.
    """
    from clauseway import __version__
    from clauseway.answers.verify import by_rules_of, verification_data
    from clauseway.answers.verify import verify as verify_record
    from clauseway.answers.waivers import waived, waived_text
    from clauseway_cli.audit_text import verification_text
    from clauseway_cli.progress import progress

    kept = record_of(file)
    signature, refused = "", False
    if allowed is not None:
        from clauseway_cli.signing import signature_of, signed_by

        wrong = signed_by(kept.text.encode(), signature_of(file), allowed, identity)
        signature = f"Signature: NOT GOOD: {wrong}" if wrong else f"Signature: good, by {identity}"
        refused = bool(wrong)

    today = None if inside_only else by_rules_of(library_of(rules), kept)
    with progress("Deciding again") as tell:
        found = verify_record(kept, __version__, today, processes=0, tell=tell)
    if output is TraceFormat.json:
        typer.echo(json.dumps(verification_data(found), ensure_ascii=False, indent=2))
        if signature:
            typer.echo(signature, err=True)
    else:
        typer.echo(verification_text(found, signature), nl=False)
        for line in waived_text(waived(kept.report(), kept.data["waivers"], kept.data["on"])):
            typer.echo(line)
    raise typer.Exit(1 if refused else found.status)


def affects(
    identity: Annotated[str, typer.Argument(metavar="ID", help="A clause, provision, parameter, fact or layer.")],
    file: Annotated[str, typer.Argument(help="A file of openings, to see its findings as well.")] = "",
    code: Codes = None,
    place: In = "",
    on: On = "",
    choose: Choose = "",
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[TraceFormat, typer.Option("--format", help="How it is written.")] = TraceFormat.text,
) -> None:
    """Show all that rests on a clause, a value, a fact or an amendment."""
    from clauseway.answers.affects import affected, affected_data
    from clauseway.answers.check import check
    from clauseway_cli.audit_text import affected_text

    where = Where(place, day(on), choose=choose)
    report = None
    if file:
        rulebook, project = _opened(file, code, rules, layer, where)
        report = check(rulebook, project)
    else:
        rulebook = rulebook_named(code, rules, layer, where)
    found = affected(rulebook, identity, report)
    if output is TraceFormat.json:
        typer.echo(json.dumps(affected_data(found, rulebook), ensure_ascii=False, indent=2))
    else:
        typer.echo(affected_text(found), nl=False)


def waivers(
    file: File,
    waivers: Annotated[Path, typer.Argument(metavar="WAIVERS", help="A file of waivers.")],
    on: Day = "",
    code: Codes = None,
    rules: Rules = None,
    layer: Layers = None,
    output: Annotated[TraceFormat, typer.Option("--format", help="How it is written.")] = TraceFormat.text,
) -> None:
    """Show waivers on top of the verdicts they are about. Status 1 when one is expired or matches nothing."""
    from clauseway.answers.check import check
    from clauseway.answers.report import report_data
    from clauseway.answers.waivers import (
        STANDS,
        read_waivers,
        under_current_names,
        waived,
        waived_data,
        waived_text,
    )
    from clauseway.text.source import read_yaml

    kept = read_waivers(read_yaml(waivers))
    rulebook, project = _opened(file, code, rules, layer)
    kept = under_current_names(kept, rulebook.aliases)
    data = report_data(check(rulebook, project, on=day(on)))
    found = waived(data, kept, day(on))
    if output is TraceFormat.json:
        typer.echo(json.dumps(waived_data(data, found, day(on)), ensure_ascii=False, indent=2))
    else:
        for line in waived_text(found):
            typer.echo(line)
        for answer in data["openings"]:
            typer.echo(f"{answer['id']}: {answer['verdict']}")
    raise typer.Exit(0 if all(each.state == STANDS for each in found) else 1)


def history(
    files: Annotated[list[Path], typer.Argument(metavar="RECORD...", help="Records of a project, the oldest first.")],
) -> None:
    """Show what changed from each record to the next, door by door, and by what."""
    from clauseway.answers.verify import compare
    from clauseway_cli.audit_text import history_text, verdict_changes

    if len(files) < 2:
        raise ClausewayError(Problem(NOWHERE, "one record", "two or more, the oldest first"))
    records = [record_of(path) for path in files]
    steps = [
        (old.name, new.name, verdict_changes(old.report(), new.report()), compare(old, new))
        for old, new in pairwise(records)
    ]
    typer.echo(history_text(steps), nl=False)
