"""`clauseway amend new`: asks, or takes options, and writes a commented amendment into a folder of one's own."""

from __future__ import annotations

import re
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_cli.asked import day, library_of
from clauseway_cli.options import Rules

if TYPE_CHECKING:
    from clauseway.answers.drafting import Sample
    from clauseway.answers.footing import Footing
    from clauseway.law.library import Library

_DIRECTIONS = ("stricter", "looser", "neutral")
_BASES = ("published", "memory", "practice")
_ENACTED = ("statute", "rule", "ordinance", "resolution", "order")


@dataclass(frozen=True)
class _Wanted:
    """What the person said, with all questions answered."""

    at: str
    verb: str
    value: str
    place: str
    name: str
    parent: str
    code: str
    layer: str
    cite: str
    since: str
    direction: str
    reason: str
    basis: str
    enacted: str


def new(
    at: Annotated[
        str, typer.Argument(metavar="TARGET", help="What is changed, such as sensor-release/parameters/height_max.")
    ] = "",
    folder: Annotated[Path, typer.Option("--folder", help="Your own folder of rules.")] = Path("my-rules"),
    place: Annotated[
        str, typer.Option("--in", help="Whose law it is: an ISO code or UN/LOCODE.", metavar="JURISDICTION")
    ] = "",
    name: Annotated[str, typer.Option("--name", help="The name of a jurisdiction that is not described yet.")] = "",
    parent: Annotated[str, typer.Option("--parent", help="The jurisdiction above it, such as US-WA.")] = "",
    code: Annotated[str, typer.Option("--code", help="The code that it adopts where nothing is above it.")] = "",
    set_to: Annotated[str, typer.Option("--set", help="The new value.")] = "",
    put_in: Annotated[str, typer.Option("--put-in", help="A member that a set gains.")] = "",
    take_out: Annotated[str, typer.Option("--take-out", help="A member that a set loses.")] = "",
    renumber: Annotated[str, typer.Option("--renumber", help="The new number of a section or item.")] = "",
    remove: Annotated[bool, typer.Option("--remove", help="The target is taken away.")] = False,
    cite: Annotated[str, typer.Option("--cite", help="Where it stands: a law and a number in it.")] = "",
    since: Annotated[str, typer.Option("--from", help="The first day on which it stands.", metavar="YYYY-MM-DD")] = "",
    layer: Annotated[str, typer.Option("--layer", help="A name for it; else made from the place.")] = "",
    direction: Annotated[str, typer.Option("--direction", help="stricter, looser or neutral; else found out.")] = "",
    reason: Annotated[str, typer.Option("--reason", help="Why, in plain words.")] = "",
    basis: Annotated[str, typer.Option("--basis", help="How you know it: published, memory or practice.")] = "",
    enacted: Annotated[str, typer.Option("--enacted", help="By what: ordinance, statute, rule ...")] = "",
    rules: Rules = None,
) -> None:
    """Write a commented amendment with examples. What no option says is asked; nothing is overwritten."""
    from clauseway.text.source import parse_yaml

    for option, said, known in (
        ("--direction", direction, _DIRECTIONS),
        ("--basis", basis, _BASES),
        ("--enacted", enacted, _ENACTED),
    ):
        if said and said not in known:
            raise ClausewayError(Problem(NOWHERE, f"{option} {said}", one_of(known), nearest(said, known) or ""))
    given = {"set": set_to, "put_in": put_in, "take_out": take_out, "renumber": renumber}
    verbs = [verb for verb, value in given.items() if value] + (["remove"] if remove else [])
    if len(verbs) > 1:
        raise ClausewayError(Problem(NOWHERE, f"{' and '.join(verbs)} together", "one change in one amendment"))
    own = [folder] if folder.is_dir() and any(folder.iterdir()) else []
    library = library_of([*(rules or ()), *own])
    at = at or _ask("What is changed (such as sensor-release/parameters/height_max)?", "TARGET")
    place = place or _ask("Whose law is it (such as US-WA or USSEA)?", "--in")
    described = place in library.jurisdictions
    if not described:
        name = name or _ask(f"{place} is not described yet. What is its name?", "--name")
        if not parent and not code:
            parent = _ask("Which jurisdiction is above it (such as US-WA; empty for none)?", "--parent", empty=True)
        if not parent and not code:
            code = _ask("Which code does it adopt (such as ibc@2021)?", "--code")
    if not verbs:
        set_to = _ask("What is the new value?", "--set")
        verbs, given = ["set"], {**given, "set": set_to}
    cite = cite or _ask("Where does it stand (a law and a number in it, such as Ordinance 12-3)?", "--cite")
    since = day(since or _ask("From which day (YYYY-MM-DD)?", "--from"), "--from")
    if not basis:
        read = _ask("Have you read it in the law you cite (yes or no)?", "--basis")
        basis = "published" if read.casefold() in ("yes", "y") else "memory"
    value = given.get(verbs[0], "") or "true"
    parse_yaml(value, f"--{verbs[0]}")
    slug = re.sub(r"[^a-z0-9]+", "-", (name or place).casefold()).strip("-") or "amendment"
    wanted = _Wanted(
        at, verbs[0], value, place, "" if described else name, parent, code, layer or f"{slug}-{since[:4]}", cite,
        since, direction, reason, basis, enacted,
    )  # fmt: skip
    _write(library, wanted, folder, [*(rules or ()), *own])


