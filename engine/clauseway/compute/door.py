"""Door mechanics: closer, air pressure, force to open and to break open, head clearance under a magnet."""

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
from clauseway.compute.units import FOOT, INCH_OF_WATER, MILE_PER_HOUR, POUND_FORCE

#: The coefficient 5.2 that codes print for feet, inches of water and pounds, over the exact conversion.
PRINTED_PRESSURE_COEFFICIENT: Final = 5.2 / (INCH_OF_WATER / (POUND_FORCE / FOOT**2))

#: The air density behind the printed 0.00256·V² (lbf/ft², mph), kg/m³.
PRINTED_AIR_DENSITY: Final = 2.0 * 0.00256 * (POUND_FORCE / FOOT**2) / MILE_PER_HOUR**2

_EQUATION = Source("code", "IBC 909.6.2, equation 9-1; the same in NFPA 92 and in the ASHRAE handbook")
_CLOSERS = Source("standard", "EN 1154, sizes of door closers, read in a secondary page")
_MOUNTING = Source("memory", "installation practice, from memory; trade articles agree")
_RIGID = "rigid leaf, moments about the hinge axis"

_CLOSER_FORCE = Argument("closer_force", "Fdc", "force", "force to overcome the closer", 0.0, 500.0, "+")
_WIDTH = Argument("width", "W", "length", "width of the leaf", 0.5, 3.0, "+", metric="mm", customary="in")
_HEIGHT = Argument("height", "H", "length", "height of the leaf", 0.5, 5.0, "+", metric="mm", customary="in")
_PRESSURE = Argument("pressure", "ΔP", "pressure", "air pressure across the leaf, against opening", 0.0, 2000.0, "+")
_HANDLE_OFFSET = Argument(
    "handle_offset", "d", "length", "from the pushing hand to the latch edge", 0.0, 0.25, "+",
    metric="mm", customary="in", default_source=_EQUATION,
)  # fmt: skip
_COEFFICIENT = Argument(
    "coefficient", "K", "ratio", "1 for exact units; see the two readings", 0.99, 1.01, "+",
    default_source=Source("code", "the equation in SI units"),
)  # fmt: skip
_PRINTED = Disagreement(
    "the coefficient of the door equation",
    (
        Reading("1.0 in SI units, which is 5.2023 in feet, inches of water and pounds", _EQUATION,
                (("coefficient", 1.0),)),
        Reading("5.2 as printed in US units: take it to match published tables", _EQUATION,
                (("coefficient", PRINTED_PRESSURE_COEFFICIENT),)),
    ),
    "1.0",
)  # fmt: skip
_ARM = Argument(
    "lock_arm", "a", "length", "lock's distance from the hinge axis", 0.05, 3.0, "+",
    metric="mm", customary="in",
)  # fmt: skip
_UNIFORM = "uniform pressure, side-hinged leaf"


def _pressure_force(width: float, height: float, pressure: float, handle_offset: float, k: float) -> float:
    return k * width * (width * height) * pressure / (2.0 * (width - handle_offset))


@computation(
    "door.opening-force",
    title="Force to open a door against closer and air pressure",
    formula="{closer_force} + {coefficient}·{width}·({width}·{height})·{pressure}/(2·({width} − {handle_offset}))",
    arguments=(_CLOSER_FORCE, _WIDTH, _HEIGHT, _PRESSURE, _HANDLE_OFFSET, _COEFFICIENT),
    result=Result("force at the handle", "F", "force"),
    sources=(_EQUATION, PHYSICS),
    assumptions=(_UNIFORM,),
    caution="model codes allow 30 lbf to start and 15 lbf to swing, 5 lbf for interior accessible doors; the "
    "pressure falls once the door cracks open",
    disagreements=(_PRINTED,),
    sweep="pressure",
)
def opening_force(
    closer_force: float,
    width: float,
    height: float,
    pressure: float,
    handle_offset: float = 0.0762,
    coefficient: float = 1.0,
) -> float:
    """Force at the handle that sets a swinging door in motion."""
    return closer_force + _pressure_force(width, height, pressure, handle_offset, coefficient)


