"""`name=value` as people type it, turned into the SI numbers, ranges and lists that a computation takes."""

from __future__ import annotations

import functools
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from clauseway.compute.description import Argument, Computation, show
from clauseway.compute.registry import Given, Span, evaluate
from clauseway.compute.units import DIMENSIONS, UNITS, shown
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway.text.quantity import QuantityError, System, parse_quantity

#: How the dimensions of the computations are called where quantities are read.
READ_AS: Mapping[str, str] = {
    "moment": "torque", "persons": "count", "count": "count", "year": "count", "size": "count", "share": "ratio",
} | {name: name for name in (
    "length", "area", "force", "pressure", "energy", "mass", "speed", "time", "temperature", "current", "voltage",
    "resistance", "charge", "power", "ratio",
)}  # fmt: skip

#: What the quantity reader's canonical value is changed by to be in SI; the rest are in SI already.
_ZERO = {"temperature": 273.15}

#: Further spellings, folded, each with the unit it stands for and how many of it.
_ALIASES: Mapping[str, Mapping[str, tuple[str, float]]] = {
    "frequency": {"1/hour": ("1/h", 1.0), "perhour": ("1/h", 1.0), "/h": ("1/h", 1.0), "khz": ("Hz", 1e3)},
    "flux-density": {"tesla": ("T", 1.0), "gauss": ("T", 1e-4)},
    "inductance": {"henry": ("H", 1.0), "henries": ("H", 1.0)},
    "capacitance": {"farad": ("F", 1.0), "microfarad": ("uF", 1.0)},
    "magnetomotive-force": {"at": ("A-turn", 1.0), "ampturns": ("A-turn", 1.0), "ampereturns": ("A-turn", 1.0),
                            "aturns": ("A-turn", 1.0)},
    "apparent-power": {"kva": ("VA", 1e3)},
    "temperature-difference": {"k": ("K-diff", 1.0), "°c": ("K-diff", 1.0), "c": ("K-diff", 1.0),
                               "°f": ("°F-diff", 1.0), "f": ("°F-diff", 1.0)},
    "temperature-coefficient": {"/k": ("1/K", 1.0), "perk": ("1/K", 1.0), "1/°c": ("1/K", 1.0),
                                "/°c": ("1/K", 1.0), "%/k": ("1/K", 0.01), "%/°c": ("1/K", 0.01)},
    "area": {"mcm": ("kcmil", 1.0), "cmil": ("kcmil", 1e-3)},
    "pressure": {"inchesofwater": ("inH2O", 1.0)},
}  # fmt: skip

#: Values to show in an example; the first that an argument takes is used.
_EXAMPLES: Mapping[str, Sequence[str]] = {
    "length": ("100 ft", "3 ft", "12 in", "5 in", "2 in", "1/2 in", "0.1 mm"),
    "area": ("50 cm2", "1000 sq ft", "18 AWG"),
    "force": ("1200 lbf", "67 N", "15 lbf"),
    "pressure": ("0.1 in wc", "25 Pa"),
    "moment": ("15 N·m",),
    "energy": ("50 J",),
    "stiffness": ("100 N/mm",),
    "mass": ("50 kg",),
    "mass-density": ("1.2 kg/m3", "999 kg/m3"),
    "speed": ("20 mph", "1.2 m/s"),
    "time": ("24 h", "5 min", "30 s", "15 s", "1 s", "10 ms"),
    "frequency": ("60 Hz", "1 1/h"),
    "temperature": ("68 °F", "20 °C"),
    "temperature-difference": ("40 K", "10 K"),
    "temperature-coefficient": ("0.00393 1/K",),
    "current": ("0.5 A",),
    "voltage": ("24 V", "40 V", "1 V"),
    "resistance": ("48 ohm", "1 ohm"),
    "resistance-per-length": ("21 ohm/km",),
    "resistivity": ("1.72e-8 ohm·m",),
    "inductance": ("3.6 H", "0.5 H"),
    "capacitance": ("1000 uF",),
    "charge": ("7 Ah",),
    "power": ("12 W",),
    "apparent-power": ("40 VA",),
    "flux-density": ("1.2 T", "0.5 T"),
    "flux": ("1 mWb",),
    "magnetomotive-force": ("500 A-turn",),
    "turns-per-length": ("5000 turn/m",),
    "persons": ("100", "40"),
    "area-per-person": ("15 ft2/person", "0.266 m2/person"),
    "width-per-person": ("0.2 in/person",),
    "person-density": ("2 person/m2",),
    "person-flow": ("60 person/min",),
    "specific-flow": ("1 person/m/s",),
    "stack-coefficient": ("3460 Pa·K/m",),
    "ratio": ("1.25", "1", "0.5", "2"),
    "share": ("5 %", "50 %"),
    "count": ("2", "10"),
    "gauge": ("18 AWG",),
    "year": ("2022", "2019"),
    "size": ("4",),
    "switch": ("1",),
}

