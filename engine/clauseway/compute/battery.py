"""Batteries: capacity for standby and alarm, margin by edition, ageing, cold, run time, and egress doors."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from clauseway.compute.description import (
    DERIVED,
    MEMORY,
    PHYSICS,
    PRACTICE,
    Argument,
    Disagreement,
    Reading,
    Result,
    Source,
    computation,
)
from clauseway.compute.rounding import TOLERANCE
from clauseway.compute.units import convert

#: Sizes of sealed lead-acid batteries that are commonly sold, A·h (common practice, no source).
STANDARD_SIZES: Final = (4.0, 7.0, 7.2, 10.0, 12.0, 18.0, 26.0, 33.0, 40.0, 55.0)

_FIRE_ALARM = Source("standard", "NFPA 72 section 10.6.7.2.1 (2010 to 2019), 10.6.10.1 (2022)")
_DOORS = Source("standard", "NFPA 72-2019 section 21.10.3")
_PEUKERT = Source("handbook", "Peukert's law, normalised to the rated discharge time")

_CAPACITY = Argument("capacity", "C", "charge", "rated capacity", 360.0, 3.6e7, "+")
_CURRENT = Argument("current", "I", "current", "current drawn", 1e-3, 1000.0, "-")
_STANDBY_CURRENT = Argument("standby_current", "Is", "current", "current in standby", 0.0, 100.0, "+")
_ALARM_CURRENT = Argument(
    "alarm_current", "Ia", "current", "current in alarm", 0.0, 1000.0, "+",
    default_source=Source("derived", "no alarm load unless stated"),
)  # fmt: skip
_ALARM_TIME = Argument(
    "alarm_time", "ta", "time", "time in alarm", 0.0, 86_400.0, "+", metric="min",
    default_source=Source("derived", "no alarm load unless stated"),
    typical=(
        Reading("fire alarm", _FIRE_ALARM, (("alarm_time", 300.0),)),
        Reading("voice and emergency communication", _FIRE_ALARM, (("alarm_time", 900.0),)),
    ),
)  # fmt: skip
_STANDBY_TIME = Argument(
    "standby_time", "ts", "time", "time in standby", 0.0, 864_000.0, "+", metric="h",
    typical=(
        Reading("fire alarm", _FIRE_ALARM, (("standby_time", 86_400.0),)),
        Reading("access control level II", MEMORY, (("standby_time", 1800.0),)),
        Reading("access control level III", MEMORY, (("standby_time", 7200.0),)),
        Reading("access control level IV", MEMORY, (("standby_time", 14_400.0),)),
    ),
)  # fmt: skip
_MARGIN = Argument(
    "margin", "k", "ratio", "capacity needed over capacity drawn", 1.0, 3.0, "+",
    default_source=Source("standard", "NFPA 72 from the 2022 edition"),
)  # fmt: skip
_EDITIONS = Disagreement(
    "the margin on a fire alarm battery",
    (
        Reading("1.20, editions 2010 to 2019", _FIRE_ALARM, (("margin", 1.20),)),
        Reading("1.25, from the 2022 edition", _FIRE_ALARM, (("margin", 1.25),)),
    ),
    "1.25; by edition with battery.margin-by-edition",
)


@computation(
    "battery.charge",
    title="Charge that a load takes",
    formula="{current}·{time}",
    arguments=(
        replace(_CURRENT, low=0.0, direction="+"),
        Argument("time", "t", "time", "how long it draws", 0.0, 864_000.0, "+", metric="h"),
    ),
    result=Result("charge", "Q", "charge"),
    sources=(PHYSICS,),
    sweep="time",
)
def charge(current: float, time: float) -> float:
    """Charge taken from a battery, without any margin."""
    return current * time


@computation(
    "battery.margin-by-edition",
    title="Margin on a fire alarm battery by edition",
    formula="1.20 for {edition} 2010 to 2019, 1.25 from 2022",
    arguments=(
        Argument("edition", "e", "year", "edition of the fire alarm code", 2010.0, 2025.0, "+", whole=True,
                 below="the margin before the 2010 edition was not read",
                 above="later editions were not read"),
    ),
    result=Result("margin", "k", "ratio", low=1.0),
    sources=(_FIRE_ALARM,),
    caution="the margin went up with 2022, not down; some pages give 1.25 to all editions",
    sweep="edition",
)  # fmt: skip
def margin_by_edition(edition: float) -> float:
    """Capacity needed over capacity drawn, as each edition of the fire alarm code asks."""
    return 1.25 if edition >= 2022.0 else 1.20


@computation(
    "battery.capacity",
    title="Battery capacity for standby and alarm",
    formula="({standby_current}·{standby_time} + {alarm_current}·{alarm_time})·{margin}",
    arguments=(_STANDBY_CURRENT, _STANDBY_TIME, _ALARM_CURRENT, _ALARM_TIME, _MARGIN),
    result=Result("capacity needed", "C", "charge"),
    sources=(_FIRE_ALARM, PHYSICS),
    assumptions=("rated capacity is available at these currents", "two 12 V batteries in series have the same A·h"),
    caution="then take the next larger size made. A battery may not keep egress doors locked: see "
    "battery.unlock-allowance",
    disagreements=(_EDITIONS,),
    sweep="standby_time",
)
def capacity(
    standby_current: float,
    standby_time: float,
    alarm_current: float = 0.0,
    alarm_time: float = 0.0,
    margin: float = 1.25,
) -> float:
    """Capacity that carries the standby load and then the alarm load."""
    return (standby_current * standby_time + alarm_current * alarm_time) * margin


@computation(
    "battery.standby-time",
    title="Standby time that a battery gives",
    formula="({capacity}/{margin} − {alarm_current}·{alarm_time})/{standby_current}, not below 0",
    arguments=(
        _CAPACITY,
        replace(_STANDBY_CURRENT, low=1e-4, direction="-"),
        replace(_ALARM_CURRENT, direction="-"),
        replace(_ALARM_TIME, direction="-"),
        replace(_MARGIN, direction="-"),
    ),
    result=Result("standby time", "ts", "time", metric="h"),
    sources=(_FIRE_ALARM, PHYSICS),
    assumptions=("rated capacity is available at these currents",),
    caution="0 means that the alarm load alone is too much. Faster discharge gives less: see battery.run-time",
    disagreements=(_EDITIONS,),
    sweep="standby_current",
)
def standby_time(
    capacity: float,
    standby_current: float,
    alarm_current: float = 0.0,
    alarm_time: float = 0.0,
    margin: float = 1.25,
) -> float:
    """How long a battery carries the standby load and still has enough for the alarm."""
    return max(0.0, (capacity / margin - alarm_current * alarm_time) / standby_current)


@computation(
    "battery.standard-size",
    title="Next larger battery that is made",
    formula="smallest of 4, 7, 7.2, 10, 12, 18, 26, 33, 40, 55 A·h not below {needed}",
    arguments=(
        Argument("needed", "C", "charge", "capacity needed", 0.0, 198_000.0, "+",
                 above="larger than the sizes listed: use several, or another kind"),
    ),
    result=Result("size", "Cn", "charge"),
    sources=(PRACTICE,),
    caution="sizes as commonly sold",
    sweep="needed",
)  # fmt: skip
def standard_size(needed: float) -> float:
    """Smallest common battery that has the capacity needed."""
    hours = convert(needed, "C", "A·h")
    fitting = next(size for size in STANDARD_SIZES if hours * (1.0 - TOLERANCE) <= size)
    return convert(fitting, "A·h", "C")


@computation(
    "battery.temperature-factor",
    title="Capacity needed in the cold, as a factor",
    formula="−2.8117·x³ + 4.1916·x² − 2.4941·x + 1.405, x = ({temperature} − 0 °C)/100",
    arguments=(
        Argument("temperature", "T", "temperature", "lowest temperature of the battery", 253.15, 323.15, "-",
                 below="no figures below −20 °C were read", above="no figures above 50 °C were read",
                 typical=(Reading("reference", PRACTICE, (("temperature", 298.15),)),)),
    ),
    result=Result("factor on the capacity", "fT", "ratio"),
    sources=(PRACTICE, Source("memory", "agrees with IEEE 485 table 1 as far as remembered")),
    assumptions=("lead-acid, reference 25 °C",),
    disagreements=(
        Disagreement(
            "the factor at 10 °C",
            (
                Reading("1.195: the polynomial", PRACTICE),
                Reading("1.19: IEEE 485", MEMORY),
                Reading("1.11: a table that looks shifted by one row", PRACTICE),
            ),
            "the polynomial",
        ),
    ),
    sweep="temperature",
)  # fmt: skip
def temperature_factor(temperature: float) -> float:
    """How much more capacity a cold battery must have."""
    return _temperature_factor(temperature)


def _temperature_factor(temperature: float) -> float:
    x = (temperature - 273.15) / 100.0
    return ((-2.8117 * x + 4.1916) * x - 2.4941) * x + 1.405


@computation(
    "battery.corrected-capacity",
    title="Battery capacity with cold and ageing",
    formula="{needed}·fT({temperature})·{ageing}",
    arguments=(
        Argument("needed", "C", "charge", "capacity needed when new and at 25 °C", 0.0, 3.6e7, "+"),
        Argument("temperature", "T", "temperature", "lowest temperature of the battery", 253.15, 323.15, "-",
                 below="no figures below −20 °C were read", above="no figures above 50 °C were read",
                 default_source=Source("practice", "reference temperature of 25 °C")),
        Argument("ageing", "fA", "ratio", "capacity when new over capacity when replaced", 1.0, 2.0, "+",
                 default_source=Source("memory", "IEEE 485 practice, replaced at 80 %, from memory")),
    ),
    result=Result("capacity needed", "C", "charge"),
    sources=(PRACTICE, MEMORY),
    assumptions=("lead-acid", "a margin that a code asks for comes on top"),
    caution="sealed batteries last 3 to 5 years",
    sweep="temperature",
)  # fmt: skip
def corrected_capacity(needed: float, temperature: float = 298.15, ageing: float = 1.25) -> float:
    """Capacity that is still enough in the cold and at the end of the battery's life."""
    return needed * _temperature_factor(temperature) * ageing


