"""One condition decided for one subject: verdict, sentence, facts, members, what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from clauseway.answers import finding as F
from clauseway.answers.strict import from_memory
from clauseway.answers.wording import (
    fact_label,
    form_of,
    place_in_words,
    printed,
    question,
    render,
    undetermined,
    value_in_words,
)
from clauseway.case.things import UNASKABLE, Missing, Thing
from clauseway.language import core
from clauseway.language.possible import Truth, every
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Change, Condition, Line, Placeholder, Provision
from clauseway.readers.alike import Recalling
from clauseway.readers.collection import Gaps
from clauseway.readers.decide import Decider, Env, ReadFact
from clauseway.readers.settle import settle, trial
from clauseway.text.problems import NOWHERE

VERDICTS: dict[Truth, str] = {True: F.MET, False: F.UNMET, None: F.UNDETERMINED}


@dataclass(frozen=True, slots=True)
class Bound:
    """A subject with the things bound on the way to it."""

    subject: F.Subject
    env: Env
    thing: Thing


def decide_truth(decider: Decider, node: core.Node, env: Env) -> tuple[str, Gaps]:
    """The verdict on a truth, settled as far as the finite unknowns allow, with what is still missing."""
    return decider.once(node, env, lambda: _settled(decider, node, env, *decider.truth(node, env)))


def _settled(decider: Decider, node: core.Node, env: Env, truth: Truth, gaps: Gaps) -> tuple[str, Gaps]:
    if truth is None and gaps:
        truth = settle(decider, node, env, gaps)
    if truth is not None:
        return VERDICTS[truth], frozenset()
    approvals = [missing for missing in gaps if is_approval(missing, decider)]
    if approvals:
        keys = [(missing.path, missing.name) for missing in approvals]
        granted = trial(decider, dict.fromkeys(keys, True)).truth(node, env)[0]
        refused = trial(decider, dict.fromkeys(keys, False)).truth(node, env)[0]
        if granted is True and refused is False:
            return F.NEEDS_APPROVAL, frozenset(approvals)
    return F.UNDETERMINED, gaps


def is_approval(missing: Missing, decider: Decider) -> bool:
    """Whether what is missing is a decision of the authority."""
    if missing.whole or missing.kind in UNASKABLE:
        return False
    fact = decider.vocabulary.kinds[missing.kind].facts.get(missing.name)
    return fact is not None and fact.sort == "approval"


@dataclass(frozen=True, slots=True)
class Judged:
    """The verdict on a condition: `raw` is its own, `verdict` that with what excuses it.

    `not_asked` says why the condition asks nothing here, empty where it does; `gaps` is what is missing.
    """

    not_asked: str
    raw: str
    verdict: str
    gaps: Gaps


def judge(decider: Decider, provision: Provision, condition: Condition, env: Env) -> Judged:
    """Judge one condition for one subject, or recall it where the reader knows one that is alike."""
    if not isinstance(decider, Recalling):
        return _judge(decider, provision, condition, env)

    def find() -> tuple[Judged, Gaps]:
        judged = _judge(decider, provision, condition, env)
        return judged, judged.gaps

    def nodes() -> list[core.Node]:
        own, truth = (guarded_in(decider.rulebook, provision, node) for node in (condition.own, condition.truth))
        return [provision.applies, own, truth]

    judged, gaps = decider.alike.judged(condition, nodes, env, find)
    return judged if not gaps else replace(judged, gaps=gaps)


def _judge(decider: Decider, provision: Provision, condition: Condition, env: Env) -> Judged:
    not_asked = reason_not_asked(decider, provision, condition, env)
    if not_asked:
        return Judged(not_asked, F.NOT_APPLICABLE, F.NOT_APPLICABLE, frozenset())
    own = guarded_in(decider.rulebook, provision, condition.own)
    truth, gaps = decider.truth(own, env)
    verdict = VERDICTS[truth]
    if condition.own is not condition.truth and truth is not True:
        verdict, gaps = decide_truth(decider, guarded_in(decider.rulebook, provision, condition.truth), env)
    elif truth is None:
        verdict, gaps = _settled(decider, own, env, truth, gaps)
    return Judged("", VERDICTS[truth], verdict, gaps)


def _amended(provision: Provision, condition: Condition) -> tuple[Change, ...]:
    """The amendments that a condition rests on, those of its provision as a whole included."""
    lines = (condition.line, *condition.lines.values())
    return tuple(dict.fromkeys([*provision.history, *(change for line in lines for change in line.history)]))


def decide_condition(
    decider: Decider,
    provision: Provision,
    condition: Condition,
    bound: Bound,
    *,
    claimed: bool,
    judged: Judged | None = None,
) -> F.Finding:
    """The finding on one condition of a provision for one subject, `judged` already or not."""
    env = bound.env
    judged = judged or judge(decider, provision, condition, env)
    used_facts = _used_facts(decider, provision, condition, env, bool(judged.not_asked))
    not_asked, raw, verdict, gaps = judged.not_asked, judged.raw, judged.verdict, judged.gaps
    excused: tuple[str, ...] = ()
    if verdict == F.MET and raw != F.MET and condition.excused_by:
        excused = tuple(name for name in condition.excused_by if decider.truth(core.Holds(name), env)[0] is True)
    members = tuple(_members(decider, condition, env))
    asked = tuple(
        F.Asked(missing, fact_label(missing), question(missing, decider.vocabulary)) for missing in sorted(gaps)
    )
    says = not_asked or _sentence(decider, condition, env, verdict, excused, asked)
    remedy = render(condition.line.remedy, decider, _spoken_env(decider, condition, env)) if verdict == F.UNMET else ""
    return F.Finding(
        f"{provision.name}/{condition.label}",
        provision.code,
        provision.title,
        bound.subject,
        decider.mode,
        verdict,
        raw,
        (condition.line.citation,),
        says,
        remedy,
        dict(sorted(used_facts.items())),
        {} if not_asked else _parameters(decider, condition),
        asked,
        members,
        excused,
        claimed,
        condition.line.place,
        _amended(provision, condition),
        from_memory(decider.rulebook, provision, condition, used_facts),
        condition.opposes,
    )


def guarded(provision: Provision, node: core.Node) -> core.Node:
    """A condition's truth within the provision's scope and the assumptions of our reading."""
    for assumption in reversed(provision.assumptions):
        node = core.Assuming(assumption.node, node)
    return node if provision.applies == core.TRUE else core.When(provision.applies, node)


def guarded_in(rulebook: Rulebook, provision: Provision, node: core.Node) -> core.Node:
    """The same, made once for a condition of a rulebook."""
    kept, found = rulebook.noted(("guarded", provision.name, id(node)), lambda: (node, guarded(provision, node)))
    assert kept is node
    return found


def reason_not_asked(decider: Decider, provision: Provision, condition: Condition, env: Env) -> str:
    """Why a condition asks nothing of this subject; empty where it does."""
    if decider.truth(provision.applies, env)[0] is False:
        return f"Outside the scope of this clause: {provision.title}."
    node = condition.own
    if isinstance(node, core.When):
        if decider.truth(node.where, env)[0] is False:
            return "The case that this item speaks of does not arise here."
        node = node.body
    if isinstance(node, core.Quantified) and node.quantifier == "each":
        collection = decider.collection(node.members, env)
        if collection.most == 0 and all(
            every((m.belongs, decider.truth(node.where, {**env, node.variable: m.thing})[0])) is False
            for m in collection.members
        ):
            return "There is nothing here that this item speaks of."
    return ""


def _used_facts(
    decider: Decider, provision: Provision, condition: Condition, env: Env, not_asked: bool
) -> dict[str, F.UsedFact]:
    """The facts that the condition itself reads, or those that tell that it asks nothing."""
    if not_asked:
        read = decider.reads(provision.applies, env)
        if isinstance(condition.own, core.When):
            read.update(decider.reads(condition.own.where, env))
    else:
        read = decider.reads(guarded_in(decider.rulebook, provision, condition.own), env)
    return dict(decider.shown(each, _note) for each in read.values())


def _note(decider: Decider, read: ReadFact) -> tuple[str, F.UsedFact]:
    """A fact that was read, as a finding shows it."""
    thing, dotted, value = read
    name = dotted.partition(".")[2]
    fact = decider.vocabulary.kinds[thing.kind].facts[name]
    given = decider.project.given(thing.path, name, decider.mode)
    key = f"{thing.path or 'building'}: {dotted}"
    if given is not None:
        return key, F.UsedFact(given.typed, given.place, given.known_by)
    form = form_of(fact)
    shown = (
        value_in_words(value, form, decider.vocabulary)
        if fact.sort not in ("yes-no", "approval")
        else ("" if value is None else value_in_words(value, "yes-no", decider.vocabulary))
    )
    derived = thing.absent or bool(decider.rulebook.deriving(dotted))
    return key, F.UsedFact(
        "" if shown == "not known" else shown,
        decider.project.places.get(thing.path, NOWHERE),
        "derived" if derived and shown else "unknown",
    )


def _quantified(node: core.Node) -> core.Quantified | None:
    """The group or loop that a condition is, under its `where` and its exceptions."""
    if isinstance(node, core.When):
        return _quantified(node.body)
    if isinstance(node, core.Or):
        return _quantified(node.parts[0])
    return node if isinstance(node, core.Quantified) and node.quantifier in ("any", "each") else None


def _members(decider: Decider, condition: Condition, env: Env) -> Iterator[F.MemberRow]:
    if condition.form not in ("some", "each"):
        return
    node = _quantified(condition.own)
    if node is None:
        return
    rows: list[F.MemberRow] = []
    for member in decider.collection(node.members, env).members:
        inner = {**env, node.variable: member.thing}
        passes = every((member.belongs, decider.truth(node.where, inner)[0]))
        if passes is False:
            continue
        truth = every((passes if condition.form == "some" else True, decider.truth(node.body, inner)[0]))
        parts = (
            tuple(_part(decider, condition.lines[label], body, inner) for label, body in _labelled(node.body))
            if condition.form == "some"
            else ()
        )
        rows.append(F.MemberRow(member.thing.path, VERDICTS[truth], parts))
    yield from sorted(rows, key=lambda row: (sum(part.verdict != F.MET for part in row.parts), row.path))


def _labelled(node: core.Node) -> Iterator[tuple[str, core.Node]]:
    for part in node.parts if isinstance(node, core.And) else (node,):
        if isinstance(part, core.Labelled):
            yield part.label, part.body


def _part(decider: Decider, line: Line, body: core.Node, env: Env) -> F.Part:
    truth, gaps = decider.truth(body, env)
    where = body.where if isinstance(body, core.When) else core.TRUE
    if decider.truth(where, env)[0] is False:
        return F.Part(line.label, F.NOT_APPLICABLE, "", "", line.citation)
    if truth is None:
        labels = _labels(gaps)
        says = undetermined(render(line.asks, decider, env), labels)
    else:
        says = render(line.met if truth else line.unmet, decider, env)
    remedy = render(line.remedy, decider, env) if truth is False else ""
    return F.Part(line.label, VERDICTS[truth], says, remedy, line.citation)


def _labels(gaps: Gaps) -> list[str]:
    return [f"{fact_label(m)} ({place_in_words(m.path)})" for m in sorted(gaps)]


def _spoken_env(decider: Decider, condition: Condition, env: Env) -> Env:
    """The names that a condition's sentences may use: in a loop, those of the first member that fails it."""
    node = _quantified(condition.own)
    if node is None or condition.form != "each":
        return env
    first: Thing | None = None
    for member in decider.collection(node.members, env).all:
        inner = {**env, node.variable: member.thing}
        if first is None:
            first = member.thing
        if (
            every((member.belongs, decider.truth(node.where, inner)[0])) is True
            and decider.truth(node.body, inner)[0] is False
        ):
            return inner
    return {**env, node.variable: first} if first is not None else env