def _ask(question: str, option: str, *, empty: bool = False) -> str:
    """An answer from the terminal or a pipe.

    Raises:
        ClausewayError: when there is none.
    """
    typer.echo(f"{question} ", nl=False, err=True)
    line = sys.stdin.readline()
    if line.strip() or (empty and line):
        return line.strip()
    raise ClausewayError(Problem(NOWHERE, f"{option} is not said", question))


def _write(library: Library, wanted: _Wanted, folder: Path, roots: list[Path]) -> None:
    """Try the amendment beside the rules, then write it with examples."""
    from clauseway_cli.files import write_new

    ground = _ground(library, wanted)
    text = _layer_text(library, wanted, ground, [], wanted.direction)
    target = folder / "jurisdictions" / wanted.place
    files = {target / f"{wanted.layer}.yaml": text}
    adoption = _adoption_text(wanted, ground) if wanted.name else ""
    if adoption:
        files[target / "adoptions.yaml"] = adoption
    for path in files:
        if path.exists():
            raise ClausewayError(Problem(NOWHERE, f"{path} is there already", "--layer with another name"))
    direction, found = _tried(wanted, text, adoption, roots)
    files[target / f"{wanted.layer}.yaml"] = _layer_text(library, wanted, ground, found, direction)
    target.mkdir(parents=True, exist_ok=True)
    for path, content in files.items():
        write_new(path, content)
        typer.echo(f"{path} is written.")
    main = target / f"{wanted.layer}.yaml"
    typer.echo(f"Read it, then: clauseway amend check {main}")


def _ground(library: Library, wanted: _Wanted) -> Footing:
    """What the amendment is laid over."""
    from clauseway.answers.footing import Footing, grounds
    from clauseway.law.laying import Terms
    from clauseway.law.resolve import parse_code
    from clauseway.model.jurisdiction import TODAY

    if wanted.name and not wanted.parent:
        code, edition = parse_code(wanted.code, library)
        terms = Terms({TODAY: wanted.since}, drafts=True)
        return Footing(wanted.code, (wanted.code,), code.id, edition, (), terms)
    found = grounds(library, wanted.parent if wanted.name else wanted.place, wanted.since)
    owner = wanted.at.partition("/")[0]
    only = wanted.code.partition("@")[0]
    having = [each for each in found if owner in library.codes[each.code].provisions and only in ("", each.code)]
    if not having:
        names = sorted({name for each in found for name in library.codes[each.code].provisions})
        over = one_of([f"{each.code}@{each.edition}" for each in found])
        raise ClausewayError(Problem(NOWHERE, f"no provision {owner} in {over}", "an id", nearest(owner, names) or ""))
    if len({each.code for each in having}) > 1:
        codes = [each.code for each in having]
        raise ClausewayError(Problem(NOWHERE, f"{owner} stands in several codes", f"--code, {one_of(codes)}"))
    return having[-1]


def _tried(wanted: _Wanted, text: str, adoption: str, roots: list[Path]) -> tuple[str, list[Sample]]:
    """Whether the amendment stands, its direction, and examples that show what it does; made in a folder that goes."""
    from clauseway.answers.contrast import contrast
    from clauseway.answers.drafting import direction_of, samples
    from clauseway.answers.footing import footings
    from clauseway_cli.files import write_new

    with tempfile.TemporaryDirectory(prefix="clauseway-") as made:
        own = Path(made) / "jurisdictions" / wanted.place
        own.mkdir(parents=True)
        write_new(own / f"{wanted.layer}.yaml", text)
        if adoption:
            write_new(own / "adoptions.yaml", adoption)
        library = library_of([*roots, Path(made)])
        footing = footings(library, wanted.layer, wanted.since)[-1]
        books = [footing.before(library), footing.after(library, wanted.layer)]
        found = contrast(*books)
        owner = wanted.at.partition("/")[0]
        return wanted.direction or direction_of(found), samples(library, footing, owner, books)


