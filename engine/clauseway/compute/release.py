"""How long a lock takes to let go: coil current after switch-off, the chain of release, residual pull."""

from __future__ import annotations

import math
from dataclasses import replace

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

_LOWER_BOUND = "eddy currents and electronics inside the lock add delay: the model is a lower bound"
_A156 = Source("standard", "ANSI/BHMA A156.24, as reported in a trade article")
_GUIDE_SPECIFICATION = Source("government", "UFGS 13720A")

_INDUCTANCE = Argument(
    "inductance", "L", "inductance", "inductance of the coil with the armature on it", 1e-6, 1000.0, "+",
    typical=(Reading("illustrative lock: 400 turns, 4.5 mWb, 0.5 A", MEMORY, (("inductance", 3.6),)),),
)  # fmt: skip
_RESISTANCE = Argument(
    "resistance", "R", "resistance", "resistance of the coil", 0.01, 1e5, "-",
    typical=(
        Reading("illustrative lock on 12 V", MEMORY, (("resistance", 24.0),)),
        Reading("illustrative lock on 24 V", MEMORY, (("resistance", 96.0),)),
    ),
)  # fmt: skip
_INITIAL = Argument("initial_current", "I0", "current", "current while the lock holds", 1e-4, 100.0, "+")
_CLAMP = Argument(
    "clamp_voltage", "Vc", "voltage", "voltage at which the suppressor across the coil conducts",
    0.0, 2000.0, "-",
    typical=(
        Reading("plain diode", PRACTICE, (("clamp_voltage", 0.7),)),
        Reading("24 V clamp", PRACTICE, (("clamp_voltage", 24.0),)),
        Reading("40 V varistor", PRACTICE, (("clamp_voltage", 40.0),)),
        Reading("no suppressor: the contact arcs at 1000 V or more", PRACTICE, (("clamp_voltage", 1e3),)),
    ),
)  # fmt: skip
_DIODE = Disagreement(
    "a diode across the coil of an electromagnetic lock",
    (
        Reading("always fit one", PRACTICE, (("clamp_voltage", 0.7),)),
        Reading("never on an electromagnetic lock, fit a varistor", PRACTICE, (("clamp_voltage", 40.0),)),
    ),
    "the second for electromagnetic locks; a diode is acceptable for solenoid locks and relays",
)
_REPORTED = (
    "locks with electronics inside were reported to let go only 1 to 2 s after switch-off with a diode or a "
    "parallel load added (common practice, no source)"
)


@computation(
    "release.time-constant",
    title="Time constant of the coil",
    formula="{inductance}/{resistance}",
    arguments=(_INDUCTANCE, _RESISTANCE),
    result=Result("time constant", "τ", "time"),
    sources=(PHYSICS,),
    assumptions=("inductance does not change while the current falls",),
    caution="the same lock has the same time constant wired for 12 V and for 24 V",
    sweep="inductance",
)
def time_constant(inductance: float, resistance: float) -> float:
    """Time in which the current of a short-circuited coil falls to 37 %."""
    return inductance / resistance


@computation(
    "release.current-at",
    title="Coil current after switch-off",
    formula="({initial_current} + {clamp_voltage}/{resistance})·exp(−{time}·{resistance}/{inductance}) "
    "− {clamp_voltage}/{resistance}, not below 0",
    arguments=(
        replace(_INITIAL, low=0.0),
        _INDUCTANCE,
        replace(_RESISTANCE, direction="0"),
        _CLAMP,
        Argument("time", "t", "time", "time since switch-off", 0.0, 3600.0, "-", metric="ms"),
    ),
    result=Result("coil current", "i", "current"),
    sources=(PHYSICS,),
    assumptions=("the suppressor's voltage is constant while it conducts", "inductance does not change"),
    caution=_LOWER_BOUND,
    disagreements=(_DIODE,),
    sweep="time",
)  # fmt: skip
def current_at(
    initial_current: float, inductance: float, resistance: float, clamp_voltage: float, time: float
) -> float:
    """Current that still flows through coil and suppressor some time after the supply is cut."""
    gone = -time * resistance / inductance
    # expm1, because with a high clamp voltage the formula as printed is a small difference of large numbers.
    return max(0.0, initial_current * math.exp(gone) + clamp_voltage / resistance * math.expm1(gone))