@computation(
    "door.released-force",
    title="Force to open a released door: closer, pressure and residual pull",
    formula="{closer_force} + {width}·({width}·{height})·{pressure}/(2·({width} − {handle_offset})) "
    "+ {residual_force}·{arm_ratio}",
    arguments=(
        _CLOSER_FORCE,
        _WIDTH,
        _HEIGHT,
        _PRESSURE,
        Argument("residual_force", "Fres", "force", "pull left in the lock without current", 0.0, 5000.0,
                 "+"),
        Argument("arm_ratio", "a/b", "ratio", "lock's arm over the pushing hand's, from the hinge axis",
                 0.05, 5.0, "+", default_source=Source("derived", "lock and hand at the same arm")),
        _HANDLE_OFFSET,
    ),
    result=Result("force at the handle", "F", "force"),
    sources=(_EQUATION, PHYSICS, DERIVED),
    assumptions=(_UNIFORM, _RIGID),
    caution="the standard's limit of residual magnetism was not found: measure it at acceptance",
    sweep="residual_force",
)  # fmt: skip
def released_force(
    closer_force: float,
    width: float,
    height: float,
    pressure: float,
    residual_force: float,
    arm_ratio: float = 1.0,
    handle_offset: float = 0.0762,
) -> float:
    """Force that starts a door whose electromagnetic lock has been switched off."""
    pushed = _pressure_force(width, height, pressure, handle_offset, 1.0)
    return closer_force + pushed + residual_force * arm_ratio


@computation(
    "door.pressure-limit",
    title="Largest pressure across a door",
    formula="({force_limit} − {closer_force})·2·({width} − {handle_offset})"
    "/({coefficient}·{width}·({width}·{height}))",
    arguments=(
        Argument("force_limit", "Fmax", "force", "opening force that is allowed", 0.0, 1000.0, "+", typical=(
            Reading("to set a door in motion", Source("code", "model building codes"),
                    (("force_limit", 30.0 * POUND_FORCE),)),
        )),
        replace(_CLOSER_FORCE, direction="-"),
        replace(_WIDTH, direction="-"),
        replace(_HEIGHT, direction="-"),
        replace(_HANDLE_OFFSET, direction="-"),
        replace(_COEFFICIENT, direction="-"),
    ),
    result=Result("pressure", "ΔPmax", "pressure",
                  beyond="the closer alone already takes more than the force allowed"),
    sources=(_EQUATION,),
    assumptions=(_UNIFORM,),
    disagreements=(_PRINTED,),
    sweep="closer_force",
)  # fmt: skip
def pressure_limit(
    force_limit: float,
    closer_force: float,
    width: float,
    height: float,
    handle_offset: float = 0.0762,
    coefficient: float = 1.0,
) -> float:
    """Pressure difference at which the opening force just reaches its limit."""
    return (force_limit - closer_force) / _pressure_force(width, height, 1.0, handle_offset, coefficient)