#: Where one example for a dimension would not make sense beside another of the same.
_EXAMPLES_BY_NAME: Mapping[str, str] = {"fast_current": "2 A", "fast_time": "5 h", "turns": "1000"}

_NUMBER = r"[+-]?(?:[0-9]+\s*/\s*[0-9]+|(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?)"
_NUMBER_AND_UNIT = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)
_BARE = re.compile(r"[+-]?[0-9][0-9\s./eE-]*|[+-]?\.[0-9]+")
_UNIT_AT_END = re.compile(r"[+-]?[0-9][0-9\s./-]*?(?:[eE][+-]?[0-9]+)?\s*([^0-9\s./-].*)", re.DOTALL)
_BETWEEN = re.compile(r"\s*(?:\.\.|…|\s+to\s+)\s*")
_GAUGE = re.compile(
    r"(?P<before>awg|#|no\.?)?\s*(?P<number>[+-]?[0-9]+(?:\.[0-9]+)?|[1-9][0-9]*/0|0{1,4})\s*(?P<after>awg|gauge|ga)?",
    re.IGNORECASE,
)
_SWITCH = {"0": 0.0, "no": 0.0, "false": 0.0, "off": 0.0, "1": 1.0, "yes": 1.0, "true": 1.0, "on": 1.0}
_LONGEST = 100
_UNKNOWN = ("?", "unknown")


@dataclass(frozen=True)
class Put:
    """What was put in for one argument: as typed, and in SI. `gauges` holds the gauges of a range of areas."""

    typed: str
    value: Given
    system: System | None = None
    gauges: tuple[int, int] | None = None


@dataclass(frozen=True)
class _One:
    """One number in SI, the system of units it was typed in, and its wire gauge if it was typed as such."""

    value: float
    system: System | None = None
    gauge: int | None = None


def read_values(record: Computation, words: Sequence[str]) -> dict[str, Put]:
    """Every `name=value` read and checked, in the order of the arguments.

    Raises:
        ClausewayError: with every value that cannot be used, and with what is missing.
    """
    problems: list[Problem] = []
    puts: dict[str, Put] = {}
    named: set[str] = set()
    strange = False
    for word in words:
        try:
            strange, before = True, strange
            argument, typed, by_gauge = _split(record, word)
            strange = before
            if argument.name in named:
                raise ClausewayError(Problem(NOWHERE, f"{argument.name} is given twice", "each value once"))
            named.add(argument.name)
            puts[argument.name] = _put(argument, typed, by_gauge)
        except ClausewayError as error:
            problems += error.problems
    missing = [one for one in record.arguments if one.name not in named and one.default is None]
    # A name that nothing is called is likely the one that is missing.
    if missing and not strange:
        problems.append(_missing(record, missing, puts))
    if problems:
        raise ClausewayError(problems)
    return {argument.name: puts[argument.name] for argument in record.arguments if argument.name in puts}


def problem_of(error: ValueError) -> Problem:
    """The engine's own refusal of a number as a problem of the command line."""
    found, _, expected = str(error).partition(", expected ")
    return Problem(NOWHERE, found, expected)


def takes_gauge(argument: Argument) -> bool:
    """Whether it is the cross-section of a conductor, for which people say a gauge."""
    return argument.dimension == "area" and argument.units[1] == "kcmil"