@computation(
    "release.time",
    title="Release time of a coil with diode, varistor or another clamp",
    formula="{inductance}/{resistance}·ln(({initial_current} + {clamp_voltage}/{resistance})"
    "/({release_current} + {clamp_voltage}/{resistance}))",
    arguments=(
        _INITIAL,
        Argument("release_current", "Ir", "current", "current at which the armature lets go", 1e-9, 100.0,
                 "-",
                 typical=(Reading("holding current times release.current-ratio", DERIVED),)),
        _INDUCTANCE,
        _RESISTANCE,
        _CLAMP,
    ),
    result=Result("release time", "t", "time", metric="ms",
                  beyond="a lock whose release_current is above its initial_current does not hold at all"),
    sources=(PHYSICS, Source("derived", "confirmed with a solver of differential equations")),
    assumptions=("the suppressor's voltage is constant while it conducts", "inductance does not change"),
    caution=f"{_LOWER_BOUND}. {_REPORTED[0].upper()}{_REPORTED[1:]}",
    disagreements=(_DIODE,),
    sweep="clamp_voltage",
)  # fmt: skip
def time(
    initial_current: float, release_current: float, inductance: float, resistance: float, clamp_voltage: float
) -> float:
    """Time from switch-off until the coil current has fallen so far that the armature lets go."""
    end = clamp_voltage / resistance
    # log1p, because with a high clamp voltage the two sums hardly differ.
    return inductance / resistance * math.log1p((initial_current - release_current) / (release_current + end))


@computation(
    "release.current-ratio",
    title="Current at which a lock lets go, as a share of its holding current",
    formula="√({residual_force}/{holding_force})",
    arguments=(
        Argument("residual_force", "Fr", "force", "pull at which the door counts as free", 0.01, 50_000.0,
                 "+"),
        Argument("holding_force", "F0", "force", "holding force at full current", 0.01, 50_000.0, "-"),
    ),
    result=Result("share of the holding current", "Ir/I0", "share", high=1.0,
                  beyond="the pull that counts as free cannot exceed the holding force"),
    sources=(PHYSICS,),
    assumptions=("pull grows with the square of the current: iron not saturated, no remanence",),
    caution="closed cores keep a residual pull without current until the gap opens",
    sweep="residual_force",
)  # fmt: skip
def current_ratio(residual_force: float, holding_force: float) -> float:
    """Share of the holding current that leaves a given pull."""
    return math.sqrt(residual_force / holding_force)


@computation(
    "release.inductance",
    title="Inductance from turns, flux and current",
    formula="{turns}·{flux}/{current}",
    arguments=(
        Argument("turns", "N", "count", "turns of the coil", 1.0, 1e6, "+"),
        Argument("flux", "φ", "flux", "flux through the coil while it holds", 0.0, 1.0, "+"),
        Argument("current", "I", "current", "current while the lock holds", 1e-4, 100.0, "-"),
    ),
    result=Result("inductance", "L", "inductance"),
    sources=(PHYSICS,),
    assumptions=("flux is proportional to current",),
    caution="an estimate: saturated iron has less",
    sweep="turns",
)
def inductance(turns: float, flux: float, current: float) -> float:
    """Inductance of a coil from the flux it drives."""
    return turns * flux / current


@computation(
    "release.stored-energy",
    title="Energy stored in the coil",
    formula="{inductance}·{current}²/2",
    arguments=(
        _INDUCTANCE,
        Argument("current", "I", "current", "current while the lock holds", 0.0, 100.0, "+"),
    ),
    result=Result("energy", "E", "energy"),
    sources=(PHYSICS,),
    assumptions=("flux is proportional to current",),
    caution="the suppressor or the opening contact has to take this energy at every release",
    sweep="current",
)
def stored_energy(inductance: float, current: float) -> float:
    """Energy that leaves the coil when the lock is switched off."""
    return inductance * current**2 / 2.0


@computation(
    "release.residual-force-limit",
    title="Largest residual pull that leaves the door within its opening force",
    formula="(({force_limit} − {closer_force})·{push_arm} − {pressure}·{width}²·{height}/2)/{lock_arm}, "
    "not below 0",
    arguments=(
        Argument("force_limit", "Fmax", "force", "opening force that is allowed", 0.0, 1000.0, "+"),
        Argument("closer_force", "Fdc", "force", "force to overcome the closer", 0.0, 500.0, "-"),
        Argument("lock_arm", "a", "length", "lock's distance from the hinge axis", 0.05, 3.0, "-",
                 metric="mm", customary="in"),
        Argument("push_arm", "b", "length", "pushing hand's distance from the hinge axis", 0.05, 3.0, "+",
                 metric="mm", customary="in"),
        Argument("pressure", "ΔP", "pressure", "air pressure across the leaf, against opening", 0.0, 2000.0,
                 "-",
                 default_source=Source("derived", "no pressure unless stated")),
        Argument("width", "W", "length", "width of the leaf", 0.4, 3.0, "-", metric="mm", customary="in",
                 default_source=Source("derived", "matters only with pressure")),
        Argument("height", "H", "length", "height of the leaf", 0.4, 5.0, "-", metric="mm", customary="in",
                 default_source=Source("derived", "matters only with pressure")),
    ),
    result=Result("residual pull", "Fres", "force"),
    sources=(PHYSICS, DERIVED),
    assumptions=("rigid leaf, moments about the hinge axis",),
    caution="0 means that the door takes the whole allowance without any residual pull. The standard's own "
    "limit "
    "of residual magnetism was not found",
    sweep="closer_force",
)  # fmt: skip
def residual_force_limit(
    force_limit: float,
    closer_force: float,
    lock_arm: float,
    push_arm: float,
    pressure: float = 0.0,
    width: float = 0.9144,
    height: float = 2.1336,
) -> float:
    """Pull that may be left in a lock without current so that the door still starts within its limit."""
    moment = (force_limit - closer_force) * push_arm - pressure * width**2 * height / 2.0
    return max(0.0, moment / lock_arm)


