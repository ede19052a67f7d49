"""Checking a described project against a rulebook: every requirement for every subject, in every mode."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from clauseway.answers import finding as F
from clauseway.answers.decide_condition import Bound, decide_condition, decide_truth, guarded_in, judge
from clauseway.answers.described import disagreements, open_list
from clauseway.answers.several import conflicts_among
from clauseway.answers.strict import undecided_from_memory
from clauseway.answers.wording import joined, place_in_words
from clauseway.answers.works import practical, works
from clauseway.case.things import Project, Thing
from clauseway.language import core
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import Condition, Provision
from clauseway.model.vocabulary import SUBJECTS
from clauseway.readers.decide import Decider

_OPENING = "opening"
_FAILING = frozenset((F.UNMET,))
_FINE = frozenset((F.MET, F.NOT_APPLICABLE))
_ANY = frozenset((F.UNMET, F.NEEDS_APPROVAL, F.UNDETERMINED, F.MET, F.NOT_APPLICABLE))
_ORDER = {F.UNMET: 0, F.NEEDS_APPROVAL: 1, F.UNDETERMINED: 2, F.MET: 3, F.NOT_APPLICABLE: 4}


def check(
    rulebook: Rulebook,
    project: Project,
    *,
    on: str = "",
    only: Sequence[str] = (),
    accept_memory: bool = False,
    strict: bool = False,
) -> F.Report:
    """The report on every opening of a project, or on those whose ids are in `only`, and on its spaces.

    A permission that was never verified excuses nothing unless `accept_memory`. With `strict`, no finding that rests
    on something unverified is decided.
    """
    deciders = deciders_of(rulebook, project, accept_memory)
    answers = [answer_on(deciders, thing, strict) for thing in things_asked(rulebook, project, only)]
    return report_of(rulebook, project, answers, on=on, strict=strict)


def deciders_of(rulebook: Rulebook, project: Project, accept_memory: bool) -> list[Decider]:
    """A reader for each mode to judge."""
    return [Decider(rulebook, project, mode, accept_memory=accept_memory) for mode in modes_of(rulebook, project)]


def things_asked(rulebook: Rulebook, project: Project, only: Sequence[str] = ()) -> list[Thing]:
    """The openings with these ids; where none is named, all of them and then the other things that rules are about."""
    openings = [thing for thing in project.of_kind(_OPENING) if not only or thing.id in only]
    return openings if only else openings + _others(rulebook, project)


def report_of(
    rulebook: Rulebook, project: Project, answers: Sequence[F.Answer], *, on: str = "", strict: bool = False
) -> F.Report:
    """The report that answers come to; of things other than openings those that rules speak of."""
    codes = rulebook.adopted
    named = {code.code for code in codes}
    conditions = sum(len(provision.conditions) for provision in rulebook.requirements if provision.code in named)
    return F.Report(
        project.name,
        project.file,
        codes,
        on,
        rulebook.digest,
        tuple(answer for answer in answers if speaks(answer)),
        conditions,
        rulebook.layers,
        strict,
        rulebook.practice,
    )


def speaks(answer: F.Answer) -> bool:
    """Whether an answer belongs into a report: that on a room only where a rule speaks of it."""
    return answer.kind == _OPENING or bool(answer.findings)


def modes_of(rulebook: Rulebook, project: Project) -> list[str]:
    """The modes to judge: one for all when nothing changes with the mode, else each that the building may be in."""
    if not project.by_mode:
        return [""]
    return list(project.modes) or sorted(rulebook.vocabulary.lists["mode"].leaves)


def _others(rulebook: Rulebook, project: Project) -> list[Thing]:
    """The things besides openings that some requirement is about."""
    kinds = {p.subject for p in rulebook.requirements if _OPENING not in SUBJECTS[p.subject]}
    kinds |= {derivation.fact.partition(".")[0] for derivation in rulebook.derivations.values()} & (
        SUBJECTS.keys() - {_OPENING}
    )
    kinds = {kind for kind in kinds if _OPENING not in SUBJECTS[kind]}
    return [thing for kind in sorted(kinds) for thing in project.of_kind(kind)]


def answer_on(deciders: Sequence[Decider], thing: Thing, strict: bool = False) -> F.Answer:
    """The answer on one opening, room, supply ... by a reader for each mode."""
    findings: list[F.Finding] = []
    arrangements: list[F.ArrangementAnswer] = []
    told: set[tuple[str, str]] = set()
    descriptions = {code.code for code in deciders[0].rulebook.codes if code.force == DESCRIPTION}
    practice = deciders[0].rulebook.practice
    for decider in deciders:
        bound_by: dict[str, list[Bound]] = {}
        for provision in decider.rulebook.requirements:
            if (_OPENING in SUBJECTS[provision.subject]) is not (thing.kind == _OPENING):
                continue
            if thing.kind not in (_OPENING, provision.subject):
                continue
            if provision.subject not in bound_by:
                bound_by[provision.subject] = list(bindings(decider, provision.subject, thing))
            for bound in bound_by[provision.subject]:
                if provision.code in practice:
                    findings.extend(practical(decider, provision, bound))
                    continue
                wanted = _FAILING if provision.code in descriptions else _ANY
                unseen = _open_list(bound.subject)
                for condition in provision.conditions:
                    judged = judge(decider, provision, condition, bound.env)
                    if judged.verdict not in wanted:
                        continue
                    if unseen:
                        # Of what may exist besides, one finding tells; what it would meet is no news.
                        if judged.verdict in _FINE or (judged.verdict != F.UNMET and (unseen, decider.mode) in told):
                            continue
                        told.add((unseen, decider.mode))
                    findings.append(
                        decide_condition(decider, provision, condition, bound, claimed=False, judged=judged)
                    )
        findings.extend(disagreements(decider, thing))
        if thing.kind == _OPENING:
            arrangements.extend(_arrangements(decider, thing))
            findings.extend(_claimed(decider, thing))
    findings = _folded(_listed(findings, deciders[0]), len(deciders))
    if strict:
        findings = [undecided_from_memory(finding) for finding in findings]
    findings.sort(key=lambda f: (_ORDER[f.verdict], f.claimed, f.id, f.subject.path, f.subject.passage, f.mode))
    arrangements.sort(key=lambda a: (a.subject.path, a.subject.passage, a.mode, _nearness(a), a.id))
    project = deciders[0].project
    location = project.facts.get((thing.path, "location"))
    return F.Answer(
        thing.kind,
        thing.id or "building",
        location.typed if location is not None else "",
        _verdict(thing, [f for f in findings if f.code not in practice], _guidance(deciders[0].rulebook)),
        tuple(findings),
        tuple(arrangements),
        tuple(_relies_on(project, thing)) if thing.kind == _OPENING else (),
        conflicts_among(findings),
        works(findings, practice),
    )


def _verdict(thing: Thing, findings: Sequence[F.Finding], guidance: frozenset[str]) -> str:
    """What the codes come to; a room or supply of which no code speaks has no verdict of theirs."""
    if not findings and thing.kind != _OPENING:
        return F.NOT_APPLICABLE
    return overall([f for f in findings if not f.claimed], guidance)


def _guidance(rulebook: Rulebook) -> frozenset[str]:
    return frozenset(code.code for code in rulebook.codes if code.force == F.GUIDANCE)


def overall(findings: Sequence[F.Finding], guidance: frozenset[str] = frozenset()) -> str:
    """The verdict that findings on requirements come to.

    What departs from a code in `guidance` is no violation: the authority decides whether another way will do.
    """
    departs = {F.UNMET: F.NEEDS_APPROVAL}
    verdicts = {departs.get(f.verdict, f.verdict) if f.code in guidance else f.verdict for f in findings}
    if F.UNMET in verdicts:
        return F.FAILS
    if F.UNDETERMINED in verdicts:
        return F.UNDETERMINED
    if F.NEEDS_APPROVAL in verdicts:
        return F.NEEDS_APPROVAL
    return F.COMPLIES if verdicts else F.UNDETERMINED


def bindings(decider: Decider, subject: str, thing: Thing) -> Iterator[Bound]:
    """Each subject of a kind under `thing`, one that may exist besides included, with what is bound to reach it."""
    building = decider.project.things[""]
    env: dict[str, Thing] = {"building": building}
    if subject == "building":
        yield Bound(F.Subject("building", ""), env, building)
        return
    first, *rest = SUBJECTS[subject]
    subject = SUBJECTS[subject][-1]
    yield from _bind(decider, {**env, first: thing}, thing, tuple(rest), subject)


def _bind(
    decider: Decider, env: dict[str, Thing], thing: Thing, rest: tuple[str, ...], subject: str
) -> Iterator[Bound]:
    if not rest:
        passage = env.get("passage")
        direction = passage.path if passage is not None and subject != "passage" else ""
        yield Bound(F.Subject(subject, thing.path, direction), env, thing)
        return
    kind, *deeper = rest
    opening = env[_OPENING]
    relation = decider.vocabulary.kinds[_OPENING].owned(kind)
    assert relation is not None
    members = core.Members(core.Name(_OPENING), relation.name, kind)
    for member in decider.collection(members, {_OPENING: opening}).all:
        yield from _bind(decider, {**env, kind: member.thing}, member.thing, tuple(deeper), subject)


# --- arrangements ---------------------------------------------------------------------------------------


def _parts(provision: Provision, decider: Decider, bound: Bound) -> Iterator[F.Lack]:
    for condition in provision.permitted + provision.conditions:
        judged = judge(decider, provision, condition, bound.env)
        if judged.verdict not in _FINE:
            found = decide_condition(decider, provision, condition, bound, claimed=True, judged=judged)
            yield F.Lack(condition.label, found.verdict, found.says)


def _arrangements(decider: Decider, opening: Thing) -> Iterator[F.ArrangementAnswer]:
    """How far each lock meets each arrangement, where something has to be excused for it."""
    for provision in decider.rulebook.arrangements:
        for bound in bindings(decider, provision.subject, opening):
            if bound.thing.unseen is not None or _is_unseen_passage(bound):
                continue
            if not _matters(decider, provision, bound):
                continue
            lacks = tuple(_parts(provision, decider, bound))
            fixed = [c for c in provision.conditions if _is_given(decider, c)]
            permitted = [decide_truth(decider, c.own, bound.env)[0] for c in (*provision.permitted, *fixed)]
            yield F.ArrangementAnswer(
                provision.name,
                provision.title,
                bound.subject,
                decider.mode,
                _worst([lack.verdict for lack in lacks]),
                _worst(permitted),
                decide_truth(decider, provision.recognised, bound.env)[0],
                lacks,
                provision.citation,
            )


def _is_given(decider: Decider, condition: Condition) -> bool:
    """Whether a condition reads only what the building and its use give, which no designer can change."""

    def make() -> bool:
        read = {node.fact for node in core.walk(condition.own) if isinstance(node, core.Get)}
        facts = [decider.vocabulary.fact(dotted) for dotted in read]
        return bool(facts) and all(fact is not None and fact.chosen_by == "given" for fact in facts)

    return decider.rulebook.noted(("given", id(condition)), make)


def _is_unseen_passage(bound: Bound) -> bool:
    passage = bound.env.get("passage")
    return passage is not None and passage.unseen is not None


def _matters(decider: Decider, provision: Provision, bound: Bound) -> bool:
    """Whether the arrangement could have to excuse something here: it applies, and a condition needs excusing."""
    if decider.truth(provision.applies, bound.env)[0] is False:
        return False
    if decider.truth(provision.recognised, bound.env)[0] is True:
        return True
    for target in provision.excuses:
        owner, _, label = target.partition("/")
        requirement = decider.rulebook.provisions[f"{provision.code}.{owner}"]
        for condition in requirement.conditions:
            if condition.label == label:
                truth = decider.truth(guarded_in(decider.rulebook, requirement, condition.own), bound.env)[0]
                if truth is not True:
                    return True
    return False


def _worst(verdicts: Sequence[str]) -> str:
    return min(verdicts, key=_ORDER.__getitem__, default=F.MET) if verdicts else F.MET


def _nearness(answer: F.ArrangementAnswer) -> tuple[int, int, int]:
    """Permitted before unknown before forbidden; the claimed first; then the fewest lacks."""
    standing = {F.MET: 0, F.NOT_APPLICABLE: 0, F.UNDETERMINED: 1, F.NEEDS_APPROVAL: 1, F.UNMET: 2}[answer.permitted]
    return (0 if answer.claimed == F.MET else 1, standing, len(answer.lacks))


def _claimed(decider: Decider, opening: Thing) -> Iterator[F.Finding]:
    """Findings on the conditions of the arrangement that a lock is said to have."""
    for provision in decider.rulebook.arrangements:
        for bound in bindings(decider, provision.subject, opening):
            if bound.thing.unseen is not None or _is_unseen_passage(bound):
                continue
            if decider.truth(provision.recognised, bound.env)[0] is not True:
                continue
            if decider.truth(provision.applies, bound.env)[0] is False:
                continue
            for condition in provision.permitted + provision.conditions:
                yield decide_condition(decider, provision, condition, bound, claimed=True)


# --- lists that may be longer, modes, claims ------------------------------------------------------------


def _listed(findings: list[F.Finding], decider: Decider) -> list[F.Finding]:
    """What stands for members that may exist becomes one finding: that the list is not known to be whole."""
    kept: list[F.Finding] = []
    open_lists: dict[tuple[str, str], F.Finding] = {}
    for finding in findings:
        unseen = _open_list(finding.subject)
        if not unseen:
            kept.append(finding)
            continue
        if finding.verdict in _FINE:
            continue
        owner, _, relation = unseen.rpartition("/")
        key = (unseen, finding.mode)
        if key not in open_lists or finding.verdict == F.UNMET:
            open_lists[key] = open_list(finding, owner, relation, decider)
    return kept + list(open_lists.values())


def _open_list(subject: F.Subject) -> str:
    """The list of which a subject stands for what may be in it besides; empty for what is described."""
    for path in (subject.path, subject.passage):
        if path.endswith("/?"):
            return path[:-2]
    return ""


def _folded(findings: list[F.Finding], modes: int) -> list[F.Finding]:
    """Findings that are alike in every mode become one that names no mode."""
    if modes == 1:
        return findings
    keyed: dict[str, list[F.Finding]] = {}
    for finding in findings:
        keyed.setdefault(repr(replace(finding, mode="")), []).append(finding)
    result: list[F.Finding] = []
    for same in keyed.values():
        result.extend([replace(same[0], mode="")] if len(same) == modes else same)
    return result


def _relies_on(project: Project, opening: Thing) -> Iterator[str]:
    """The claims that an answer rests on and that a person should have checked."""
    whole, none = [], []
    part = project.part(opening.path)
    for path, relation, listed in part.lists:
        if path != opening.path or not listed.closed:
            continue
        words = relation.replace("_", " ")
        if listed.members:
            whole.append(f"{words} ({len(listed.members)})")
        else:
            none.append(words)
    if whole:
        yield f"all its {joined(whole)} are listed"
    if none:
        yield f"it has no {joined(none, 'or')}"
    for path, relation, listed in part.lists:
        if relation == "serves" and listed.closed and listed.members:
            rooms = joined([member.rpartition("/")[2] for member in listed.members])
            yield f"passage {path.rpartition('/')[2]} serves {rooms} and no other space"
    if project.by_mode and project.modes:
        yield f"the building is in no other mode than {joined(list(project.modes), 'or')}"
    for path, fact, given in project.part("").facts + part.facts:
        if fact == "role" and given.typed == "none":
            yield f"passage {path.rpartition('/')[2]} is no means of egress"
        if given.known_by == "assumed":
            yield f"{place_in_words(path)}: {fact.replace('_', ' ')} {given.typed} is assumed"