def _split(record: Computation, word: str) -> tuple[Argument, str, bool]:
    """The argument meant, the text for it, and whether a bare number is a gauge."""
    name, equals, typed = word.partition("=")
    if not equals:
        raise ClausewayError(
            Problem(NOWHERE, f"`{word}` is not name=value", 'quotes around a value with a space: length="150 ft"')
        )
    wanted = name.strip().replace("-", "_")
    for argument in record.arguments:
        if argument.name == wanted.casefold() or argument.symbol == name.strip():
            return argument, typed.strip(), argument.dimension == "gauge"
    conductors = [argument for argument in record.arguments if takes_gauge(argument)]
    if wanted.casefold() in ("gauge", "awg") and len(conductors) == 1:
        return conductors[0], typed.strip(), True
    names = [argument.name for argument in record.arguments]
    raise ClausewayError(
        Problem(
            NOWHERE, f"{record.name} takes nothing called `{name}`", one_of(names, 12), nearest(wanted, names) or ""
        )
    )


def _put(argument: Argument, typed: str, by_gauge: bool) -> Put:
    if typed.casefold() in _UNKNOWN:
        return Put(typed, None)
    try:
        return _list(argument, typed) if argument.many else _single(argument, typed, by_gauge)
    except QuantityError as error:
        near = f'{argument.name}="{error.nearest}"' if error.nearest else ""
        expected = f"{error.expected} ({argument.meaning})" if error.expected else argument.meaning
        raise ClausewayError(Problem(NOWHERE, f"{argument.name}: {error.found}", expected, near)) from None


def _list(argument: Argument, typed: str) -> Put:
    members = [member.strip() for member in typed.strip("[]").split(",")]
    puts = [_single(argument, _with_unit_of(member, members[-1]), False) for member in members]
    values: list[float | Span | None] = []
    for put in puts:
        assert put.value is None or isinstance(put.value, float | tuple)
        values.append(put.value)
    return Put(typed, values, puts[-1].system)


def _single(argument: Argument, typed: str, by_gauge: bool) -> Put:
    if len(typed) > _LONGEST:
        raise QuantityError(f"`{typed[:40]}...` is too long for a quantity")
    if typed.casefold() in _UNKNOWN:
        return Put(typed, None)
    ends = _BETWEEN.split(typed)
    if len(ends) == 1:
        one = _one(argument, typed, by_gauge)
        _check(argument, one.value, typed)
        return Put(typed, one.value, one.system, (one.gauge, one.gauge) if one.gauge is not None else None)
    if len(ends) > 2 or not all(ends):
        raise QuantityError(f"`{typed}` is not a range", f"two ends, such as {_range_example(argument)}")
    return _range(argument, typed, ends, by_gauge)


def _range(argument: Argument, typed: str, ends: Sequence[str], by_gauge: bool) -> Put:
    read = [None if end in _UNKNOWN else _one(argument, _with_unit_of(end, ends[-1]), by_gauge) for end in ends]
    known = [one for one in read if one is not None]
    gauges = [one.gauge for one in known if one.gauge is not None]
    low, high = (one.value if one else None for one in read)
    if low is not None and high is not None and low > high:
        if not gauges:
            raise QuantityError(f"`{typed}` runs backwards", "the least first")
        low, high = high, low
    if low is not None and low == high:
        _check(argument, low, typed)
        return Put(typed, low, known[0].system)
    if low is not None and low > argument.high:
        _check(argument, low, typed)
    if high is not None and high < argument.low:
        _check(argument, high, typed)
    if low is not None and low < argument.low and not argument.below:
        _check(argument, low, typed)
    both = (gauges[0], gauges[1]) if len(gauges) == 2 else None
    return Put(typed, (low, high), known[-1].system if known else None, both)


def _with_unit_of(text: str, last: str) -> str:
    """`50` of `50..150 ft` has the unit of the other end."""
    unit = _UNIT_AT_END.fullmatch(last)
    return f"{text} {unit[1]}" if unit and _BARE.fullmatch(text) else text


def _range_example(argument: Argument) -> str:
    example = example_of(argument)
    number = _NUMBER_AND_UNIT.match(example)
    return f"{number[1]}..{example}" if number else example


