"""Wire: gauge geometry, resistance, temperature, voltage drop, choice of gauge, longest run, daisy chain."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

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

#: Resistivity of annealed copper at 20 °C, ohm·m, and its temperature coefficient there, 1/K.
COPPER_RESISTIVITY: Final = 1.7241e-8
COPPER_COEFFICIENT: Final = 0.00393
ROOM_TEMPERATURE: Final = 293.15

_ASTM = Source("standard", "ASTM B258, wire gauge and annealed copper")
_SMALLEST_DIAMETER: Final = 0.127e-3  # 36 AWG
_GAUGE_STEP: Final = math.pow(92.0, 1.0 / 39.0)

_GAUGE = Argument(
    "gauge", "n", "gauge", "American wire gauge number; 1/0 is 0, 2/0 is −1, 4/0 is −3", -3.0, 40.0, "-",
    whole=True,
)  # fmt: skip
_LENGTH = Argument("length", "L", "length", "one-way length of the pair, not of both wires", 0.01, 10_000.0, "+")
_CURRENT = Argument("current", "I", "current", "current in the pair", 0.0, 100.0, "+")
_AREA = Argument(
    "area", "A", "area", "copper cross-section of one conductor", 1e-9, 2e-4, "-",
    metric="mm²", customary="kcmil",
)  # fmt: skip
_TEMPERATURE = Argument(
    "temperature", "T", "temperature", "temperature of the conductor", 223.15, 423.15, "+",
    below="the formula is straight only near room temperature",
    above="the formula is straight only near room temperature",
    default_source=Source("practice", "20 °C, common practice for lock wiring"),
    typical=(
        Reading("room temperature", PRACTICE, (("temperature", ROOM_TEMPERATURE),)),
        Reading("usual rating of insulation", PRACTICE, (("temperature", 348.15),)),
    ),
)  # fmt: skip
_STRANDING = Argument(
    "stranding", "s", "ratio", "resistance over that of solid wire of the same gauge", 1.0, 1.2, "+",
    default_source=Source("standard", "solid annealed copper, ASTM B258"),
    typical=(Reading("stranded", PRACTICE, (("stranding", 1.02),)),),
)  # fmt: skip
_SUPPLY_VOLTAGE = Argument(
    "supply_voltage", "V", "voltage", "voltage where the pair begins", 1.0, 1000.0, "+",
    typical=(
        Reading("12 V supply", PRACTICE, (("supply_voltage", 12.0),)),
        Reading("24 V supply", PRACTICE, (("supply_voltage", 24.0),)),
        Reading("12 V battery at the end of its discharge", MEMORY, (("supply_voltage", 10.2),)),
        Reading("24 V battery at the end of its discharge", MEMORY, (("supply_voltage", 20.4),)),
    ),
)  # fmt: skip
_DROP_SHARE = Argument(
    "drop_share", "p", "share", "share of the supply voltage that may be lost", 0.001, 0.5, "+",
    default_source=PRACTICE,
    typical=(
        Reading("preferred", PRACTICE, (("drop_share", 0.05),)),
        Reading("upper limit of practice", PRACTICE, (("drop_share", 0.10),)),
    ),
)  # fmt: skip
_COPPER = "plain annealed copper; plated strands, alloys and copper-clad aluminium have more resistance"
_LENGTHS = Disagreement(
    "the length in a wire chart",
    (
        Reading("one-way distance: the drop is 2·L·I·R", PRACTICE),
        Reading("total length of both wires: the drop is L·I·R", PRACTICE),
    ),
    "one-way distance",
)
_CHARTS = Disagreement(
    "published wire charts",
    (
        Reading("charts stated as 5 % allow 18 AWG for 12 V, 0.5 A and 100 ft", PRACTICE),
        Reading("the formula gives 5.3 % there; such charts exceed their own limit in 33 of 65 cells at 12 V",
                Source("derived", "recomputed with solid copper at 20 °C")),
    ),
    "the formula: report the percentage, never a chart",
)  # fmt: skip


def _resistance_per_length(area: float, temperature: float, stranding: float) -> float:
    warm = 1.0 + COPPER_COEFFICIENT * (temperature - ROOM_TEMPERATURE)
    return COPPER_RESISTIVITY * stranding * warm / area


def _diameter(gauge: float) -> float:
    return _SMALLEST_DIAMETER * math.pow(_GAUGE_STEP, 36.0 - gauge)


@computation(
    "wire.gauge-diameter",
    title="Diameter of a wire gauge",
    formula="0.127 mm·92^((36 − {gauge})/39)",
    arguments=(_GAUGE,),
    result=Result("diameter", "d", "length", metric="mm", customary="in"),
    sources=(_ASTM,),
    assumptions=("solid round wire",),
    sweep="gauge",
)
def gauge_diameter(gauge: float) -> float:
    """Diameter of solid wire of a gauge; a higher number is a thinner wire."""
    return _diameter(gauge)


@computation(
    "wire.gauge-area",
    title="Copper cross-section of a wire gauge",
    formula="π/4·(0.127 mm·92^((36 − {gauge})/39))²",
    arguments=(_GAUGE,),
    result=Result("cross-section", "A", "area", metric="mm²", customary="kcmil"),
    sources=(_ASTM,),
    assumptions=("solid round wire",),
    sweep="gauge",
)
def gauge_area(gauge: float) -> float:
    """Copper cross-section of a gauge."""
    return math.pi / 4.0 * _diameter(gauge) ** 2


@computation(
    "wire.thinnest-gauge",
    title="Thinnest gauge that has a cross-section",
    formula="⌊36 − 39·log92(√(4·{area}/π)/0.127 mm)⌋, at most 40",
    arguments=(_AREA,),
    result=Result("gauge", "n", "gauge", low=-3.0, high=40.0, whole=True,
                  beyond="the cross-section is above that of 4/0 AWG: shorten the run or raise the voltage"),
    sources=(_ASTM,),
    assumptions=("solid round wire",),
    caution="only even gauges are usual in lock wiring: take the next even number below",
    sweep="area",
)  # fmt: skip
def thinnest_gauge(area: float) -> float:
    """Highest gauge number whose cross-section is not smaller than the one needed."""
    diameter = math.sqrt(4.0 * area / math.pi)
    return min(40.0, whole_down(36.0 - math.log(diameter / _SMALLEST_DIAMETER, _GAUGE_STEP)))


@computation(
    "wire.resistance-per-length",
    title="Resistance of a conductor per length",
    formula="1.7241e-8 Ω·m·{stranding}·(1 + 0.00393/K·({temperature} − 20 °C))/{area}",
    arguments=(_AREA, _TEMPERATURE, _STRANDING),
    result=Result("resistance per length of one conductor", "R'", "resistance-per-length"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER,),
    sweep="temperature",
)
def resistance_per_length(area: float, temperature: float = ROOM_TEMPERATURE, stranding: float = 1.0) -> float:
    """Resistance of one copper conductor."""
    return _resistance_per_length(area, temperature, stranding)


@computation(
    "wire.resistance-at-temperature",
    title="Resistance at another temperature",
    formula="{resistance}·(1 + {coefficient}·({temperature} − {reference_temperature}))",
    arguments=(
        Argument("resistance", "R", "resistance", "resistance at the reference temperature", 0.0, 1e6, "+"),
        _TEMPERATURE,
        Argument("reference_temperature", "T0", "temperature",
                 "temperature at which the resistance was given",
                 273.15, 373.15, "-", default_source=_ASTM),
        Argument("coefficient", "α", "temperature-coefficient",
                 "temperature coefficient at the reference temperature", 0.003, 0.005, "±",
                 default_source=_ASTM,
                 typical=(
                     Reading("copper, from 20 °C", _ASTM, (("coefficient", 0.00393),)),
                     Reading("copper, from 75 °C, as in the electrical code's table",
                             Source("code", "NFPA 70 chapter 9 table 8"), (("coefficient", 0.00323),)),
                 )),
    ),
    result=Result("resistance", "R", "resistance"),
    sources=(_ASTM, PHYSICS),
    assumptions=("the coefficient belongs to the reference temperature and to the metal",),
    caution="a value from a 75 °C table is already warm: correct it from 75 °C, not from 20 °C",
    sweep="temperature",
)  # fmt: skip
def resistance_at_temperature(
    resistance: float,
    temperature: float = ROOM_TEMPERATURE,
    reference_temperature: float = ROOM_TEMPERATURE,
    coefficient: float = COPPER_COEFFICIENT,
) -> float:
    """Resistance of a copper conductor or winding at a temperature, from its value at another."""
    return resistance * (1.0 + coefficient * (temperature - reference_temperature))


@computation(
    "wire.loop-resistance",
    title="Resistance of a pair, out and back",
    formula="2·{length}·R'({area}, {temperature}, {stranding})",
    arguments=(_LENGTH, _AREA, _TEMPERATURE, _STRANDING),
    result=Result("loop resistance", "Rw", "resistance"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER,),
    disagreements=(_LENGTHS,),
    sweep="length",
)
def loop_resistance(length: float, area: float, temperature: float = ROOM_TEMPERATURE, stranding: float = 1.0) -> float:
    """Resistance that a device at the end of a pair has in front of it."""
    return 2.0 * length * _resistance_per_length(area, temperature, stranding)


@computation(
    "wire.voltage-drop",
    title="Voltage drop of a pair",
    formula="2·{length}·{current}·R'({area}, {temperature}, {stranding})",
    arguments=(_LENGTH, _CURRENT, _AREA, _TEMPERATURE, _STRANDING),
    result=Result("voltage drop", "ΔV", "voltage"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "the current does not depend on the voltage at the end"),
    caution="check again with the battery at the end of its discharge, and with the conductor warm",
    disagreements=(_LENGTHS, _CHARTS),
    sweep="length",
)
def voltage_drop(
    length: float,
    current: float,
    area: float,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """Voltage lost on the way out and back."""
    return 2.0 * length * current * _resistance_per_length(area, temperature, stranding)


@computation(
    "wire.drop-from-resistance",
    title="Voltage drop of a pair from a cable's data sheet",
    formula="2·{length}·{current}·{resistance_per_length}",
    arguments=(
        _LENGTH,
        _CURRENT,
        Argument("resistance_per_length", "R'", "resistance-per-length",
                 "resistance of one conductor per length",
                 1e-6, 20.0, "+"),
    ),
    result=Result("voltage drop", "ΔV", "voltage"),
    sources=(PHYSICS,),
    assumptions=("the resistance is that at the conductor's temperature",),
    disagreements=(_LENGTHS,),
    sweep="length",
)  # fmt: skip
def drop_from_resistance(length: float, current: float, resistance_per_length: float) -> float:
    """Voltage lost on the way out and back, in a cable of known resistance."""
    return 2.0 * length * current * resistance_per_length


@computation(
    "wire.drop-share",
    title="Voltage drop as a share of the supply",
    formula="{drop}/{supply_voltage}",
    arguments=(
        Argument("drop", "ΔV", "voltage", "voltage drop", 0.0, 1000.0, "+"),
        replace(_SUPPLY_VOLTAGE, direction="-"),
    ),
    result=Result("share of the supply voltage", "p", "share"),
    sources=(PHYSICS,),
    caution="5 % is preferred and 10 % the upper limit in common practice; printed examples of 8 to 13 % exist",
    sweep="drop",
)
def drop_share(drop: float, supply_voltage: float) -> float:
    """How much of the supply voltage the wire takes."""
    return drop / supply_voltage


@computation(
    "wire.voltage-at-lock",
    title="Voltage at the end of a pair, load of constant current",
    formula="{supply_voltage} − 2·{length}·{current}·R'({area}, {temperature}, {stranding})",
    arguments=(
        _SUPPLY_VOLTAGE,
        replace(_LENGTH, direction="-"),
        replace(_CURRENT, direction="-"),
        replace(_AREA, direction="+"),
        replace(_TEMPERATURE, direction="-"),
        replace(_STRANDING, direction="-"),
    ),
    result=Result("voltage at the lock", "Vl", "voltage",
                  beyond="the wire would take more than the whole supply voltage"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "the load draws the same current at any voltage, as regulated electronics do"),
    caution="a plain coil draws less as the voltage falls: see wire.divider-voltage",
    disagreements=(_LENGTHS,),
    sweep="length",
)  # fmt: skip
def voltage_at_lock(
    supply_voltage: float,
    length: float,
    current: float,
    area: float,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """What is left for a device of constant current."""
    return supply_voltage - 2.0 * length * current * _resistance_per_length(area, temperature, stranding)


@computation(
    "wire.divider-voltage",
    title="Voltage at the end of a pair, load of constant resistance",
    formula="{supply_voltage}·{lock_resistance}/({lock_resistance} + "
    "2·{length}·R'({area}, {temperature}, {stranding}))",
    arguments=(
        _SUPPLY_VOLTAGE,
        Argument("lock_resistance", "Rl", "resistance", "resistance of the lock", 0.1, 1e6, "+"),
        replace(_LENGTH, direction="-"),
        replace(_AREA, direction="+"),
        replace(_TEMPERATURE, direction="-"),
        replace(_STRANDING, direction="-"),
    ),
    result=Result("voltage at the lock", "Vl", "voltage"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "the lock is a plain coil"),
    caution="a hot coil has more resistance: it sees more voltage and draws less current",
    disagreements=(_LENGTHS,),
    sweep="length",
)  # fmt: skip
def divider_voltage(
    supply_voltage: float,
    lock_resistance: float,
    length: float,
    area: float,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """What is left for a plain coil."""
    wire = 2.0 * length * _resistance_per_length(area, temperature, stranding)
    return supply_voltage * lock_resistance / (lock_resistance + wire)


@computation(
    "wire.force-share",
    title="Share of the holding force that the wire leaves",
    formula="({lock_resistance}/({lock_resistance} + {wire_resistance}))²",
    arguments=(
        Argument("lock_resistance", "Rl", "resistance", "resistance of the lock", 0.1, 1e6, "+"),
        Argument("wire_resistance", "Rw", "resistance", "loop resistance of the pair", 0.0, 1e5, "-"),
    ),
    result=Result("share of the force", "F/F0", "share", high=1.0, beyond="a wire cannot add force"),
    sources=(PHYSICS,),
    assumptions=("a plain coil, iron not saturated",),
    caution="a saturated lock loses less than this",
    sweep="wire_resistance",
)
def force_share(lock_resistance: float, wire_resistance: float) -> float:
    """How much of its force a lock has at the end of a wire."""
    return (lock_resistance / (lock_resistance + wire_resistance)) ** 2


@computation(
    "wire.longest-run",
    title="Longest run of a pair",
    formula="{drop_share}·{supply_voltage}/(2·{current}·R'({area}, {temperature}, {stranding}))",
    arguments=(
        _SUPPLY_VOLTAGE,
        replace(_CURRENT, low=1e-4, direction="-"),
        replace(_AREA, direction="+"),
        _DROP_SHARE,
        replace(_TEMPERATURE, direction="-"),
        replace(_STRANDING, direction="-"),
    ),
    result=Result("one-way length", "Lmax", "length"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "the current does not depend on the voltage at the end"),
    caution="inrush counts where the lock has to pull in at the end of the run",
    disagreements=(_LENGTHS, _CHARTS),
    sweep="current",
)
def longest_run(
    supply_voltage: float,
    current: float,
    area: float,
    drop_share: float = 0.05,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """How far a conductor carries a current within the drop allowed."""
    per_length = _resistance_per_length(area, temperature, stranding)
    return drop_share * supply_voltage / (2.0 * current * per_length)


@computation(
    "wire.smallest-area",
    title="Smallest conductor for a run",
    formula="2·{length}·{current}·ρ({temperature})·{stranding}/({drop_share}·{supply_voltage})",
    arguments=(
        _LENGTH,
        _CURRENT,
        replace(_SUPPLY_VOLTAGE, direction="-"),
        replace(_DROP_SHARE, direction="-"),
        _TEMPERATURE,
        _STRANDING,
    ),
    result=Result("cross-section", "A", "area", metric="mm²", customary="kcmil"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "the current does not depend on the voltage at the end"),
    caution="then take wire.thinnest-gauge; the current that the cable may carry is another matter",
    disagreements=(_LENGTHS, _CHARTS),
    sweep="length",
)
def smallest_area(
    length: float,
    current: float,
    supply_voltage: float,
    drop_share: float = 0.05,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """Copper cross-section that keeps a run within the drop allowed."""
    drop = drop_share * supply_voltage
    return 2.0 * length * current * _resistance_per_length(1.0, temperature, stranding) / drop


@computation(
    "wire.chain-drop",
    title="Voltage drop to the last device of a daisy chain",
    formula="Σ 2·{segment_lengths}·R'({area}, {temperature}, {stranding})·(sum of {currents} from there on)",
    arguments=(
        replace(_LENGTH, name="segment_lengths", meaning="one-way length of each segment, from the supply on",
                many=True),
        replace(_CURRENT, name="currents", meaning="current of the device at the end of each segment",
                many=True),
        _AREA,
        _TEMPERATURE,
        _STRANDING,
    ),
    result=Result("voltage drop", "ΔV", "voltage"),
    sources=(_ASTM, PHYSICS),
    assumptions=(_COPPER, "one pair throughout", "the currents do not depend on the voltage"),
    caution="the last device sees the most; on double doors both locks hang on the same pair",
    sweep="temperature",
)  # fmt: skip
def chain_drop(
    segment_lengths: tuple[float, ...],
    currents: tuple[float, ...],
    area: float,
    temperature: float = ROOM_TEMPERATURE,
    stranding: float = 1.0,
) -> float:
    """Voltage lost up to the last of several devices tapped off one pair."""
    if len(segment_lengths) != len(currents):
        raise ValueError(
            f"currents: found {len(currents)}, expected {len(segment_lengths)}, one for each of segment_lengths"
        )
    per_length = _resistance_per_length(area, temperature, stranding)
    behind = [math.fsum(currents[place:]) for place in range(len(currents))]
    return math.fsum(
        2.0 * length * per_length * current for length, current in zip(segment_lengths, behind, strict=True)
    )
