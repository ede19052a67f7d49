"""Whether what is described works, as text: what does not, and what is still to be described."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from clauseway.answers import finding as F
from clauseway.answers import works as W

_SHOWN = {W.YES: "yes", W.NO: "NO", W.OPEN: "not known yet"}
_MOST = 6


def works_text(
    answer: F.Answer,
    practice: frozenset[str],
    item: Callable[[str], list[str]],
    finding: Callable[[F.Finding], Iterator[str]],
) -> Iterator[str]:
    """The section on engineering practice; nothing where nothing of it could be computed."""
    if answer.works == W.NOTHING:
        return
    own = [each for each in answer.findings if each.code in practice]
    counts = ((F.MET, "sound"), (F.UNMET, "not"), (F.UNDETERMINED, "not known"))
    counted = [(sum(each.verdict == verdict for each in own), word) for verdict, word in counts]
    told = ", ".join(f"{count} {word}" for count, word in counted if count)
    yield f"Does it work: {_SHOWN[answer.works]} ({told}; engineering, no code)"
    for each in own:
        if each.verdict == F.UNMET:
            yield from finding(each)
    open_ones = [each for each in own if each.verdict == F.UNDETERMINED]
    cannot = sorted({m.ask for each in open_ones for m in each.missing if m.missing.kind == "computation"})
    labels = sorted({m.fact for each in open_ones for m in each.missing if m.missing.kind != "computation"})
    for text in cannot:
        yield from item(text)
    if labels:
        more = f" and {len(labels) - _MOST} more" if len(labels) > _MOST else ""
        yield from item(f"Not described: {', '.join(labels[:_MOST])}{more}.")
