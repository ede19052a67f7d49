"""Lints for rules: what loads and yet cannot be meant."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from clauseway.language import core
from clauseway.language.possible import Choice, Interval, Value, belongs, compare
from clauseway.language.written import bare
from clauseway.law.rulebook import Rulebook
from clauseway.model.provision import Condition, Placeholder, Provision
from clauseway.text.problems import Place, Problem


def lint(rulebook: Rulebook) -> list[Problem]:
    """What to look at in a rulebook, in the order of places."""
    problems: list[Problem] = []
    for provision in rulebook.provisions.values():
        for condition in provision.permitted + provision.conditions:
            problems += _dead_exceptions(rulebook, provision, condition)
            problems += _implied_alternatives(rulebook, provision, condition)
    return sorted(problems)


def unreached(rulebook: Rulebook, reached: Iterable[tuple[str, str]]) -> list[Problem]:
    """Conditions that none of the given (provision, condition) pairs reach."""
    seen = set(reached)
    return sorted(
        Problem(
            condition.line.place,
            f"no example and no demo opening reaches {provision.name}/{condition.label}",
            "an example of it",
        )
        for provision in rulebook.provisions.values()
        for condition in provision.permitted + provision.conditions
        if (provision.name, condition.label) not in seen
    )


def _nodes(provision: Provision) -> Iterator[core.Node]:
    roots = [provision.applies, provision.recognised, *(assumption.node for assumption in provision.assumptions)]
    for condition in provision.permitted + provision.conditions:
        roots.append(condition.own)
        for line in (condition.line, *condition.lines.values()):
            for template in (line.asks, line.met, line.unmet, line.remedy):
                roots += [part.node for part in template if isinstance(part, Placeholder)]
    for root in roots:
        yield from core.walk(root)


def unused(rulebooks: Sequence[Rulebook]) -> list[Problem]:
    """Parameters that no edition of their provision reads."""
    places: dict[str, Place] = {}
    used: set[str] = set()
    for rulebook in rulebooks:
        places.update({key: parameter.place for key, parameter in rulebook.parameters.items()})
        derived = [node for d in rulebook.derivations.values() for node in core.walk(d.node)]
        nodes = [node for provision in rulebook.provisions.values() for node in _nodes(provision)] + derived
        used |= {node.key for node in nodes if isinstance(node, core.Parameter)}
    return sorted(
        Problem(place, f"no edition reads the parameter {key}", "a condition that reads it")
        for key, place in places.items()
        if key not in used
    )


def _atoms(node: core.Node) -> Iterator[core.Node]:
    """The parts of a conjunction."""
    node = bare(node)
    if isinstance(node, core.And):
        for part in node.parts:
            yield from _atoms(part)
    else:
        yield node


def _dead_exceptions(rulebook: Rulebook, provision: Provision, condition: Condition) -> Iterator[Problem]:
    """Exceptions whose own test contradicts itself or the scope of the provision."""
    scope = list(_atoms(provision.applies))
    for node in core.walk(condition.own):
        if isinstance(node, core.Labelled) and node.role == "exception":
            atoms = [*scope, *_atoms(node.body)]
            if any(_exclude(rulebook, a, b) for i, a in enumerate(atoms) for b in atoms[i + 1 :]):
                yield Problem(
                    condition.lines[node.label].place,
                    f"{provision.name}/{node.label} can never apply",
                    "tests that can hold together",
                )


def _implied_alternatives(rulebook: Rulebook, provision: Provision, condition: Condition) -> Iterator[Problem]:
    """Alternatives that hold only where another one holds as well."""
    for node in core.walk(condition.own):
        if not isinstance(node, core.Or):
            continue
        parts = [part for part in node.parts if isinstance(part, core.Labelled)]
        for part in parts:
            for other in parts:
                if part is not other and _implies(rulebook, part.body, other.body):
                    yield Problem(
                        condition.lines[part.label].place,
                        f"{provision.name}/{part.label} is implied by {other.label}",
                        "one of the two",
                    )


def _implies(rulebook: Rulebook, node: core.Node, other: core.Node) -> bool:
    """Whether every atom that `other` asks stands among those of `node`, or is weaker than one of them."""
    own = list(_atoms(node))
    return all(any(a == b or _weaker(rulebook, a, b) for a in own) for b in _atoms(other))


def _value(rulebook: Rulebook, node: core.Node) -> Value:
    node = bare(node)
    if isinstance(node, core.Parameter):
        return rulebook.parameters[node.key].value
    return Choice(node.options) if isinstance(node, core.Options) else None


def _weaker(rulebook: Rulebook, a: core.Node, b: core.Node) -> bool:
    """Whether membership in b's options follows from membership in a's."""
    if isinstance(a, core.Belongs) and isinstance(b, core.Belongs) and a.value == b.value:
        narrow, wide = _value(rulebook, a.options), _value(rulebook, b.options)
        return isinstance(narrow, Choice) and isinstance(wide, Choice) and belongs(narrow, wide.options) is True
    return False


def _exclude(rulebook: Rulebook, a: core.Node, b: core.Node) -> bool:
    """Whether two atoms cannot hold together."""
    if a == core.Not(b) or b == core.Not(a) or core.FALSE in (a, b):
        return True
    if isinstance(a, core.Belongs) and isinstance(b, core.Belongs) and a.value == b.value:
        one, two = _value(rulebook, a.options), _value(rulebook, b.options)
        return isinstance(one, Choice) and isinstance(two, Choice) and not one.options & two.options
    if isinstance(a, core.Compare) and isinstance(b, core.Compare) and a.left == b.left:
        return _bounds_exclude(rulebook, a, b) or _bounds_exclude(rulebook, b, a)
    return False


def _bounds_exclude(rulebook: Rulebook, upper: core.Compare, lower: core.Compare) -> bool:
    """Whether an upper bound lies below a lower one."""
    if upper.operator not in ("<=", "<") or lower.operator not in (">=", ">"):
        return False
    high, low = _value(rulebook, upper.right), _value(rulebook, lower.right)
    if not (isinstance(high, Interval) and isinstance(low, Interval)):
        return False
    strict = upper.operator == "<" or lower.operator == ">"
    return compare("<=" if strict else "<", high, low) is True