def _one(argument: Argument, text: str, by_gauge: bool) -> _One:
    """One quantity in SI; QuantityError where it is none of the argument's dimension."""
    if argument.dimension == "switch":
        if text.casefold() not in _SWITCH:
            raise QuantityError(f"`{text}` is neither 1 nor 0", "1 (yes) or 0 (no)")
        return _One(_SWITCH[text.casefold()])
    if argument.dimension == "gauge" or takes_gauge(argument):
        gauge = _gauge(text, by_gauge)
        if gauge is not None:
            return _One(float(gauge)) if argument.dimension == "gauge" else _One(area_of(gauge), "us", gauge)
        if argument.dimension == "gauge" or (by_gauge and _BARE.fullmatch(text)):
            raise QuantityError(f"`{text}` is not a wire gauge", "a gauge, such as 18 AWG or 1/0 AWG")
    return _quantity(argument, text)


def _gauge(text: str, bare: bool) -> int | None:
    match = _GAUGE.fullmatch(text.strip())
    if match is None or not (bare or match["before"] or match["after"]):
        return None
    number = match["number"]
    if number.endswith("/0"):
        gauge = Fraction(1 - int(number[:-2]))
    elif number.strip("0") == "":
        gauge = Fraction(1 - len(number))
    else:
        gauge = Fraction(number)
    if gauge.denominator != 1 or not -3 <= gauge <= 40:
        raise QuantityError(
            f"there is no gauge `{text}`", "a whole number up to 40 AWG; the thickest are 1/0 to 4/0 AWG"
        )
    return int(gauge)


def gauge_text(gauge: int) -> str:
    """A gauge as people write it: 1/0 for 0, 2/0 for -1."""
    return f"{gauge} AWG" if gauge > 0 else f"{1 - gauge}/0 AWG"


def area_of(gauge: int) -> float:
    """The copper cross-section of a gauge, in SI."""
    return evaluate("wire.gauge-area", {"gauge": float(gauge)})


def _quantity(argument: Argument, text: str) -> _One:
    kind = READ_AS.get(argument.dimension)
    if kind is None:
        return _own(argument, text) or _refuse(argument, text)
    try:
        read = parse_quantity(text, kind)
    except QuantityError as error:
        own = _own(argument, text)
        if own is not None:
            return own
        if takes_gauge(argument):
            raise QuantityError(error.found, "18 AWG, or an area such as 0.823 mm2", error.nearest) from None
        raise
    return _One(read.value + _ZERO.get(kind, 0.0), read.system)


def _own(argument: Argument, text: str) -> _One | None:
    """A number in one of the computations' own units, those that nobody types in a description of a door."""
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    if match is None:
        return None
    number, spelled = match[1].replace(" ", ""), match[2]
    if not spelled:
        free = argument.dimension in ("persons", "ratio", "share")
        return _One(_float(number, text)) if free else None
    found = _units_of(argument.dimension).get(_folded(spelled))
    if found is None or (spelled[0] == "M" and found[0][0] == "m"):
        return None
    unit, times = found
    metric, customary = argument.units
    system: System | None = None if metric == customary else "us" if unit == customary else "si"
    return _One(_float(number, text) * times * UNITS[unit].scale + UNITS[unit].offset, system)


def _float(number: str, text: str) -> float:
    try:
        return float(Fraction(number))
    except ZeroDivisionError:
        raise QuantityError(f"`{text}` divides by zero", "a number") from None


@functools.cache
def _units_of(dimension: str) -> Mapping[str, tuple[str, float]]:
    units = {_folded(name): (name, 1.0) for name, unit in UNITS.items() if unit.dimension == dimension}
    return units | dict(_ALIASES.get(dimension, {}))


def _folded(unit: str) -> str:
    """A unit's spelling without case, spaces, dots and dashes, so that `sq ft / person` is `ft²/person`."""
    plain = unicodedata.normalize("NFKC", unit).replace("μ", "u").replace("Ω", "ohm").casefold()
    plain = re.sub(r"\bsq\.?\s*(ft|in|mm|cm|m)\b", r"\g<1>2", plain)
    plain = re.sub(r"\bcu\.?\s*(ft|in|m)\b", r"\g<1>3", plain)
    plain = re.sub(r"\b(people|persons|occupants?|pers)\b", "person", plain)
    plain = re.sub(r"\bper\b", "/", plain)
    plain = re.sub(r"\bturns\b", "turn", plain)
    plain = plain.replace("ohms", "ohm").replace("1000 ft", "kft").replace("1000ft", "kft")
    return re.sub(r"[\s·*^.-]", "", plain)