@computation(
    "door.wind-pressure",
    title="Velocity pressure of wind",
    formula="{pressure_coefficient}·{air_density}·{wind_speed}²/2",
    arguments=(
        Argument("wind_speed", "v", "speed", "speed of the wind at the door", 0.0, 60.0, "+"),
        Argument("air_density", "ρ", "mass-density", "density of the air", 0.8, 1.6, "+",
                 default_source=Source("standard", "standard atmosphere at sea level, 15 °C")),
        Argument("pressure_coefficient", "cp", "ratio", "share of the velocity pressure that acts", 0.0, 2.0,
                 "+",
                 default_source=Source("derived", "full pressure")),
    ),
    result=Result("pressure", "q", "pressure", customary="psf"),
    sources=(PHYSICS,),
    caution="gusts, corners and the pressure inside the building are not in it",
    disagreements=(
        Disagreement(
            "the constant of wind pressure",
            (
                Reading("1.225 kg/m³, standard atmosphere", PHYSICS, (("air_density", 1.225),)),
                Reading("0.00256·V² in lbf/ft² and mph, as wind standards print it", PRACTICE,
                        (("air_density", PRINTED_AIR_DENSITY),)),
            ),
            "the first; they differ by 0.1 %",
        ),
    ),
    sweep="wind_speed",
)  # fmt: skip
def wind_pressure(wind_speed: float, air_density: float = 1.225, pressure_coefficient: float = 1.0) -> float:
    """Pressure of wind that stops at a closed leaf."""
    return pressure_coefficient * air_density * wind_speed**2 / 2.0


@computation(
    "door.stack-pressure",
    title="Stack pressure in a tall building",
    formula="{coefficient}·(1/{outside_temperature} − 1/{inside_temperature})·{height}",
    arguments=(
        Argument("outside_temperature", "To", "temperature", "outside air", 213.15, 333.15, "-"),
        Argument("inside_temperature", "Ti", "temperature", "inside air", 253.15, 323.15, "+"),
        Argument("height", "h", "length", "height above the neutral plane", 0.0, 1000.0, "±"),
        Argument("coefficient", "c", "stack-coefficient", "see the two readings", 3400.0, 3500.0, "±",
                 default_source=Source("handbook", "ASHRAE and NFPA 92, SI form")),
    ),
    result=Result("pressure, positive when the inside is warmer", "ΔP", "pressure", low=None),
    sources=(Source("handbook", "ASHRAE and NFPA 92"), PHYSICS),
    assumptions=("still air, one temperature inside, one outside",),
    caution="below the neutral plane the pressure acts the other way",
    disagreements=(
        Disagreement(
            "the coefficient of stack pressure",
            (
                Reading("3460 Pa·K/m", Source("handbook", "SI form"), (("coefficient", 3460.0),)),
                Reading("7.64 in feet, degrees Rankine and inches of water", Source("handbook", "US form"),
                        (("coefficient", 7.64 * INCH_OF_WATER / 1.8 / FOOT),)),
            ),
            "the first; they differ by 0.3 %",
        ),
    ),
    sweep="height",
)  # fmt: skip
def stack_pressure(
    outside_temperature: float, inside_temperature: float, height: float, coefficient: float = 3460.0
) -> float:
    """Pressure across a door that warm air in a shaft makes."""
    return coefficient * (1.0 / outside_temperature - 1.0 / inside_temperature) * height


@computation(
    "door.manometer-pressure",
    title="Pressure of a column of water",
    formula="{density}·9.80665 m/s²·{column}",
    arguments=(
        Argument("column", "h", "length", "height of the column", 0.0, 1.0, "+", metric="mm", customary="in"),
        Argument("density", "ρ", "mass-density", "density of the water", 950.0, 1010.0, "+",
                 default_source=Source("standard", "water at 4 °C")),
    ),
    result=Result("pressure", "ΔP", "pressure"),
    sources=(PHYSICS,),
    sweep="column",
)  # fmt: skip
def manometer_pressure(column: float, density: float = 999.9749) -> float:
    """Pressure that a manometer shows."""
    return density * 9.80665 * column


@computation(
    "door.closer-moment",
    title="Moment of a closer from the force at the handle",
    formula="{closer_force}·({width} − {handle_offset})",
    arguments=(_CLOSER_FORCE, _WIDTH, replace(_HANDLE_OFFSET, direction="-")),
    result=Result("moment", "M", "moment"),
    sources=(PHYSICS,),
    assumptions=(_RIGID,),
    sweep="closer_force",
)
def closer_moment(closer_force: float, width: float, handle_offset: float = 0.0762) -> float:
    """Moment about the hinges that a closer makes, measured with a gauge at the handle."""
    return closer_force * (width - handle_offset)


