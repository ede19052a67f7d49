"""The one place where a value or a verdict becomes a sentence, for the terminal, JSON and the site alike."""

from __future__ import annotations

import datetime
import math
from functools import lru_cache

from clauseway.case.things import Missing, Thing
from clauseway.language import core
from clauseway.language.possible import Choice, Choices, Interval, Text, Value
from clauseway.model.provision import Placeholder, Template
from clauseway.model.vocabulary import Fact, Vocabulary
from clauseway.readers.decide import Decider, Env
from clauseway.text.quantity import format_quantity, singular

UNKNOWN = "not known"


def joined(words: list[str], last: str = "and") -> str:
    """`a, b and c`."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} {last} {words[-1]}" if words else ""


def value_in_words(value: Value, form: str, vocabulary: Vocabulary) -> str:
    """A value as people read it, by its form (`quantity:length`, `choice:list`, ...)."""
    kind, _, detail = form.partition(":")
    if value is None or isinstance(value, bool):
        return {True: "yes", False: "no", None: UNKNOWN}[value]
    if isinstance(value, Interval):
        return _number(value, kind, detail)
    if isinstance(value, Choice):
        listed = vocabulary.lists[detail]
        if kind == "choice" and len(value.options) == len(listed.leaves) > 1:
            return UNKNOWN
        return joined(listed.shorten(value.options), "or")
    if isinstance(value, Choices):
        if not value.sure and value.possible:
            return UNKNOWN
        return joined(vocabulary.lists[detail].shorten(value.sure)) or "none"
    return value.value if value.value is not None else UNKNOWN


def form_of(fact: Fact) -> str:
    """How a value of a fact is printed."""
    if fact.sort == "quantity":
        return f"quantity:{fact.unit}"
    return f"count:{fact.noun}" if fact.sort == "count" else f"{fact.sort}:{fact.values}"


def _number(value: Interval, kind: str, detail: str) -> str:
    def one(number: float) -> str:
        if kind == "quantity":
            return format_quantity(number, detail, value.system)
        if kind == "date":
            return datetime.date.fromordinal(int(number)).isoformat()
        whole = f"{number:.10g}"
        noun = {"people": "person"}.get(detail, singular(detail)) if number == 1 else detail
        return f"{whole} {noun}".strip()

    if value.is_point:
        return one(value.low)
    if math.isinf(value.high):
        return UNKNOWN if math.isinf(value.low) or value.low == 0 else f"at least {one(value.low)}"
    if math.isinf(value.low) or value.low == 0:
        return f"at most {one(value.high)}"
    return f"between {one(value.low)} and {one(value.high)}"


def thing_in_words(thing: Thing) -> str:
    """A thing by the name it was given."""
    return thing.id or f"another {thing.kind}"


def render(template: Template, decider: Decider, env: Env) -> str:
    """A sentence with its measured and required values."""
    return "".join(part if isinstance(part, str) else _placeholder(part, decider, env) for part in template).strip()


def _placeholder(part: Placeholder, decider: Decider, env: Env) -> str:
    if part.form.startswith("thing:"):
        return thing_in_words(decider.thing(part.node, env))
    if part.form.startswith("things:"):
        collection = decider.collection(part.node, env)
        return joined([thing_in_words(member.thing) for member in collection.members]) or "none"
    if isinstance(part.node, core.Parameter):
        return printed(part.node.key, decider)
    value, _ = decider.value(part.node, env)
    typed = _typed(part.node, decider, env)
    if typed and not (isinstance(value, Text) and value.value is None):
        return typed
    return value_in_words(value, part.form, decider.vocabulary)


def printed(key: str, decider: Decider) -> str:
    """A parameter as its code prints it, the second printed unit in brackets."""
    parameter = decider.rulebook.parameters[key]
    if parameter.form.startswith("options:"):
        return joined(list(parameter.printed), "or")
    first, *rest = parameter.printed
    return f"{first} ({rest[0]})" if rest else first


def _typed(node: core.Node, decider: Decider, env: Env) -> str:
    """What the person typed for the fact that a placeholder shows."""
    if not isinstance(node, core.Get):
        return ""
    thing = decider.thing(node.source, env)
    given = decider.project.given(thing.path, node.fact.partition(".")[2], decider.mode)
    if given is None or given.typed in ("true", "false"):
        return ""
    return given.typed


def fact_label(missing: Missing) -> str:
    """The dotted name of a missing fact."""
    if missing.kind == "clause":
        return f"clause text of {missing.name}"
    if missing.kind == "computation":
        return f"a result of {missing.name.partition(':')[0]}"
    return f"{missing.kind}.{missing.name}" + (" complete" if missing.whole else "")


def question(missing: Missing, vocabulary: Vocabulary) -> str:
    """The question to ask for something that is missing."""
    if missing.kind == "clause":
        return f"{missing.name} is known from memory only: has somebody read it in the adopted code?"
    if missing.kind == "computation":
        return f"It cannot be computed by {missing.name}."
    kind = vocabulary.kinds[missing.kind]
    of = place_in_words(missing.path)
    if missing.whole:
        relation = kind.relations[missing.name]
        asked = relation.ask or f"Which {relation.name.replace('_', ' ')} has it?"
        return f"{of}: {asked} Are all of them listed?"
    if missing.name in kind.facts:
        return f"{of}: {kind.facts[missing.name].ask}"
    return f"{of}: {kind.relations[missing.name].ask or missing.name}"


@lru_cache(maxsize=4096)
def place_in_words(path: str) -> str:
    """A path as people say it: `d101, lock magnet`."""
    if not path:
        return "building"
    steps = path.split("/")
    pairs = list(zip(steps[::2], steps[1::2], strict=False))
    words = []
    for relation, identity in pairs:
        name = relation.replace("_", " ")
        words.append(identity if relation == "openings" else f"{_ONE.get(name, name.removesuffix('s'))} {identity}")
    return ", ".join(words)


_ONE = {
    "leaves": "leaf",
    "passages": "passage",
    "acts": "acting on",
    "on": "at",
    "by hand": "by hand from",
    "storeys": "storey",
    "supplies": "supply",
}


def undetermined(asks: str, labels: list[str]) -> str:
    """The sentence for a condition that cannot be decided yet."""
    if not labels:
        return f"Not decided whether {asks}."
    shown = labels[:3] + ([f"{len(labels) - 3} more"] if len(labels) > 3 else [])
    return f"Not decided whether {asks}: not known {joined(shown)}."
