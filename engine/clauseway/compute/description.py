"""What a computation says about itself, and the decorator that makes a function say it.

A decorated function stays a plain function of floats. Around it are two guards: numbers that the formula does
not hold for are refused before it runs, and no NaN, no infinity and nothing unphysical leaves it.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, ParamSpec

from clauseway.compute.units import DIMENSIONS, label, shown, to_si

P = ParamSpec("P")

_TOLERANCE = 1e-9

#: How the result moves when this argument alone rises: "+" never falls, "-" never rises, "±" one of the two
#: (which one depends on the other arguments), "0" not monotone: only a single value can be taken.
Direction = Literal["+", "-", "±", "0"]

SourceKind = Literal["physics", "standard", "code", "government", "handbook", "derived", "practice", "memory"]

#: One number, or several for an argument that takes many.
Value = float | tuple[float, ...]


@dataclass(frozen=True)
class Source:
    """Where something is from. Practice and memory are said as such: nobody can look them up."""

    kind: SourceKind
    text: str

    def __str__(self) -> str:
        return self.text


PHYSICS = Source("physics", "textbook physics")
PRACTICE = Source("practice", "common practice, no source")
MEMORY = Source("memory", "from memory, not verified")
DERIVED = Source("derived", "derived here from the formulas named")


@dataclass(frozen=True)
class Reading:
    """One of several values or views; `settings` are the arguments that make the computation follow it."""

    says: str
    source: Source
    settings: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Disagreement:
    """A matter on which sources differ: the readings, and which one is taken when nothing is said."""

    matter: str
    readings: tuple[Reading, ...]
    chosen: str


@dataclass(frozen=True)
class Argument:
    """One number a computation takes, in the SI unit of its dimension.

    `low` to `high` is the range the formula is used in. Where `below` or `above` says why, the range ends
    because the model does, not because the world does: an unknown value may then lie beyond, and the answer
    stays open.
    """

    name: str
    symbol: str
    dimension: str
    meaning: str
    low: float
    high: float
    direction: Direction
    metric: str = ""
    customary: str = ""
    whole: bool = False
    many: bool = False
    below: str = ""
    above: str = ""
    typical: tuple[Reading, ...] = ()
    default: float | None = None
    default_source: Source | None = None

    @property
    def unit(self) -> str:
        return DIMENSIONS[self.dimension].si

    @property
    def units(self) -> tuple[str, str]:
        """The units it is shown in: metric, US customary."""
        dimension = DIMENSIONS[self.dimension]
        metric = self.metric or dimension.metric
        return metric, self.customary or (metric if self.metric else dimension.customary)

    def si(self, value: float, unit: str) -> float:
        """A number as somebody gave it, in SI; a unit of another dimension is refused by name."""
        try:
            return to_si(value, unit, self.dimension)
        except ValueError as error:
            raise ValueError(f"{self.name}: {error} ({self.meaning})") from None

    def span(self) -> str:
        """The range as people read it."""
        metric = self.units[0]
        return f"{shown(self.low, metric)} to {shown(self.high, metric)}"

    def accept(self, value: object) -> Value:
        """The value as floats, or ValueError naming the argument, what was found and what is expected."""
        if not self.many:
            return self._accept_one(value, self.name)
        if isinstance(value, str) or not isinstance(value, Sequence):
            raise ValueError(f"{self.name}: found {value!r}, expected a list of numbers ({self.meaning})")
        if not value:
            raise ValueError(f"{self.name}: found an empty list, expected at least one ({self.meaning})")
        return tuple(self._accept_one(member, f"{self.name}[{index}]") for index, member in enumerate(value))

    def snap(self, number: float) -> float:
        """The end of the range for a number that misses it by the last digits of a converted unit."""
        for end in (self.low, self.high):
            if math.isclose(number, end, rel_tol=_TOLERANCE):
                return end
        return number

    def _accept_one(self, value: object, name: str) -> float:
        unit = label(self.unit) or "no unit"
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"{name}: found {value!r}, expected a number in {unit} ({self.meaning})")
        if not math.isfinite(value):
            raise ValueError(f"{name}: found {value}, expected a finite number in {unit} ({self.meaning})")
        number = self.snap(float(value))
        if not self.low <= number <= self.high:
            why = (self.below if number < self.low else self.above) or self.meaning
            found = shown(number, self.units[0])
            raise ValueError(f"{name}: found {found}, expected {self.span()} ({why})")
        if self.whole and number != math.floor(number):
            raise ValueError(f"{name}: found {number:g}, expected a whole number ({self.meaning})")
        return number


@dataclass(frozen=True)
class Result:
    """What comes out. `low` and `high` bound it physically; `beyond` says what a value outside would mean."""

    name: str
    symbol: str
    dimension: str
    low: float | None = 0.0
    high: float | None = None
    metric: str = ""
    customary: str = ""
    whole: bool = False
    beyond: str = ""

    @property
    def unit(self) -> str:
        return DIMENSIONS[self.dimension].si

    @property
    def units(self) -> tuple[str, str]:
        """The units it is shown in: metric, US customary."""
        dimension = DIMENSIONS[self.dimension]
        metric = self.metric or dimension.metric
        return metric, self.customary or (metric if self.metric else dimension.customary)

    def holds(self, value: float) -> bool:
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True)
class Computation:
    """A registered computation: the formula, what it takes and gives, where it is from, what to beware of.

    `formula` names the arguments in braces, so that one text prints with symbols and with numbers put in.
    `body` is the bare formula; call the computation, or the decorated function, to have it guarded.
    """

    name: str
    title: str
    formula: str
    arguments: tuple[Argument, ...]
    result: Result
    sources: tuple[Source, ...]
    assumptions: tuple[str, ...] = ()
    caution: str = ""
    disagreements: tuple[Disagreement, ...] = ()
    #: The argument a small table or a plot runs over when nobody says which.
    sweep: str = ""
    body: Callable[..., float] = field(default=lambda: 0.0, repr=False, compare=False)

    @property
    def subject(self) -> str:
        return self.name.partition(".")[0]

    def argument(self, name: str) -> Argument:
        """The argument of that name; ValueError naming the nearest one otherwise."""
        for argument in self.arguments:
            if argument.name == name:
                return argument
        names = [argument.name for argument in self.arguments]
        import difflib

        near = difflib.get_close_matches(name, names, n=1, cutoff=0.4)
        hint = f" (did you mean {near[0]}?)" if near else ""
        raise ValueError(f"{self.name}: found an argument {name!r}, expected {', '.join(names)}{hint}")

    def settle(self, given: Mapping[str, object]) -> dict[str, Value]:
        """Every argument checked and defaults filled in; ValueError for the first that cannot be used."""
        for name in given:
            self.argument(name)
        settled: dict[str, Value] = {}
        for argument in self.arguments:
            value = given.get(argument.name, argument.default)
            if value is None:
                raise ValueError(
                    f"{argument.name}: found nothing, expected a number in "
                    f"{label(argument.unit) or 'no unit'} ({argument.meaning})"
                )
            settled[argument.name] = argument.accept(value)
        return settled

    def calculate(self, given: Mapping[str, object]) -> float:
        """The result for one set of values in SI units; ValueError where there is none."""
        settled = self.settle(given)
        try:
            value = self.body(**settled)
        except ArithmeticError:
            value = math.nan
        except ValueError as error:
            raise ValueError(f"{self.name}: {error}") from None
        if not math.isfinite(value):
            raise ValueError(f"{self.name}: there is no result; found {self._put(settled)}")
        if not self.result.holds(value):
            raise ValueError(f"{self.name}: {self.result.beyond}; found {self._put(settled)}")
        # Adding zero turns -0.0 into 0.0.
        return value + 0.0

    def _put(self, settled: Mapping[str, Value]) -> str:
        return ", ".join(f"{one.name} {show(settled[one.name], one.units[0])}" for one in self.arguments)

    def formula_with_symbols(self) -> str:
        """The formula as a textbook prints it."""
        return self.formula.format_map({argument.name: argument.symbol for argument in self.arguments})

    def formula_with_numbers(self, given: Mapping[str, object]) -> str:
        """The formula with the numbers put in, each with its SI unit."""
        settled = self.settle(given)
        return self.formula.format_map(
            {argument.name: show(settled[argument.name], argument.unit) for argument in self.arguments}
        )


def show(value: Value, unit: str) -> str:
    """One value, or the members of several, as text."""
    if isinstance(value, tuple):
        return "[" + ", ".join(shown(member, unit) for member in value) + "]"
    return shown(value, unit)


def computation(
    name: str,
    *,
    title: str,
    formula: str,
    arguments: tuple[Argument, ...],
    result: Result,
    sources: tuple[Source, ...],
    assumptions: tuple[str, ...] = (),
    caution: str = "",
    disagreements: tuple[Disagreement, ...] = (),
    sweep: str = "",
) -> Callable[[Callable[P, float]], Callable[P, float]]:
    """Describe a function as a computation: its signature gives the defaults, its docstring is completed."""

    def describe(body: Callable[P, float]) -> Callable[P, float]:
        defaults = getattr(body, "__defaults__", None) or ()
        first = len(arguments) - len(defaults)
        record = Computation(
            name=name,
            title=title,
            formula=formula,
            arguments=tuple(
                replace(argument, default=float(defaults[place - first])) if place >= first else argument
                for place, argument in enumerate(arguments)
            ),
            result=result,
            sources=sources,
            assumptions=assumptions,
            caution=caution,
            disagreements=disagreements,
            sweep=sweep,
            body=body,
        )
        names = tuple(argument.name for argument in arguments)

        @functools.wraps(body)
        def guarded(*args: P.args, **kwargs: P.kwargs) -> float:
            if len(args) > len(names):
                raise ValueError(f"{name}: found {len(args)} numbers, expected {', '.join(names)}")
            return record.calculate(dict(zip(names, args, strict=False)) | kwargs)

        guarded.__doc__ = _docstring(body.__doc__ or title, record)
        setattr(guarded, _MARK, record)
        return guarded

    return describe


_MARK = "__computation__"


def described(function: object) -> Computation | None:
    """The computation a decorated function stands for; None for anything else."""
    record = getattr(function, _MARK, None)
    return record if isinstance(record, Computation) else None


def _docstring(opening: str, record: Computation) -> str:
    """The sections every function shares, made from its description so that they cannot drift from it."""
    lines = [opening.strip(), "", f"Formula: {record.formula_with_symbols()}", ""]
    for argument in record.arguments:
        metric = argument.units[0]
        default = "" if argument.default is None else f"; default {shown(argument.default, metric)}"
        unit = label(argument.unit) or "no unit"
        lines.append(
            f"    {argument.name}: {argument.meaning} [{unit}], {argument.span()}{default}; result {argument.direction}"
        )
    lines += [
        "",
        f"Gives: {record.result.name} [{label(record.result.unit) or 'no unit'}].",
        "Source: " + "; ".join(str(source) for source in record.sources) + ".",
    ]
    lines += [f"Assumes: {assumption}." for assumption in record.assumptions]
    if record.caution:
        lines.append(f"Caution: {record.caution}.")
    beyond = f"; {record.result.beyond}" if record.result.beyond else ""
    lines.append(f"Errors: ValueError for a number missing, not finite or outside its range{beyond}.")
    return "\n".join(lines)
