"""Supplies: sums and margins, inrush, windings at 12 and 24 V, rectifier and filter, Class 2 limits."""

from __future__ import annotations

import math
from dataclasses import replace

from clauseway.compute.description import (
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
from clauseway.compute.rounding import whole_down

_CLASS_2 = Source("code", "NFPA 70 article 725 and chapter 9 tables 11(A), 11(B), read in secondary reprints")
_COPPER = Source("standard", "annealed copper, ASTM B258 and IACS")

_CURRENT = Argument("current", "I", "current", "current drawn", 0.0, 100.0, "+")
_VOLTAGE = Argument(
    "voltage", "V", "voltage", "voltage at the load", 0.1, 1000.0, "+",
    typical=(
        Reading("low-voltage lock", PRACTICE, (("voltage", 12.0),)),
        Reading("low-voltage lock", PRACTICE, (("voltage", 24.0),)),
    ),
)  # fmt: skip
_RESISTANCE = Argument("resistance", "R", "resistance", "resistance of the load", 0.01, 1e6, "-")
_MARGIN = Disagreement(
    "spare capacity of a supply",
    (
        Reading("20 % spare", PRACTICE, (("margin", 1.2),)),
        Reading("25 % spare, or load of at most 80 %", PRACTICE, (("margin", 1.25),)),
        Reading("one third spare, or load of at most 75 %", PRACTICE, (("margin", 4.0 / 3.0),)),
        Reading("50 % spare", PRACTICE, (("margin", 1.5),)),
    ),
    "25 % spare",
)
_LOCK_CURRENT = Disagreement(
    "what a lock draws when there is no data sheet",
    (
        Reading("5 to 6 W: 0.45 to 0.55 A at 12 V", PRACTICE, (("power", 6.0),)),
        Reading("3 W: 0.25 A at 12 V", PRACTICE, (("power", 3.0),)),
    ),
    "6 W: the safe side for supply, wire and battery",
)


@computation(
    "supply.standing-current",
    title="Sum of standing currents",
    formula="Σ {currents}",
    arguments=(Argument("currents", "I", "current", "what each device draws", 0.0, 100.0, "+", many=True),),
    result=Result("standing current", "ΣI", "current"),
    sources=(PHYSICS,),
    assumptions=("everything draws at the same time", "all currents are at the voltage of the supply"),
    caution="sheets confuse mA and A: look again at a current a thousand times its class",
    sweep="",
)
def standing_current(currents: tuple[float, ...]) -> float:
    """What all devices on one supply draw together."""
    return math.fsum(currents)


@computation(
    "supply.required-current",
    title="Rating that a supply needs",
    formula="max({margin}·{standing_current} + {charging_current}, {standing_current} + {inrush_excess})",
    arguments=(
        Argument("standing_current", "ΣI", "current", "sum of standing currents", 0.0, 1000.0, "+"),
        Argument("margin", "k", "ratio", "spare capacity as a factor", 1.0, 3.0, "+",
                 default_source=PRACTICE),
        Argument("charging_current", "Ic", "current", "current that charges the battery", 0.0, 100.0, "+",
                 default_source=Source("derived", "no battery unless stated"),
                 typical=(Reading("small battery", PRACTICE, (("charging_current", 0.5),)),)),
        Argument("inrush_excess", "ΔIr", "current", "largest inrush at one time, above the standing current",
                 0.0, 1000.0, "+", default_source=Source("derived", "none unless stated")),
    ),
    result=Result("rating", "I", "current"),
    sources=(PRACTICE,),
    assumptions=("the supply is filtered and regulated direct current",),
    caution="a Class 2 output has its own limit, see supply.class-2-current",
    disagreements=(_MARGIN,),
    sweep="standing_current",
)  # fmt: skip
def required_current(
    standing_current: float, margin: float = 1.25, charging_current: float = 0.0, inrush_excess: float = 0.0
) -> float:
    """Smallest rating that carries the load with its margin and the inrush without one."""
    return max(margin * standing_current + charging_current, standing_current + inrush_excess)


@computation(
    "supply.loading",
    title="Loading of a supply",
    formula="{standing_current}/{rating}",
    arguments=(
        Argument("standing_current", "ΣI", "current", "sum of standing currents", 0.0, 1000.0, "+"),
        Argument("rating", "In", "current", "rating of the supply or output", 0.01, 1000.0, "-"),
    ),
    result=Result("share of the rating in use", "ΣI/In", "share"),
    sources=(PRACTICE,),
    caution="common practice keeps it at or below 75 to 80 %; above 100 % the supply is overloaded",
    sweep="standing_current",
)
def loading(standing_current: float, rating: float) -> float:
    """How much of a supply's rating its load uses."""
    return standing_current / rating


@computation(
    "supply.duty-current",
    title="Standing current that an intermittent load is worth",
    formula="{current}·min(1, {on_time}·{frequency})",
    arguments=(
        _CURRENT,
        Argument("on_time", "t", "time", "how long it draws each time", 0.0, 3600.0, "+"),
        Argument("frequency", "n", "frequency", "how often it draws", 0.0, 1.0, "+", metric="1/h"),
    ),
    result=Result("equivalent current", "Im", "current", metric="mA"),
    sources=(PRACTICE,),
    assumptions=("the load is never on for more than all of the time",),
    caution="for heat and battery only: the supply and the wire must carry the full current. Fail-safe locks "
    "draw all the time while they are locked",
    sweep="frequency",
)  # fmt: skip
def duty_current(current: float, on_time: float, frequency: float) -> float:
    """Average of a current that flows only now and then."""
    return current * min(1.0, on_time * frequency)


@computation(
    "supply.inrush-current",
    title="Inrush of a lock or strike",
    formula="{current}·{factor}",
    arguments=(
        replace(_CURRENT, meaning="holding current"),
        Argument("factor", "k", "ratio", "inrush over holding current", 1.0, 20.0, "+", typical=(
            Reading("electromagnetic lock", PRACTICE, (("factor", 1.1),)),
            Reading("electric strike, least", PRACTICE, (("factor", 2.0),)),
            Reading("electric strike, most", PRACTICE, (("factor", 3.0),)),
        )),
    ),
    result=Result("inrush current", "Ir", "current"),
    sources=(PRACTICE,),
    assumptions=("lasts about 1 s",),
    sweep="factor",
)  # fmt: skip
def inrush_current(current: float, factor: float) -> float:
    """Current in the first second of operation."""
    return current * factor


@computation(
    "supply.lock-current",
    title="Current of a lock from its power",
    formula="{power}/{voltage}",
    arguments=(
        replace(_VOLTAGE, direction="-"),
        Argument("power", "P", "power", "power of the lock", 0.1, 200.0, "+", default_source=PRACTICE,
                 typical=(
            Reading("600 lbf class", PRACTICE, (("power", 5.4),)),
            Reading("1200 lbf class", PRACTICE, (("power", 6.0),)),
            Reading("1500 lbf class", PRACTICE, (("power", 8.4),)),
        )),
    ),
    result=Result("current", "I", "current"),
    sources=(PHYSICS, PRACTICE),
    assumptions=("the same lock takes the same power on 12 V and on 24 V",),
    caution="use the data sheet where there is one: the classes are common practice and differ by a factor "
    "of two",
    disagreements=(_LOCK_CURRENT,),
    sweep="power",
)  # fmt: skip
def lock_current(voltage: float, power: float = 6.0) -> float:
    """Current of a lock known only by its power, or by nothing at all."""
    return power / voltage


@computation(
    "supply.current-from-volt-amperes",
    title="Current that an apparent power allows",
    formula="{apparent_power}/{voltage}",
    arguments=(
        Argument("apparent_power", "S", "apparent-power", "rating of the transformer or supply", 0.0, 1e4, "+"),
        replace(_VOLTAGE, direction="-"),
    ),
    result=Result("current", "I", "current"),
    sources=(PHYSICS,),
    caution="behind a rectifier less direct current is available than this",
    sweep="voltage",
)
def current_from_volt_amperes(apparent_power: float, voltage: float) -> float:
    """Current at which a supply rated in VA is fully loaded."""
    return apparent_power / voltage


@computation(
    "supply.power",
    title="Power from voltage and current",
    formula="{voltage}·{current}",
    arguments=(_VOLTAGE, _CURRENT),
    result=Result("power", "P", "power"),
    sources=(PHYSICS,),
    sweep="current",
)
def power(voltage: float, current: float) -> float:
    """Power of a direct-current load."""
    return voltage * current


@computation(
    "supply.coil-current",
    title="Current of a coil from its resistance",
    formula="{voltage}/{resistance}",
    arguments=(_VOLTAGE, _RESISTANCE),
    result=Result("current", "I", "current"),
    sources=(PHYSICS,),
    assumptions=("direct current, a plain coil without electronics",),
    caution="a hot coil draws less, see supply.hot-current-share",
    sweep="voltage",
)
def coil_current(voltage: float, resistance: float) -> float:
    """Steady current of a coil."""
    return voltage / resistance


@computation(
    "supply.coil-resistance",
    title="Resistance of a coil from its current",
    formula="{voltage}/{current}",
    arguments=(_VOLTAGE, replace(_CURRENT, low=1e-4, direction="-")),
    result=Result("resistance", "R", "resistance"),
    sources=(PHYSICS,),
    assumptions=("direct current, a plain coil without electronics",),
    sweep="current",
)
def coil_resistance(voltage: float, current: float) -> float:
    """Resistance that a stated voltage and current imply."""
    return voltage / current


@computation(
    "supply.load-resistance",
    title="Resistance of equal windings or locks together",
    formula="{resistance}·{in_series}/{in_parallel}",
    arguments=(
        replace(_RESISTANCE, meaning="resistance of one", direction="+"),
        Argument("in_series", "s", "count", "how many one behind the other", 1.0, 100.0, "+", whole=True,
                 default_source=Source("derived", "one unless stated")),
        Argument("in_parallel", "p", "count", "how many side by side", 1.0, 100.0, "-", whole=True,
                 default_source=Source("derived", "one unless stated")),
    ),
    result=Result("resistance", "R", "resistance"),
    sources=(PHYSICS,),
    assumptions=("all are equal",),
    caution="two windings: side by side for 12 V, one behind the other for 24 V. In series on 12 V the "
    "lock has half "
    "its ampere-turns; side by side on 24 V it takes four times its power and overheats",
    sweep="in_parallel",
)  # fmt: skip
def load_resistance(resistance: float, in_series: float = 1.0, in_parallel: float = 1.0) -> float:
    """Resistance of windings of one lock, or of locks on one pair of wires."""
    return resistance * in_series / in_parallel


@computation(
    "supply.hot-current-share",
    title="Current of a hot coil as a share of the cold one",
    formula="1/(1 + {coefficient}·{temperature_rise})",
    arguments=(
        Argument("temperature_rise", "ΔT", "temperature-difference", "coil above 20 °C", 0.0, 150.0, "-"),
        Argument("coefficient", "α", "temperature-coefficient", "temperature coefficient of copper at 20 °C",
                 0.003, 0.005, "-", default_source=_COPPER),
    ),
    result=Result("share of the cold current", "I/I20", "share", high=1.0, beyond="a hot coil draws less"),
    sources=(PHYSICS, _COPPER),
    assumptions=("copper winding on a constant voltage",),
    caution="ampere-turns fall by the same share, unsaturated force by its square",
    sweep="temperature_rise",
)  # fmt: skip
def hot_current_share(temperature_rise: float, coefficient: float = 0.00393) -> float:
    """How much of its cold current a copper coil still draws when it is warm."""
    return 1.0 / (1.0 + coefficient * temperature_rise)


_RMS = Argument(
    "rms_voltage", "Vrms", "voltage", "voltage of the transformer", 1.0, 500.0, "+",
    typical=(
        Reading("transformer", PRACTICE, (("rms_voltage", 12.0),)),
        Reading("transformer", PRACTICE, (("rms_voltage", 24.0),)),
    ),
)  # fmt: skip
_DIODE_DROP = Argument(
    "diode_drop", "Vd", "voltage", "voltage lost in one diode of the bridge", 0.0, 2.0, "-",
    default_source=PRACTICE,
    typical=(
        Reading("light load", PRACTICE, (("diode_drop", 0.7),)),
        Reading("full load", PRACTICE, (("diode_drop", 1.0),)),
    ),
)  # fmt: skip
_TOO_LOW = "the transformer's voltage is too low to get through the bridge"


def _peak(rms_voltage: float, diode_drop: float) -> float:
    return math.sqrt(2.0) * rms_voltage - 2.0 * diode_drop


@computation(
    "supply.rectified-peak",
    title="Direct voltage behind a bridge with a filter capacitor",
    formula="√2·{rms_voltage} − 2·{diode_drop}",
    arguments=(_RMS, _DIODE_DROP),
    result=Result("peak voltage", "Vp", "voltage", beyond=_TOO_LOW),
    sources=(PHYSICS, PRACTICE),
    assumptions=("sine wave, two diodes conduct at a time", "the capacitor holds the peak"),
    caution="24 V alternating gives 32.5 V: too much for a 24 V lock. A lightly loaded transformer may give "
    "20 % more than its rating",
    sweep="rms_voltage",
)
def rectified_peak(rms_voltage: float, diode_drop: float = 0.7) -> float:
    """Voltage to which the filter capacitor behind a bridge is charged."""
    return _peak(rms_voltage, diode_drop)


@computation(
    "supply.rectified-average",
    title="Direct voltage behind a bridge without a filter",
    formula="2/π·(√2·{rms_voltage} − 2·{diode_drop})",
    arguments=(_RMS, _DIODE_DROP),
    result=Result("average voltage", "Vm", "voltage", beyond=_TOO_LOW),
    sources=(PHYSICS, PRACTICE),
    assumptions=("two diodes conduct at a time", "the average is that of a sine wave of the reduced peak"),
    caution="ripple makes a lock hum, heat and hold less: use filtered and regulated direct current",
    sweep="rms_voltage",
)
def rectified_average(rms_voltage: float, diode_drop: float = 0.7) -> float:
    """Average voltage of an unfiltered bridge."""
    return 2.0 / math.pi * _peak(rms_voltage, diode_drop)


@computation(
    "supply.ripple",
    title="Ripple behind a bridge with a filter capacitor",
    formula="{current}/({divisor}·{mains_frequency}·{capacitance})",
    arguments=(
        _CURRENT,
        Argument("capacitance", "C", "capacitance", "filter capacitor", 1e-6, 10.0, "-"),
        Argument("mains_frequency", "f", "frequency", "frequency of the mains, not of the ripple", 40.0,
                 500.0, "-",
                 default_source=Source("practice", "60 Hz mains")),
        Argument("divisor", "n", "ratio", "2 for a full-wave rectifier", 1.0, 10.0, "-",
                 default_source=PHYSICS),
    ),
    result=Result("ripple, peak to peak", "ΔV", "voltage"),
    sources=(PHYSICS,),
    assumptions=("the load is constant and the capacitor carries it through the whole half wave",),
    caution="more than the peak voltage means that the capacitor runs empty",
    disagreements=(
        Disagreement(
            "the formula of ripple",
            (
                Reading("I/(2·f·C): full-wave rectifier", PHYSICS, (("divisor", 2.0),)),
                Reading("I/(2·π·f·C): a reactance, not the ripple of a rectifier", PRACTICE,
                        (("divisor", 2.0 * math.pi),)),
            ),
            "the first",
        ),
    ),
    sweep="capacitance",
)  # fmt: skip
def ripple(current: float, capacitance: float, mains_frequency: float = 60.0, divisor: float = 2.0) -> float:
    """How far the voltage sags between two peaks of the mains."""
    return current / (divisor * mains_frequency * capacitance)


_CLASS_2_VOLTAGE = Argument(
    "voltage", "V", "voltage", "voltage of the source", 1.0, 60.0, "-",
    above="Class 2 rows above 60 V are of another kind",
)  # fmt: skip


@computation(
    "supply.class-2-current",
    title="Current limit of a Class 2 source",
    formula="min(5 A, 100 VA/{voltage})",
    arguments=(_CLASS_2_VOLTAGE,),
    result=Result("current limit", "Imax", "current"),
    sources=(_CLASS_2, MEMORY),
    assumptions=("a source with an overcurrent device; rows for direct current and above 30 V from memory",),
    caution="a supply listed as Class 2 is accepted as marked; outputs must not be joined unless listed "
    "for it. "
    "12 V gives 5 A, not 8.3 A. Wet contact: 30 V direct current at most",
    sweep="voltage",
)
def class_2_current(voltage: float) -> float:
    """Largest current of a Class 2 output: 5 A up to 20 V, then 100 VA."""
    return min(5.0, 100.0 / voltage)


@computation(
    "supply.class-2-apparent-power",
    title="Apparent power limit of a Class 2 source",
    formula="min(5 A·{voltage}, 100 VA)",
    arguments=(replace(_CLASS_2_VOLTAGE, direction="+"),),
    result=Result("apparent power limit", "Smax", "apparent-power"),
    sources=(_CLASS_2, MEMORY),
    assumptions=("the nameplate of the source; rows for direct current from memory",),
    caution="a supply listed as Class 2 is accepted as marked",
    sweep="voltage",
)
def class_2_apparent_power(voltage: float) -> float:
    """Largest nameplate of a Class 2 source."""
    return min(5.0 * voltage, 100.0)


@computation(
    "supply.locks-per-output",
    title="How many locks one output carries",
    formula="⌊{output_current}·{loading}/{lock_current}⌋",
    arguments=(
        Argument("output_current", "In", "current", "limit of the output", 0.0, 1000.0, "+"),
        Argument("lock_current", "I", "current", "current of one lock", 1e-3, 100.0, "-"),
        Argument("loading", "p", "share", "share of the output that may be used", 0.05, 1.0, "+",
                 default_source=PRACTICE),
    ),
    result=Result("locks", "n", "count", whole=True),
    sources=(PRACTICE,),
    assumptions=("all locks are equal",),
    sweep="lock_current",
)  # fmt: skip
def locks_per_output(output_current: float, lock_current: float, loading: float = 0.8) -> float:
    """Whole number of equal locks within the loading."""
    return whole_down(output_current * loading / lock_current)
