"""The sheets of an installer as a page: headings, paragraphs, lists and tables, whatever they are written in later."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from clauseway.answers import finding as F
from clauseway.answers.under import Under
from clauseway.design.variant import PROPOSED
from clauseway.handover.data import CAUTIONS
from clauseway.handover.sheet import DESCRIBED, Confirm, Handover, Reason, Row, SequenceLine, Setting, Step
from clauseway.law.rulebook import Rulebook
from clauseway.model.vocabulary import PHASES
from clauseway_cli.law_text import law_lines
from clauseway_cli.text import cite

MEASURE, DECIDE = "not known: measure", "not known: decide"
_PHASES = {
    "normal": "Normal operation",
    "egress": "Egress",
    "loss-of-power": "Loss of power",
    "fire-alarm": "Fire alarm",
    "reset": "Reset",
    "": "At rest",
}
_VERDICTS = {
    F.COMPLIES: "no violation found in what is described",
    F.FAILS: "DOES NOT COMPLY as described: settle that before anything is ordered",
    F.UNDETERMINED: "NOT DECIDED: something is not known",
    F.NEEDS_APPROVAL: "NEEDS APPROVAL of the authority",
}
_WORKS = {"yes": "yes", "no": "NO", "undetermined": "not known", "not-described": "not described"}
_MARKS = {
    F.MET: "met",
    F.UNMET: "NOT MET",
    F.UNDETERMINED: "not known",
    F.NEEDS_APPROVAL: "needs approval",
    DESCRIBED: "as described",
}
_NO_CLAUSE = "asked by no clause of these codes"
_INTERVAL = "since_inspection"


@dataclass(frozen=True, slots=True)
class Heading:
    level: int
    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """With `marked`, what stands between backquotes is typed as it is."""

    text: str
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Bullets:
    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """Cells are text; empty ones are space to write in. A column of `codes` holds names that are typed as they are."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    codes: tuple[int, ...] = ()


Block = Heading | Paragraph | Bullets | Table


def page_of(found: Handover, rulebook: Rulebook, project: str, law: Under | None = None) -> list[Block]:
    """The page for one opening; `law` is what a place has adopted, if one is named."""
    return [
        *_front(found, rulebook, project, law),
        *_local(law),
        *_open(found),
        Heading(2, "Device schedule"),
        *_rows(found.devices, "No device is described."),
        *_confirms("To be provided: asked for, and not described", found.provide),
        Heading(2, "Sequence of operation"),
        *_sequence(found.sequence),
        Heading(2, "Sign schedule"),
        *_rows(found.signs, "No sign is described, and none is asked for by what is described."),
        Heading(2, "Acceptance test"),
        *_acceptance(found.acceptance),
        *_confirms("To be shown on paper, or decided", found.confirm),
        Heading(2, "Periodic inspection"),
        *_inspection(found.inspection),
        *_back(found),
    ]


def _front(found: Handover, rulebook: Rulebook, project: str, law: Under | None) -> Iterator[Block]:
    yield Heading(1, f"Handover of {found.opening}" + (f": {found.title}" if found.title else ""))
    if law is not None:
        yield from (Paragraph(line) for line in law_lines(law, width=1000))
    codes = ", ".join(f"{code.title} {code.edition}" for code in rulebook.adopted)
    layers = f" Amended by: {', '.join(rulebook.layers)}." if rulebook.layers else ""
    yield Paragraph(f"{project}. Under: {codes}.{layers} Rulebook: {rulebook.digest}.")
    yield Paragraph(f"The design: {_VERDICTS[found.verdict]}. Does it work (engineering): {_WORKS[found.works]}.")
    for each in found.arrangements:
        lock = each.subject.path.rpartition("/")[2]
        way = each.subject.passage.rpartition("/")[2]
        yield Paragraph(f"Lock {lock}, way {way}: {each.title} ({cite(each.citation)}): {_MARKS[each.verdict]}.")
    if any(step.known_by == PROPOSED for step in found.acceptance):
        yield Paragraph("What is marked (proposed) is what the arrangement needs: nobody has chosen or built it yet.")
    if not found.arrangements:
        yield Paragraph("No lock is meant as an arrangement of these codes.")
    yield Bullets(CAUTIONS)


def _local(law: Under | None) -> Iterator[Block]:
    if law is not None and law.not_encoded:
        yield Heading(2, "Local law that no rule carries: to be read by a person")
        yield Table(
            ("In", "What", "Clause", "Read by"),
            tuple((place, f"{clause.title}. {clause.note}", clause.cite, "") for place, clause in law.not_encoded),
        )


def _open(found: Handover) -> Iterator[Block]:
    if found.not_known:
        yield Heading(2, "Not known yet")
        yield Bullets(tuple(f"{each.ask} ({each.fact})" for each in found.not_known))


def _confirms(title: str, found: Sequence[Confirm]) -> Iterator[Block]:
    if not found:
        return
    yield Heading(2, title)
    yield Table(
        ("Of", "What is asked", "As described", "Standing", "Shown by", "Initials", "Clause"),
        tuple(
            (
                each.place,
                _sentence(each.asks),
                "; ".join(each.described) or "nothing",
                _MARKS[each.verdict],
                "",
                "",
                _clauses([each.reason]),
            )
            for each in found
        ),
    )


