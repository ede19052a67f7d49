"""What differs between two rulebooks, and which doors answer otherwise, as text and as data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from clauseway.answers.contrast import KINDS, RENUMBERED, Contrast, Step
from clauseway.answers.finding import NOT_APPLICABLE, VERDICT_WORDS
from clauseway.answers.swing import Swing, Swings, Turn
from clauseway.answers.wording import place_in_words

WIDTH = 80
_WORDS = {**VERDICT_WORDS, NOT_APPLICABLE: "nothing asked", "": "not asked"}


_PLAIN = ("value", "condition", "permission", "provision", "cell", "row")
"""Parts that the id of a step already says."""


def _wrapped(text: str, width: int, indent: str, then: str) -> list[str]:
    return textwrap.wrap(
        text, width, initial_indent=indent, subsequent_indent=then, break_on_hyphens=False, break_long_words=False
    )


def _counted(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


def contrast_text(a: str, b: str, found: Contrast, *, full: bool = False, width: int = WIDTH) -> str:
    """All that differs, provision by provision; those that are renumbered only come last, in one list."""
    renumbered = found.only(RENUMBERED)
    rest = [name for name in sorted(found.steps) if name not in renumbered]
    lines = _wrapped(f"{a} -> {b}", width, "", "  ")
    if not found.steps:
        return "\n".join([*lines, f"Nothing differs in {_counted(found.same, 'provision')}."]) + "\n"
    counted = {kind: sum(1 for step in found.every if step.kind == kind) for kind in KINDS}
    counts = [f"{number} {kind}" for kind, number in counted.items() if number]
    differ = f"{_counted(len(rest), 'provision differs', 'provisions differ')}, {len(renumbered)} renumbered only"
    lines += [f"{differ}, {found.same} the same."]
    lines += _wrapped(f"In them: {', '.join(counts)}.", width, "", "  ")
    for name in rest:
        lines += ["", *_wrapped(f"{name}  {found.titles[name]}", width, "", "  ")]
        for step in found.steps[name]:
            lines += _step(step, name, width, full)
    if renumbered:
        lines += ["", "Renumbered only"]
        for name in renumbered:
            for step in found.steps[name]:
                lines += _wrapped(f"{step.id}: {step.was} -> {step.now}", width, "  ", "    ")
    if found.known:
        said = "condition says the same and is", "conditions say the same and are"
        text = f"{_counted(len(found.known), *said)} known otherwise: read here, from memory there. Not shown."
        lines += ["", *_wrapped(text, width, "", "")]
    return "\n".join(lines) + "\n"


def _step(step: Step, owner: str, width: int, full: bool) -> Iterator[str]:
    own = step.id.removeprefix(f"{owner}/")
    about = f"{step.part} {own}" if own != owner else step.part
    kind = f"{step.kind} (as the amendment says)" if step.declared else step.kind
    yield from _wrapped(f"{kind}: {about}", width, "  ", "    ")
    was, now = (step.was, step.now) if full else shortened(step.was, step.now)
    if len(was) + len(now) < width - 12 and was and now:
        yield from _wrapped(f"{was} -> {now}", width, "      ", "      ")
    else:
        for mark, said in (("was", was), ("now", now)):
            if said:
                yield from _wrapped(f"{mark}: {said}", width, "      ", "           ")
    for why in step.why:
        yield from _wrapped(f"by {why}", width, "      ", "        ")


def shortened(was: str, now: str, around: int = 6) -> tuple[str, str]:
    """Two long texts without most of what they share at their beginning and end."""
    a, b = was.split(), now.split()
    if len(a) + len(b) < 40 or not a or not b:
        return was, now
    start = 0
    while start < min(len(a), len(b)) and a[start] == b[start]:
        start += 1
    end = 0
    while end < min(len(a), len(b)) - start and a[-1 - end] == b[-1 - end]:
        end += 1
    first, last = max(start - around, 0), max(end - around, 0)

    def cut(words: Sequence[str]) -> str:
        kept = list(words[first : len(words) - last])
        return " ".join((["..."] if first else []) + kept + (["..."] if last else []))

    return cut(a), cut(b)


def swings_text(file: str, found: Swings, *, full: bool = False, width: int = WIDTH) -> str:
    """The doors that answer otherwise, by which condition, and why; with `full` those of the same verdict as well."""
    verdicts = found.verdicts
    lines = [
        f"{file}: {_counted(len(verdicts), 'verdict changes', 'verdicts change')} in "
        f"{_counted(found.openings, 'opening')}"
    ]
    others = [each for each in found.found if each not in verdicts]
    for each in verdicts:
        lines += ["", *_swing(each, width)]
    if others and not full:
        names = ", ".join(each.id for each in others)
        lines += ["", *_wrapped(f"The same verdict, with other findings (--full shows them): {names}", width, "", "  ")]
    elif others:
        lines += ["", "The same verdict, with other findings"]
        for each in others:
            lines += _swing(each, width, "  ")
    return "\n".join(lines) + "\n"


def _swing(each: Swing, width: int, indent: str = "") -> Iterator[str]:
    title = f"{each.id}  {each.title}".rstrip()
    said = f"{_WORDS.get(each.was, each.was)} -> {_WORDS.get(each.now, each.now)}"
    if each.was == each.now:
        said = _WORDS.get(each.was, each.was)
    yield from _wrapped(title, width, indent, f"{indent}  ")
    yield f"{indent}  {said}"
    for why, turns in _by_reason(each.turns):
        for turn in turns:
            yield from _turn(turn, width, indent)
        for step in why:
            was, now = shortened(step.was, step.now)
            change = f": {was} -> {now}" if was and now else f": {was or now}" if was or now else ""
            by = f" ({'; '.join(step.why)})" if step.why else ""
            yield from _wrapped(
                f"because {step.id} is {step.kind}{change}{by}", width, f"{indent}      ", f"{indent}        "
            )


def _by_reason(turns: Iterable[Turn]) -> list[tuple[tuple[Step, ...], list[Turn]]]:
    """The conditions that turned, those with one reason together."""
    found: dict[tuple[Step, ...], list[Turn]] = {}
    for turn in turns:
        found.setdefault(turn.why, []).append(turn)
    return list(found.items())


def _turn(turn: Turn, width: int, indent: str) -> Iterator[str]:
    passage = turn.subject.passage.rpartition("/")[2]
    about = place_in_words(turn.subject.path) + (f" ({passage})" if passage else "")
    mode = f", in mode {turn.mode}" if turn.mode else ""
    verdict = f"{turn.was or 'not asked'} -> {turn.now or 'not asked'}"
    yield from _wrapped(f"- {turn.finding}, {about}{mode}: {verdict}", width, f"{indent}  ", f"{indent}    ")