@computation(
    "door.pressure-moment",
    title="Moment of air pressure on a leaf",
    formula="{pressure}·{width}²·{height}/2",
    arguments=(_PRESSURE, _WIDTH, _HEIGHT),
    result=Result("moment", "M", "moment"),
    sources=(PHYSICS,),
    assumptions=(_UNIFORM,),
    sweep="pressure",
)
def pressure_moment(pressure: float, width: float, height: float) -> float:
    """Moment about the hinges of a pressure across the whole leaf."""
    return pressure * width**2 * height / 2.0


@computation(
    "door.break-force",
    title="Push that breaks a lock by its lever arm",
    formula="({lock_force}·{lock_arm} + {closer_moment} + {pressure_moment})/{push_arm}",
    arguments=(
        Argument("lock_force", "F", "force", "holding force of the lock", 0.0, 50_000.0, "+"),
        _ARM,
        Argument("push_arm", "b", "length", "pushing hand's distance from the hinge axis", 0.05, 3.0, "-",
                 metric="mm", customary="in"),
        Argument("closer_moment", "Mc", "moment", "moment of the closer", 0.0, 500.0, "+",
                 default_source=Source("derived", "no closer unless stated")),
        Argument("pressure_moment", "Mp", "moment", "moment of air pressure", 0.0, 5000.0, "+",
                 default_source=Source("derived", "no pressure unless stated")),
    ),
    result=Result("push", "F", "force"),
    sources=(PHYSICS,),
    assumptions=(_RIGID,),
    caution="glass and double doors twist and peel the lock from a corner: they give way below this",
    sweep="lock_arm",
)  # fmt: skip
def break_force(
    lock_force: float,
    lock_arm: float,
    push_arm: float,
    closer_moment: float = 0.0,
    pressure_moment: float = 0.0,
) -> float:
    """Force by hand that tears a held door open."""
    return (lock_force * lock_arm + closer_moment + pressure_moment) / push_arm


@computation(
    "door.push-multiple",
    title="How many people's push a force is",
    formula="{force}/{push}",
    arguments=(
        Argument("force", "F", "force", "force to break the lock", 0.0, 100_000.0, "+"),
        Argument("push", "Fp", "force", "standing push of one person", 10.0, 2000.0, "-",
                 default_source=Source("practice", "one weak secondary source"),
                 typical=(
                     Reading("standing push, men", PRACTICE, (("push", 251.0),)),
                     Reading("standing push, women", PRACTICE, (("push", 140.0),)),
                 )),
    ),
    result=Result("multiple", "n", "ratio"),
    sources=(PRACTICE,),
    caution="a run with the shoulder is far stronger than a standing push",
    sweep="force",
)  # fmt: skip
def push_multiple(force: float, push: float = 251.0) -> float:
    """A force in standing pushes of one person."""
    return force / push


@computation(
    "door.impact-stiffness",
    title="Stiffness below which a lock survives a blow",
    formula="{lock_force}²/(2·{energy})",
    arguments=(
        Argument("lock_force", "F", "force", "holding force of the lock", 0.0, 50_000.0, "+"),
        Argument("energy", "E", "energy", "energy of the blow", 1.0, 10_000.0, "-", typical=tuple(
            Reading(f"dynamic rating of {pounds} ft·lbf", Source("standard", "UL 1034"),
                    (("energy", pounds * POUND_FORCE * FOOT),))
            for pounds in (33, 50, 70)
        )),
    ),
    result=Result("stiffness of door and frame", "k", "stiffness"),
    sources=(PHYSICS, DERIVED),
    assumptions=("door and frame act as one spring, loss-free",),
    caution="it is the give of door and frame that survives a blow: the magnet itself takes less than 1 J",
    sweep="energy",
)  # fmt: skip
def impact_stiffness(lock_force: float, energy: float) -> float:
    """Door and frame must be softer than this if a blow is not to exceed the holding force."""
    return lock_force**2 / (2.0 * energy)