def _rows(rows: Sequence[Row], nothing: str) -> Iterator[Block]:
    if not rows:
        yield Paragraph(nothing)
    for row in rows:
        yield Heading(3, f"{row.path.rpartition('/')[2]}: {row.what}")
        words = " ".join(part for part in (row.about, f"{_sentence(row.place)}" if row.place else "") if part)
        if words:
            yield Paragraph(words)
        if row.settings:
            yield Table(
                ("What", "As described", "Accepted", "Standing"),
                tuple(
                    (each.words, each.described or _unknown(each), each.accepted, _MARKS[each.verdict])
                    for each in row.settings
                ),
            )


def _unknown(setting: Setting) -> str:
    return MEASURE if setting.accepted else DECIDE


def _sequence(lines: Sequence[SequenceLine]) -> Iterator[Block]:
    for phase in PHASES:
        own = [line for line in lines if line.phase == phase]
        yield Heading(3, _PHASES[phase])
        if own:
            yield Table(
                ("When", "Then", "Standing", "Clause"),
                tuple(_happens(line) for line in own),
            )
        else:
            yield Paragraph("Nothing is described and nothing is asked: not known, decide.")


def _happens(line: SequenceLine) -> tuple[str, ...]:
    then = f"{_sentence('; '.join(line.places)).rstrip('.')}: {line.says}"
    return line.when, then, _MARKS[line.verdict], _clauses(line.reasons) or _NO_CLAUSE


def _acceptance(steps: Sequence[Step]) -> Iterator[Block]:
    yield Paragraph(
        "Write down what is measured, not what is expected. A step that was not done stays open: it is not passed. "
        "Read the values back with `clauseway measured FILE RESULTS`, by their step.",
        marked=True,
    )
    for phase in ("", *PHASES):
        own = [step for step in steps if step.phase == phase]
        if own:
            yield Heading(3, _PHASES[phase])
            yield Table(
                ("Step", "What, and how", "With", "Accepted", "As described", "Measured", "Initials", "Clause"),
                tuple(_step(step) for step in own),
                codes=(0,),
            )
    yield Table(("Tested by", "Date", "Witnessed by", "Date"), (("", "", "", ""),))


def _step(step: Step) -> tuple[str, ...]:
    return (
        step.id,
        what_and_how(step),
        instrument(step),
        accepted(step),
        _described(step),
        "",
        "",
        _clauses(step.reasons),
    )


def _described(step: Step) -> str:
    if not step.described:
        return MEASURE
    said = f"{step.described}, as follows from the rest" if step.known_by == "derived" else step.described
    return said if step.verdict == F.MET else f"{said} ({_MARKS[step.verdict]})"


def what_and_how(step: Step) -> str:
    """A step in words: what is asked, when, and how it is found out."""
    mode = f" In mode {step.mode}." if step.mode else ""
    place = f"{_sentence(step.place)} " if step.place != "the opening" else ""
    return f"{place}{f'{step.when} ' if step.when and step.phase else ''}{step.question} {step.how}{mode}"


def instrument(step: Step) -> str:
    """With what a step is done, and how finely it is read."""
    return f"{step.tool}, read to {step.to}" if step.to else step.tool


def accepted(step: Step) -> str:
    """What a step accepts; what is only asked in a case that is not known stands apart."""
    said = [step.accepted.words] if step.surely_asked else []
    if step.accepted.provisional and said:
        said.append("(as far as is known)")
    for reason in step.reasons:
        if reason.only_if and reason.accepted:
            said.append(f"[only if it is asked, which depends on {', '.join(reason.only_if)}: {reason.accepted}]")
    return " ".join(dict.fromkeys(said))


def _inspection(steps: Sequence[Step]) -> Iterator[Block]:
    if not steps:
        yield Paragraph("Nothing that is asked here is changed by use.")
        return
    intervals = [step for step in steps if step.fact == _INTERVAL]
    if intervals:
        often = intervals[0]
        words, clause = often.accepted.words, _clauses(often.reasons)
        yield Paragraph(f"How often: time since the last inspection {words} ({clause}).")
    else:
        yield Paragraph("How often: not known. No rule of these codes that is encoded says it here; ask the authority.")
    yield Table(
        ("Step", "What, and how", "With", "Accepted", "Found", "Initials and date", "Clause"),
        tuple(
            (step.id, what_and_how(step), instrument(step), accepted(step), "", "", _clauses(step.reasons))
            for step in steps
        ),
        codes=(0,),
    )


def _back(found: Handover) -> Iterator[Block]:
    yield Heading(2, "What this rests on")
    items = [f"{_sentence(each)}" for each in found.relies_on]
    if found.not_described:
        items.append(f"Engineering is not decided, because these are not described: {', '.join(found.not_described)}.")
    if found.memory:
        items.append(f"Known from memory only, to be verified in the adopted code: {', '.join(found.memory)}.")
    if items:
        yield Bullets(tuple(items))
    else:
        yield Paragraph("Nothing beyond what stands above.")


def _clauses(reasons: Iterable[Reason]) -> str:
    said = []
    for reason in reasons:
        mark = " [rests on memory]" if reason.memory and "[memory]" not in cite(reason.citation) else ""
        said.append(f"{cite(reason.citation)}{mark}")
    return "; ".join(dict.fromkeys(said))


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}." if words else ""