def _part(name: str, symbol: str, meaning: str, typical: tuple[Reading, ...] = (), why: str = "") -> Argument:
    source = Source("derived", why) if why else None
    return Argument(name, symbol, "time", meaning, 0.0, 3600.0, "+", typical=typical, default_source=source)


@computation(
    "release.chain",
    title="Time from request to free door",
    formula="{detection} + {controller} + {relay} + {collapse} + {opening} + {delay}",
    arguments=(
        _part("detection", "td", "sensor or button to signal", (
            Reading("sensor, fast", MEMORY, (("detection", 0.1),)),
            Reading("sensor, slow", MEMORY, (("detection", 0.5),)),
        )),
        _part("controller", "tc", "controller's own time; 0 when the button cuts the power itself"),
        _part("relay", "tr", "relay that cuts the power", (
            Reading("relay, fast", MEMORY, (("relay", 0.005),)),
            Reading("relay, slow", MEMORY, (("relay", 0.015),)),
        )),
        _part("collapse", "tf", "fall of the field, from release.time"),
        _part("opening", "to", "first movement of the leaf", why="not counted unless stated"),
        _part("delay", "tD", "delay of a delayed-egress lock", (
            Reading("usual delay, fixed in the factory", _A156, (("delay", 15.0),)),
            Reading("delay where approved", _A156, (("delay", 30.0),)),
        ), why="no delayed egress unless stated"),
    ),
    result=Result("time to a free door", "t", "time"),
    sources=(PHYSICS, DERIVED, _GUIDE_SPECIFICATION),
    assumptions=("one part follows the other",),
    caution="a US government guide specification asks electrified locks to unlock within 500 ms. A release "
    "button has to cut the lock's power itself, whatever the electronics do",
    sweep="collapse",
)  # fmt: skip
def chain(
    detection: float,
    controller: float,
    relay: float,
    collapse: float,
    opening: float = 0.0,
    delay: float = 0.0,
) -> float:
    """Sum of everything between somebody asking and the door being free."""
    return detection + controller + relay + collapse + opening + delay


@computation(
    "release.relay-time",
    title="Release time of a relay slowed by its suppressor",
    formula="{unsuppressed}·{slowdown}",
    arguments=(
        Argument("unsuppressed", "t0", "time", "release time without a suppressor", 0.0, 10.0, "+",
                 metric="ms"),
        Argument("slowdown", "k", "ratio", "how many times slower with the suppressor", 1.0, 20.0, "+",
                 default_source=PRACTICE),
    ),
    result=Result("release time", "t", "time", metric="ms"),
    sources=(PRACTICE,),
    assumptions=("an ordinary relay with a plain diode",),
    caution="a range is the honest input here: 3 to 10",
    disagreements=(
        Disagreement(
            "how much a diode slows a relay",
            (
                Reading("about 3 times", PRACTICE, (("slowdown", 3.0),)),
                Reading("5 times", PRACTICE, (("slowdown", 5.0),)),
                Reading("10 times", PRACTICE, (("slowdown", 10.0),)),
            ),
            "3 times for one number; the range 3 to 10 where the release has to be safe",
        ),
    ),
    sweep="slowdown",
)  # fmt: skip
def relay_time(unsuppressed: float, slowdown: float = 3.0) -> float:
    """Release time of a relay whose coil has a diode across it."""
    return unsuppressed * slowdown


@computation(
    "release.slowdown",
    title="How many times slower a release is with a suppressor",
    formula="{suppressed}/{unsuppressed}",
    arguments=(
        Argument("suppressed", "t1", "time", "release time with the suppressor", 0.0, 100.0, "+", metric="ms"),
        Argument("unsuppressed", "t0", "time", "release time without it", 1e-5, 100.0, "-", metric="ms"),
    ),
    result=Result("slowdown", "k", "ratio"),
    sources=(DERIVED,),
    sweep="suppressed",
)
def slowdown(suppressed: float, unsuppressed: float) -> float:
    """Ratio of two measured release times."""
    return suppressed / unsuppressed