def _refuse(argument: Argument, text: str) -> _One:
    dimension = DIMENSIONS[argument.dimension]
    expected = f"{dimension.said}, such as {example_of(argument)}"
    match = _NUMBER_AND_UNIT.fullmatch(text.strip())
    if match is None:
        raise QuantityError(f"`{text}` is not a number and a unit", expected)
    if not match[2]:
        raise QuantityError(f"`{text}` has no unit", expected, f"{text} {example_of(argument).partition(' ')[2]}")
    for kind, other in DIMENSIONS.items():
        if _folded(match[2]) in _units_of(kind):
            raise QuantityError(f"`{text}` is {other.said}", expected)
    known = [unit for unit, _ in _units_of(argument.dimension).values()]
    near = nearest(match[2], known)
    raise QuantityError(
        f"`{match[2]}` is not a unit of {dimension.said}", expected, f"{match[1]} {near}" if near else ""
    )


def _check(argument: Argument, value: float, typed: str) -> None:
    """One number held against what the formula takes."""
    one = replace(argument, many=False)
    try:
        one.accept(value)
    except ValueError as error:
        if argument.low <= value <= argument.high:
            found, _, expected = str(error).partition(", expected ")
            raise ClausewayError(Problem(NOWHERE, found, expected)) from None
        raise ClausewayError(_outside(argument, value, typed)) from None


def _outside(argument: Argument, value: float, typed: str) -> Problem:
    small = value < argument.low
    why = argument.below if small else argument.above
    found = f"{argument.name}: `{typed}` is {'less' if small else 'more'} than "
    found += f"the formula holds for: {why}" if why else "it can be here"
    spans = dict.fromkeys(f"{shown(argument.low, unit)} to {shown(argument.high, unit)}" for unit in argument.units)
    return Problem(NOWHERE, found, f"{', or '.join(spans)} ({argument.meaning})")


def example_of(argument: Argument) -> str:
    """A value that the argument takes, as one would type it."""
    for reading in argument.typical:
        for name, value in reading.settings:
            if name == argument.name and argument.dimension in ("voltage", "current", "share", "ratio", "length"):
                return shown(value, argument.units[0])
    if argument.name in _EXAMPLES_BY_NAME:
        return _EXAMPLES_BY_NAME[argument.name]
    examples = ("18 AWG",) if takes_gauge(argument) else _EXAMPLES[argument.dimension]
    for example in sorted(examples, key=lambda each: each.partition(" ")[2] not in argument.units):
        value = _one(argument, example, False).value
        if argument.low <= value <= argument.high:
            return example
    middle = argument.low + (argument.high - argument.low) / 2
    return show(float(round(middle)) if argument.whole else middle, argument.units[0])


def quoted(name: str, value: str) -> str:
    """`name=value` as a shell takes it."""
    plain = re.fullmatch(r"[\w.%°/²·,+-]+", value)
    return f"{name}={value}" if plain else f"{name}='{value}'" if '"' in value else f'{name}="{value}"'


def _missing(record: Computation, missing: Sequence[Argument], puts: Mapping[str, Put]) -> Problem:
    width = max(len(argument.name) for argument in missing)
    noun = "value is" if len(missing) == 1 else "values are"
    lines = [f"{record.name}: {len(missing)} {noun} missing"]
    for argument in missing:
        lines.append(f"    {argument.name:{width}}  {argument.meaning}")
    call = ["clauseway", "compute", record.name]
    for argument in record.arguments:
        if argument.name in puts:
            call.append(quoted(argument.name, puts[argument.name].typed))
        elif argument.default is None:
            example = example_of(argument)
            call.append(quoted(argument.name, f"{example}, {example}" if argument.many else example))
    return Problem(
        NOWHERE, "\n".join(lines), f"all of them, or name=? where one is not known; such as\n    {' '.join(call)}"
    )