_EN_1154: Final = (
    (0.750, 20.0), (0.850, 40.0), (0.950, 60.0), (1.100, 80.0), (1.250, 100.0), (1.400, 120.0),
    (1.600, 160.0),
)  # fmt: skip


@computation(
    "door.closer-size",
    title="Size of a door closer",
    formula="smallest EN 1154 size that covers {width} and {mass}",
    arguments=(
        Argument("width", "W", "length", "width of the leaf", 0.3, 1.6, "+", metric="mm", customary="in",
                 above="the sizes end at 1600 mm"),
        Argument("mass", "m", "mass", "mass of the leaf", 1.0, 160.0, "+", above="the sizes end at 160 kg"),
    ),
    result=Result("size", "EN", "size", low=1.0, high=7.0, whole=True),
    sources=(_CLOSERS,),
    caution="wind and stack pressure may need a larger one, and a larger one is harder to open",
    sweep="width",
)  # fmt: skip
def closer_size(width: float, mass: float) -> float:
    """Smallest closer that shuts a leaf of this width and mass."""
    for size, (widest, heaviest) in enumerate(_EN_1154, 1):
        if width <= widest and mass <= heaviest:
            return float(size)
    raise ValueError("width, mass: found a leaf beyond every size")


_BODY_HEIGHT = Argument(
    "body_height", "hb", "length", "height of the lock's body", 0.0, 0.3, "-", metric="mm", customary="in",
    typical=(
        Reading("600 lbf class", MEMORY, (("body_height", 0.043),)),
        Reading("1200 lbf class", MEMORY, (("body_height", 0.067),)),
    ),
)  # fmt: skip
_PLATE = Argument(
    "plate_thickness", "tp", "length", "bracket or plate between frame and lock, where it lowers the lock",
    0.0, 0.1, "-", metric="mm", customary="in", default_source=Source("derived", "none unless stated"),
)  # fmt: skip
_CLEAR_HEIGHT = Argument(
    "clear_height", "H", "length", "floor to the lowest part of the frame head, at its stop", 1.0, 5.0, "+",
    metric="mm", customary="in",
)  # fmt: skip
_LIMITS = (
    "80 in is the usual least height; some editions allow 78 in under an electromagnetic lock, federal "
    "accessibility standards name closers and stops only"
)


@computation(
    "door.head-clearance",
    title="Head clearance under a lock on the push side",
    formula="{clear_height} − {body_height} − {plate_thickness}",
    arguments=(_CLEAR_HEIGHT, _BODY_HEIGHT, _PLATE),
    result=Result("head clearance", "h", "length", metric="mm", customary="in",
                  beyond="the lock is higher than the opening"),
    sources=(_MOUNTING,),
    assumptions=(
        "door swings away from the lock's side: the lock hangs under the stop, its face flush with the door",
        "a filler beside a narrow stop fills the rabbet and does not lower the lock",
    ),
    caution=_LIMITS,
    sweep="body_height",
)  # fmt: skip
def head_clearance(clear_height: float, body_height: float, plate_thickness: float = 0.0) -> float:
    """Height that is left under a lock hanging from the frame head."""
    return clear_height - body_height - plate_thickness