def _layer_text(library: Library, wanted: _Wanted, ground: Footing, found: list[Sample], direction: str) -> str:
    from clauseway.answers.drafting import quoted, standing, target, was_of

    provisions = standing(library, ground)
    node = target(provisions, wanted.at, f"{ground.code}@{ground.edition}")
    owner = provisions[wanted.at.partition("/")[0]]
    title = owner.get("title")
    was = was_of(node, wanted.verb)
    draft = "" if wanted.name else "status: draft        # until an adoption names it under layers: then it is law\n"
    enacted = f"enacted: {{by: {wanted.enacted}, cite: {quoted(wanted.cite)}}}\n" if wanted.enacted else ""
    whose = f"{wanted.name or wanted.place}"
    lines = [
        f"# An amendment of {whose}. Lines that begin with # are notes; take them away as you like.",
        f"layer: {wanted.layer}",
        f"title: {quoted(f'{whose}, amendments')}",
        f"code: {ground.code}",
        f"editions: [{ground.edition}]     # the editions that it speaks of",
        f"{draft}basis: {wanted.basis}       # published: read in the law that is cited; memory: not read",
        f"{enacted}changes:",
        f"  # {title.text if title is not None else wanted.at} ({owner.place})",
        f"  - at: {wanted.at}",
        f"    {wanted.verb}: {wanted.value}",
    ]
    if was:
        lines.append(f"    was: {was}     # what stands there now; if that changes, checks stop and say so")
    lines.append(f"    cite: {quoted(wanted.cite)}")
    lines.append(f"    direction: {direction}" if direction else "    # direction: stricter, looser or neutral")
    lines.append(f"    reason: {quoted(wanted.reason)}" if wanted.reason else "    # reason: why, in plain words")
    lines.append("# Doors that show what it does: the verdict before it and under it. Add your own.")
    if not found:
        lines += [
            "# examples:",
            "#   - says: What this door shows, in a sentence.",
            "#     base: sensor-magnet        # a file in examples",
            "#     change: {openings.d.devices.button.height: 47 in}",
            "#     expect: {sensor-release/manual-release: unmet}",
        ]
    else:
        lines.append("examples:")
    for sample in found:
        changed = ", ".join(f"{path} {value}" for path, value in sample.change) or f"{sample.base} as it is"
        after = (
            f"still {sample.after}" if sample.before == sample.after else f"{sample.before} before, {sample.after} now"
        )
        lines += [
            f"  - says: {quoted(f'{changed}; {after}.')}",
            f"    base: {sample.base}",
            *_change_line(sample),
            f"    before: {{{sample.condition}: {sample.before}}}",
            f"    expect: {{{sample.condition}: {sample.after}}}",
        ]
    return "\n".join(lines) + "\n"


def _adoption_text(wanted: _Wanted, ground: Footing) -> str:
    """What a jurisdiction that was not described adopts: what stands above it, or a code, with the amendment."""
    from clauseway.answers.drafting import quoted

    base = f"follows: parent\n    of: {ground.code}" if wanted.parent else f"code: {ground.code}@{ground.edition}"
    return "\n".join(
        [
            f"# What {wanted.name} has adopted, and since when.",
            f"jurisdiction: {wanted.place}",
            f"name: {quoted(wanted.name)}",
            *([f"parent: {wanted.parent}"] if wanted.parent else []),
            "adoptions:",
            f"  {wanted.layer}:",
            f"    title: {quoted(f'Building code of {wanted.name}')}",
            f"    {base}",
            f"    layers: [{wanted.layer}]",
            f"    from: {wanted.since}",
            f"    cite: {quoted(wanted.cite)}",
            f"    basis: {wanted.basis}",
            "",
        ]
    )


def _change_line(sample: Sample) -> list[str]:
    changes = ", ".join(f"{path}: {value}" for path, value in sample.change)
    return [f"    change: {{{changes}}}"] if changes else []