_EXPONENTS = (
    Reading("sealed, absorbent mat: 1.05 to 1.15", PRACTICE, (("exponent", 1.1),)),
    Reading("gel: 1.1 to 1.25", PRACTICE, (("exponent", 1.18),)),
    Reading("flooded: 1.2 to 1.6", PRACTICE, (("exponent", 1.4),)),
)
_FORMS = Disagreement(
    "the form of Peukert's law",
    (
        Reading("t = H·(C/(I·H))^k with the capacity rated at H: battery.run-time", _PEUKERT),
        Reading("t = C/I^k with the capacity at 1 A: battery.run-time-one-ampere. 14.5 h instead of 20 h for "
                "100 A·h, 5 A, k = 1.2 if the 20 h rating is wrongly put in", PRACTICE),
    ),
    "the first",
)  # fmt: skip


@computation(
    "battery.run-time",
    title="Run time of a battery at a current",
    formula="{rated_time}·({capacity}/({current}·{rated_time}))^{exponent}",
    arguments=(
        _CAPACITY,
        _CURRENT,
        Argument("exponent", "k", "ratio", "how much a faster discharge costs", 1.0, 2.0, "±",
                 default_source=PRACTICE, typical=_EXPONENTS),
        Argument("rated_time", "H", "time", "discharge time at which the capacity is rated", 3600.0,
                 360_000.0,
                 "-", metric="h", default_source=Source("practice", "20 h, usual for lead-acid")),
    ),
    result=Result("run time", "t", "time", metric="h"),
    sources=(_PEUKERT,),
    assumptions=("25 °C, new battery, constant current",),
    caution="slower than the rated discharge the formula promises more than the battery has",
    disagreements=(_FORMS,),
    sweep="current",
)  # fmt: skip
def run_time(capacity: float, current: float, exponent: float = 1.1, rated_time: float = 72_000.0) -> float:
    """How long a battery carries a current that is not its rated one."""
    return _finite_power(capacity / (current * rated_time), exponent) * rated_time