@computation(
    "door.head-clearance-pull-side",
    title="Head clearance under a lock on the pull side",
    formula="{clear_height} − max(0, {body_height} + {plate_thickness} − {head_face})",
    arguments=(
        _CLEAR_HEIGHT,
        _BODY_HEIGHT,
        Argument("head_face", "hf", "length", "height of the frame head's face on which the lock sits", 0.0,
                 2.0,
                 "+", metric="mm", customary="in"),
        _PLATE,
    ),
    result=Result("head clearance", "h", "length", metric="mm", customary="in",
                  beyond="the lock is higher than the opening"),
    sources=(_MOUNTING,),
    assumptions=(
        "door swings towards the lock's side: the lock sits on the face of the frame head, the armature on a "
        "bracket of the door that swings out of the opening with it",
    ),
    caution=f"often the only mounting for an opening of 80 in. {_LIMITS}",
    sweep="head_face",
)  # fmt: skip
def head_clearance_pull_side(
    clear_height: float, body_height: float, head_face: float, plate_thickness: float = 0.0
) -> float:
    """Height left where the lock sits above the opening; only what the head cannot take hangs down."""
    return clear_height - max(0.0, body_height + plate_thickness - head_face)


@computation(
    "door.filler-thickness",
    title="Filler plate beside a narrow stop",
    formula="{stop_height} if {body_depth} > {stop_width}, else 0",
    arguments=(
        Argument("body_depth", "db", "length", "depth of the lock's body, through the wall", 0.0, 0.5, "+",
                 metric="mm", customary="in"),
        Argument("stop_width", "ws", "length", "width of the stop's underside", 0.0, 0.5, "-",
                 metric="mm", customary="in"),
        Argument("stop_height", "hs", "length", "how far the stop stands out from the rabbet", 0.0, 0.1, "+",
                 metric="mm", customary="in",
                 typical=(Reading("steel frame", MEMORY, (("stop_height", 0.0159),)),)),
    ),
    result=Result("filler", "tf", "length", metric="mm", customary="in"),
    sources=(_MOUNTING,),
    assumptions=("push side, lock under the frame head",),
    sweep="body_depth",
)  # fmt: skip
def filler_thickness(body_depth: float, stop_width: float, stop_height: float) -> float:
    """Plate that carries the part of a lock which the stop is too narrow for."""
    return stop_height if body_depth > stop_width else 0.0


@computation(
    "door.bracket-extension",
    title="Bracket that extends a shallow frame head",
    formula="max(0, {body_depth} − {head_depth})",
    arguments=(
        Argument("body_depth", "db", "length", "depth of the lock's body, through the wall", 0.0, 0.5, "+",
                 metric="mm", customary="in"),
        Argument("head_depth", "dh", "length", "depth of the frame head behind the door's face", 0.0, 1.0,
                 "-",
                 metric="mm", customary="in"),
    ),
    result=Result("extension", "e", "length", metric="mm", customary="in"),
    sources=(_MOUNTING,),
    assumptions=("push side, lock under the frame head",),
    caution="above 0 an angle bracket is needed; where it goes under the head it lowers the lock by its "
    "thickness",
    sweep="head_depth",
)  # fmt: skip
def bracket_extension(body_depth: float, head_depth: float) -> float:
    """How much of a lock's depth the frame head does not reach."""
    return max(0.0, body_depth - head_depth)


@computation(
    "door.series-distance",
    title="Distance between two doors in series",
    formula="{clear_distance} + Σ {swinging_in}",
    arguments=(
        Argument("swinging_in", "w", "length",
                 "for each door, the width that swings into the space; 0 if it does not",
                 0.0, 3.0, "+", metric="mm", customary="in", many=True),
        Argument("clear_distance", "c", "length", "clear distance besides the leaves", 0.0, 5.0, "+",
                 metric="mm", customary="in",
                 default_source=Source("government", "2010 ADA Standards 404.2.6: 48 in")),
    ),
    result=Result("distance", "D", "length", metric="mm", customary="in"),
    sources=(Source("government", "2010 ADA Standards 404.2.6"),),
    caution="building codes may not let both doors swing into the space",
    sweep="clear_distance",
)  # fmt: skip
def series_distance(swinging_in: tuple[float, ...], clear_distance: float = 1.2192) -> float:
    """Depth that a vestibule between two hinged doors needs."""
    return clear_distance + math.fsum(swinging_in)
