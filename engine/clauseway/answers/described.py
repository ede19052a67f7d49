"""Findings on the description itself: lists that may be longer, and values that contradict what follows from others."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.wording import fact_label, form_of, place_in_words, question, value_in_words
from clauseway.case.things import Missing, Thing
from clauseway.language.possible import Choice, Interval, Text, Truth, Value, at_most, belongs, equal, same_text
from clauseway.readers.decide import Decider

DESCRIBED = "described"
_OPENING = "opening"


def disagreements(decider: Decider, thing: Thing) -> Iterator[F.Finding]:
    """Stated values, of a thing or of what belongs to it, that cannot be true beside what is computed."""
    project, vocabulary = decider.project, decider.vocabulary
    below = project.part(thing.path).things
    for derivation in decider.rulebook.derivations.values():
        dotted = derivation.fact
        kind, _, name = dotted.partition(".")
        fact = vocabulary.kinds[kind].facts[name]
        for part in below:
            given = project.given(part.path, name, decider.mode) if part.kind == kind else None
            if given is None:
                continue
            value, _ = decider.derived(part, derivation.name)
            if may_agree(given.value, value, derivation.agrees) is not False:
                continue
            computed = value_in_words(value, form_of(fact), vocabulary)
            yield F.Finding(
                f"{DESCRIBED}.{derivation.id}/agrees",
                DESCRIBED,
                derivation.title,
                F.Subject(kind, part.path),
                decider.mode,
                F.UNMET,
                F.UNMET,
                (derivation.citation,),
                f"{dotted} is stated as {given.typed}, but {computed} follows from what else is stated.",
                "Correct the one that is wrong.",
                {f"{part.path or 'building'}: {dotted}": F.UsedFact(given.typed, given.place, given.known_by)},
                {},
                (),
                (),
                (),
                False,
                derivation.place,
            )


def may_agree(stated: Value, computed: Value, agrees: str = "equal") -> Truth:
    """Whether a stated value can be the computed one, or at least or at most it; `any` is a guess that it replaces."""
    if agrees == "any":
        return None
    if isinstance(stated, Interval) and isinstance(computed, Interval):
        if agrees == "at-least":
            return at_most(computed, stated)
        return at_most(stated, computed) if agrees == "at-most" else equal(stated, computed)
    if isinstance(stated, Choice) and isinstance(computed, Choice):
        return belongs(stated, computed.options)
    if isinstance(stated, Text) and isinstance(computed, Text):
        return same_text(stated, computed)
    if isinstance(stated, bool) and isinstance(computed, bool):
        return stated is computed
    return None


def open_list(finding: F.Finding, owner: str, relation: str, decider: Decider) -> F.Finding:
    """That nobody said whether a list is whole, from a finding on what may be missing from it."""
    missing = Missing(owner, _OPENING, relation, whole=True)
    label = fact_label(missing)
    where = place_in_words(owner)
    words = relation.replace("_", " ")
    return replace(
        finding,
        id=f"{DESCRIBED}.{relation}/complete",
        code=DESCRIBED,
        title="What is described is all there is",
        subject=F.Subject(_OPENING, owner),
        verdict=F.UNDETERMINED,
        raw=F.UNDETERMINED,
        citations=(),
        says=f"It is not said that all {words} of {where} are listed; one that is not could fail.",
        remedy="",
        facts={},
        parameters={},
        missing=(F.Asked(missing, label, question(missing, decider.vocabulary)),),
        members=(),
        excused_by=(),
        claimed=False,
        place=decider.project.places[owner],
    )