def _finite_power(base: float, exponent: float) -> float:
    return math.exp(exponent * math.log(base))


@computation(
    "battery.run-time-one-ampere",
    title="Run time of a battery, one-ampere form",
    formula="{capacity}/1 A·(1 A/{current})^{exponent}",
    arguments=(
        replace(_CAPACITY, meaning="capacity at a discharge of 1 A, not the 20 h rating"),
        _CURRENT,
        Argument("exponent", "k", "ratio", "how much a faster discharge costs", 1.0, 2.0, "±",
                 default_source=PRACTICE, typical=_EXPONENTS),
    ),
    result=Result("run time", "t", "time", metric="h"),
    sources=(Source("handbook", "Peukert's law, textbook form"),),
    assumptions=("25 °C, new battery, constant current",),
    caution="wrong with a capacity rated at 20 h: use battery.run-time",
    disagreements=(_FORMS,),
    sweep="current",
)  # fmt: skip
def run_time_one_ampere(capacity: float, current: float, exponent: float = 1.1) -> float:
    """How long a battery carries a current, from its capacity at one ampere."""
    return capacity * _finite_power(1.0 / current, exponent)


@computation(
    "battery.exponent",
    title="Discharge exponent from two run times",
    formula="ln({slow_time}/{fast_time})/ln({fast_current}/{slow_current})",
    arguments=(
        Argument("slow_time", "t1", "time", "run time at the smaller current", 1.0, 3.6e6, "+", metric="h"),
        Argument("slow_current", "I1", "current", "smaller current", 1e-3, 1000.0, "+"),
        Argument("fast_time", "t2", "time", "run time at the larger current", 1.0, 3.6e6, "-", metric="h"),
        Argument("fast_current", "I2", "current", "larger current", 1e-3, 1000.0, "-"),
    ),
    result=Result("exponent", "k", "ratio"),
    sources=(_PEUKERT,),
    caution="below 1 or far above 1.6 the two run times do not belong together",
    sweep="fast_time",
)
def exponent(slow_time: float, slow_current: float, fast_time: float, fast_current: float) -> float:
    """Exponent of Peukert's law that two measured discharges imply."""
    if fast_current <= slow_current:
        raise ValueError(f"fast_current: found {fast_current:g} A, expected more than slow_current, {slow_current:g} A")
    if fast_time >= slow_time:
        raise ValueError(f"fast_time: found {fast_time:g} s, expected less than slow_time, {slow_time:g} s")
    return math.log(slow_time / fast_time) / math.log(fast_current / slow_current)


@computation(
    "battery.unlock-allowance",
    title="Time left within which egress doors must unlock after loss of mains",
    formula="{limit} − {locked_time}",
    arguments=(
        Argument("locked_time", "t", "time",
                 "how long the battery keeps the doors locked after mains is lost",
                 0.0, 864_000.0, "-", metric="min"),
        Argument("limit", "tmax", "time", "time within which they must unlock", 0.0, 86_400.0, "+",
                 metric="min", default_source=_DOORS),
    ),
    result=Result("time to spare, negative when the doors stay locked too long", "Δt", "time", low=None,
                  metric="min"),
    sources=(_DOORS, DERIVED),
    assumptions=("doors in the means of egress fed from the fire alarm's battery",),
    caution="capacity is never the obstacle: what counts is what unlocks the doors. Supplies dedicated to "
    "lock power "
    "that unlock when that power is lost are exempt (2007 text; later editions from memory). Model codes "
    "have electromagnetic locks unlock on loss of power; authorities differ on battery backup",
    sweep="locked_time",
)  # fmt: skip
def unlock_allowance(locked_time: float, limit: float = 600.0) -> float:
    """How far a battery is from keeping egress doors locked longer than the fire alarm code lets it."""
    return limit - locked_time
