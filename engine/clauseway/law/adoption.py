"""Which codes, editions and layers a jurisdiction has in force for a project, and why.

A code is governed by the lowest jurisdiction that adopts it: a city with an adoption of its own replaces the base of
its state, one without takes what stands above it. Where the law lets the applicant choose, or several authorities
decide, there are several readings, and each is a rulebook of its own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from clauseway.law.jurisdictions import is_date, text
from clauseway.law.laying import Terms, authorities_of
from clauseway.model.jurisdiction import ADOPTED, TODAY, Adoption, InForce, Jurisdiction, Term
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem

if TYPE_CHECKING:
    from clauseway.law.library import Library


@dataclass(frozen=True)
class Asked:
    """For what an answer is wanted.

    `dates` has the dates of the project by their names, `today` (the date of the check) among them, which stands for
    those that are not given. `known` is the day as of which the law is to be known; nothing is all that is known now.
    `choose` names the adoption that the applicant chooses, `authorities` those that govern the building.
    """

    dates: Mapping[str, str]
    known: str = ""
    choose: str = ""
    authorities: tuple[str, ...] = ()
    site: str = ""


@dataclass(frozen=True)
class Reading:
    """What makes one rulebook: codes, layers and terms; with whose choice and whose authority it is one of several."""

    codes: tuple[str, ...]
    layers: tuple[str, ...]
    terms: Terms
    adopted: tuple[InForce, ...]
    choice: str = ""
    authority: str = ""

    @property
    def label(self) -> str:
        """What tells it from the other readings; nothing where there is one."""
        return ", ".join(filter(None, (self.choice, self.authority)))


@dataclass(frozen=True)
class _Stack:
    """A code in an edition with its layers, each with the date that decides for it."""

    code: str
    edition: str
    layers: tuple[tuple[str, str], ...]
    adopted: tuple[InForce, ...]
    choice: str = ""


def jurisdiction_called(library: Library, name: str, place: Place = NOWHERE) -> Jurisdiction:
    """The jurisdiction with an id; `US NYC` and `us-ca` are understood.

    Raises:
        ClausewayError: when there is none, with the nearest, by id or by name.
    """
    known = library.jurisdictions
    wanted = name.strip().upper().replace(" ", "")
    found = known.get(name) or known.get(wanted)
    if found is None:
        names = {each.name.casefold(): each for each in known.values()}
        close = nearest(name.casefold(), names) or ""
        alike = [each for each in known if len(each) == len(wanted)]
        near = names[close].id if close else nearest(wanted, alike) or nearest(wanted, known) or ""
        expected = one_of([f"{each.id} ({each.name})" for each in known.values()], 20) if known else "none is described"
        raise ClausewayError(Problem(place, f"no jurisdiction {name}", expected, near))
    return found


def above(library: Library, jurisdiction: Jurisdiction) -> Iterator[Jurisdiction]:
    """A jurisdiction and those above it, the lowest first."""
    at: Jurisdiction | None = jurisdiction
    while at is not None:
        yield at
        at = library.jurisdictions.get(at.parent)


def code_of(library: Library, adoption: Adoption) -> str:
    """The code that an adoption is about, through those that it follows."""
    if adoption.code:
        return adoption.code
    return code_of(library, library.jurisdictions[adoption.follows].adoptions[adoption.follows_id])


def readings(library: Library, jurisdiction: Jurisdiction, asked: Asked) -> tuple[Reading, ...]:
    """What is in force in a jurisdiction for a project, one for each way in which it may be read.

    Raises:
        ClausewayError: for a date with no adoption or that is not known, adoptions that overlap without a choice, and
            a choice that is not open.
    """
    codes = sorted(
        {
            code_of(library, adoption)
            for each in above(library, jurisdiction)
            for adoption in each.adoptions.values()
            if adoption.status == ADOPTED
        }
    )
    if not codes:
        found = f"{jurisdiction.id} ({jurisdiction.name}) has adopted nothing that is encoded"
        raise ClausewayError(Problem(jurisdiction.place, found, "--code, such as ibc@2021"))
    stacks = [ways for code in codes if (ways := _alternatives(library, jurisdiction, code, asked))]
    if not stacks:
        raise ClausewayError(_nothing(jurisdiction, list(jurisdiction.adoptions.values()), "any code", asked))
    if asked.choose:
        stacks = _chosen(stacks, asked.choose)
    dates = {TODAY: asked.dates.get(TODAY, ""), **asked.dates}
    terms = Terms({name: day for name, day in dates.items() if day}, site=asked.site)
    made: list[Reading] = []
    for one in product(*stacks):
        layers = tuple(name for stack in one for name, _ in stack.layers)
        decides = {name: decided for stack in one for name, decided in stack.layers}
        reading = Reading(
            tuple(f"{stack.code}@{stack.edition}" for stack in one),
            layers,
            replace(terms, decided_by=decides),
            tuple(dict.fromkeys(each for stack in one for each in stack.adopted)),
            ", ".join(stack.choice for stack in one if stack.choice),
        )
        made += _by_authority(library, reading, asked)
    return tuple(made)


def _by_authority(library: Library, reading: Reading, asked: Asked) -> Iterator[Reading]:
    """A reading for each authority that decides for itself, where there are several."""
    files = [layer for layer in library.layers if text(layer, "layer") in reading.layers]
    named = {*authorities_of(files), *(each.adoption.authority for each in reading.adopted)} - {""}
    wrong = sorted(set(asked.authorities) - named)
    if asked.authorities and wrong and named:
        found = f"no authority {wrong[0]} decides here"
        raise ClausewayError(Problem(NOWHERE, found, one_of(sorted(named)), nearest(wrong[0], named) or ""))
    governing = sorted(named & set(asked.authorities) if asked.authorities else named)
    if len(named) <= 1 and not asked.authorities:
        yield reading
        return
    for authority in governing:
        terms = replace(reading.terms, authority=authority)
        yield replace(reading, terms=terms, authority=authority if len(governing) > 1 else "")
    if not governing:
        yield reading


def _chosen(stacks: Sequence[Sequence[_Stack]], choose: str) -> list[list[_Stack]]:
    """The stacks where the applicant has chosen one adoption."""
    open_ones = sorted({stack.choice for each in stacks for stack in each if stack.choice})
    if choose not in open_ones:
        expected = one_of(open_ones) if open_ones else "no choice is open on this date"
        raise ClausewayError(Problem(NOWHERE, f"no choice of {choose}", expected, nearest(choose, open_ones) or ""))
    return [
        [stack for stack in each if stack.choice == choose] or list(each)
        if any(stack.choice == choose for stack in each)
        else list(each)
        for each in stacks
    ]


def _alternatives(library: Library, jurisdiction: Jurisdiction, code: str, asked: Asked) -> list[_Stack]:
    """The ways in which a code governs in a jurisdiction: one, or those between which the applicant may choose.

    None, where there was no law of that code yet.
    """
    for each in above(library, jurisdiction):
        own = [a for a in each.adoptions.values() if a.status == ADOPTED and code_of(library, a) == code]
        if not own:
            continue
        standing = [(a, found) for a in own if (found := in_force(each, a, asked)) is not None]
        if not standing and any(_before(adoption, asked) for adoption in own):
            return []
        if not standing:
            raise ClausewayError(_nothing(each, own, code, asked))
        _refuse_overlaps([a for a, _ in standing])
        several = len({a.authority for a, _ in standing}) < len(standing)
        return [
            replace(stack, choice=adoption.id if several else stack.choice)
            for adoption, found in standing
            for stack in _stacks(library, adoption, found, asked)
        ]
    raise AssertionError(code)


def stacked(
    library: Library, adoption: Adoption, asked: Asked
) -> Iterator[tuple[str, str, tuple[tuple[str, str], ...]]]:
    """What an adoption comes to, whether in force or not: code, edition, and layers with the date that decides each."""
    for stack in _stacks(library, adoption, InForce(adoption, "", "", ""), asked):
        yield stack.code, stack.edition, stack.layers


def _stacks(library: Library, adoption: Adoption, found: InForce, asked: Asked) -> Iterator[_Stack]:
    """An adoption with all that it rests on."""
    own = tuple((name, adoption.decided_by) for name, _ in adoption.layers)
    if adoption.edition:
        yield _Stack(adoption.code, adoption.edition, own, (found,))
        return
    followed = library.jurisdictions[adoption.follows]
    if adoption.follows_id:
        base = followed.adoptions[adoption.follows_id]
        term = term_known(base, asked.known)
        there = InForce(base, found.day, term.since if term else "", term.until if term else "")
        below = list(_stacks(library, base, there, asked))
    else:
        below = _alternatives(library, followed, adoption.code, asked)
    for stack in below:
        yield replace(stack, layers=(*stack.layers, *own), adopted=(*stack.adopted, found))


def _before(adoption: Adoption, asked: Asked) -> bool:
    """Whether the project is from before an adoption before which there was no law of its code."""
    term = term_known(adoption, asked.known)
    return adoption.nothing_before and term is not None and day_of(adoption, asked) < term.since


def term_known(adoption: Adoption, known: str) -> Term | None:
    """The term of an adoption as it was known on a day; the last one where no day is given."""
    terms = [term for term in adoption.terms if not known or term.known <= known]
    return terms[-1] if terms else None


def in_force(jurisdiction: Jurisdiction, adoption: Adoption, asked: Asked) -> InForce | None:
    """The adoption with the date that decides, where it stands on that date.

    Raises:
        ClausewayError: when the deciding date is not known.
    """
    term = term_known(adoption, asked.known)
    if term is None:
        return None
    day = day_of(adoption, asked)
    if day < term.since:
        return None
    if is_date(term.until):
        return InForce(adoption, day, term.since, term.until) if day < term.until else None
    if term.until:
        after = jurisdiction.adoptions[term.until]
        then = term_known(after, asked.known)
        if then is not None and after.status == ADOPTED:
            if day_of(after, asked) >= then.since:
                return None
            return InForce(adoption, day, term.since, then.since)
    return InForce(adoption, day, term.since, "")


def day_of(adoption: Adoption, asked: Asked) -> str:
    """The date of the project that decides about an adoption; the date of the check stands for one not given.

    Raises:
        ClausewayError: when neither is known.
    """
    day = asked.dates.get(adoption.decided_by) or asked.dates.get(TODAY, "")
    if not day:
        found = f"{adoption.jurisdiction} goes by the date of {adoption.decided_by}, which is not given"
        expected = f"--on YYYY-MM-DD, or dates: {{{adoption.decided_by}: YYYY-MM-DD}} in the file"
        raise ClausewayError(Problem(NOWHERE, found, expected))
    return day


def _nothing(jurisdiction: Jurisdiction, own: Sequence[Adoption], code: str, asked: Asked) -> Problem:
    known = [
        f"{adoption.id} from {term.since}" + (f" until {term.until}" if term.until else "")
        for adoption in own
        if (term := term_known(adoption, asked.known)) is not None
    ]
    days = sorted({day_of(adoption, asked) for adoption in own})
    as_known = f", as it was known on {asked.known}" if asked.known else ""
    found = f"{jurisdiction.id} has no edition of {code} that is encoded in force on {one_of(days)}{as_known}"
    return Problem(jurisdiction.place, found, "; ".join(known) or "a later day of knowing")


def _refuse_overlaps(standing: Sequence[Adoption]) -> None:
    """Refuse two adoptions of one authority that stand on one day without a choice."""
    for at, later in enumerate(standing):
        for earlier in standing[:at]:
            if later.authority != earlier.authority:
                continue
            if earlier.id in later.choice or later.id in earlier.choice:
                continue
            found = f"{later.id} and {earlier.id} ({earlier.place}) are in force together"
            raise ClausewayError(Problem(later.place, found, f"until: {later.id}, or choice: [{earlier.id}]"))