def _sentence(
    decider: Decider,
    condition: Condition,
    env: Env,
    verdict: str,
    excused: tuple[str, ...],
    asked: tuple[F.Asked, ...],
) -> str:
    line = condition.line
    spoken = _spoken_env(decider, condition, env)
    if excused:
        titles = [decider.rulebook.provisions[name].title for name in excused]
        return f"Excused: {'; '.join(titles)}."
    if verdict == F.MET:
        return render(line.met, decider, spoken)
    if verdict == F.UNMET:
        return render(line.unmet, decider, spoken)
    asks = render(line.asks, decider, spoken)
    if verdict == F.NEEDS_APPROVAL:
        return f"The authority having jurisdiction decides whether {asks}."
    return undetermined(asks, [f"{a.fact} ({place_in_words(a.missing.path)})" for a in asked])


def _parameters(decider: Decider, condition: Condition) -> dict[str, F.UsedParameter]:
    """The parameters that a condition and its sentences read, by their own names."""
    return dict(decider.rulebook.noted(("parameters", id(condition)), lambda: _used_parameters(decider, condition)))


def _used_parameters(decider: Decider, condition: Condition) -> dict[str, F.UsedParameter]:
    found: dict[str, F.UsedParameter] = {}
    nodes = list(core.walk(condition.own))
    templates = [condition.line.asks, condition.line.unmet, *(line.unmet for line in condition.lines.values())]
    nodes += [p.node for template in templates for p in template if isinstance(p, Placeholder)]
    for node in nodes:
        if isinstance(node, core.Parameter):
            parameter = decider.rulebook.parameters[node.key]
            name = node.key.rpartition("/")[2]
            found[name] = F.UsedParameter(
                printed(node.key, decider), parameter.citation, parameter.place, parameter.history
            )
    return dict(sorted(found.items()))
