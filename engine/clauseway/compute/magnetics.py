"""Holding force of an electromagnet: from flux and pole area, from ampere-turns and gap, and back again."""

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
from clauseway.compute.units import POUND_FORCE

#: Magnetic constant, H/m (CODATA 2022).
MU_0: Final = 1.25663706127e-6

#: Generic soft steel: flux density in T and the field strength in A/m that it takes.
SOFT_STEEL: Final[tuple[tuple[float, float], ...]] = (
    (0.0, 0.0), (0.025, 10.0), (0.25, 100.0), (0.5, 200.0), (1.0, 400.0),
    (1.5, 600.0), (1.6, 700.0), (1.7, 800.0), (1.8, 1200.0), (1.9, 2000.0),
)  # fmt: skip

_CODATA = Source("standard", "CODATA 2022 magnetic constant")
_STEEL = Source("handbook", "published magnetisation table of a generic soft steel")
_SATURATED = "above 1.9 T the steel is saturated: more field adds flux only as in air (from memory)"
_NO_LEAKAGE = "no leakage, no fringing: all flux goes evenly through the faces; the true flux is lower"
_TWO_GAPS = "the flux crosses the gap twice, so the total gap is twice the gap at each face"

_IRON = "no soft iron carries more flux than that"
_FRINGING = "beyond it the flux spreads past the faces, and the model no longer holds"

_FLUX_DENSITY = Argument(
    "flux_density", "B", "flux-density", "flux density at the pole faces", 0.0, 2.5, "+",
    above=_IRON,
    typical=(
        Reading("onset of saturation of soft steel", PRACTICE, (("flux_density", 1.6),)),
        Reading("practical limit of soft steel", PRACTICE, (("flux_density", 2.1),)),
    ),
)  # fmt: skip
_POLE_AREA = Argument(
    "pole_area", "A", "area", "area of all pole faces together", 1e-6, 0.1, "+", metric="cm²", customary="in²"
)
_FORCE = Argument(
    "force", "F", "force", "holding force, straight pull", 0.0, 50_000.0, "+",
    typical=tuple(
        Reading(f"{pounds} lbf class", source, (("force", pounds * POUND_FORCE),))
        for pounds, source in (
            (275, MEMORY), (300, PRACTICE), (600, PRACTICE), (650, PRACTICE), (800, MEMORY),
            (1200, PRACTICE), (1500, PRACTICE), (1650, PRACTICE), (2000, PRACTICE), (2700, PRACTICE),
        )
    ),
)  # fmt: skip
_AMPERE_TURNS = Argument(
    "ampere_turns", "N·I", "magnetomotive-force", "turns times current of the coil", 0.0, 5000.0, "+",
    typical=(
        Reading("coil of about 6 W, geometry of the lock assumed", DERIVED, (("ampere_turns", 193.0),)),
    ),
)  # fmt: skip
_CORE_LENGTH = Argument(
    "core_length", "l", "length", "length of the flux path in iron", 0.001, 2.0, "-",
    metric="mm", customary="in",
    typical=(Reading("illustrative lock", MEMORY, (("core_length", 0.12),)),),
)  # fmt: skip
_TOTAL_GAP = Argument(
    "total_gap", "g", "length", "all gaps that the flux crosses, added", 0.0, 0.006, "-",
    metric="mm", customary="in", above=_FRINGING,
)  # fmt: skip
_GAP = Argument(
    "gap", "g", "length", "gap at each pole face: dirt, tape, paint, tilt", 0.0, 0.003, "-",
    metric="mm", customary="in", above=_FRINGING,
    typical=(Reading("a strip of clear tape", PRACTICE, (("gap", 5.5e-5),)),),
)  # fmt: skip


@computation(
    "magnetics.pull-pressure",
    title="Pull per area of pole face",
    formula="{flux_density}²/(2·µ0)",
    arguments=(_FLUX_DENSITY,),
    result=Result("pull pressure", "p", "pressure", metric="kPa", customary="psi"),
    sources=(PHYSICS, _CODATA),
    assumptions=("flux density uniform over the face",),
    caution="two faces pull with the pressure times the area of both",
    sweep="flux_density",
)
def pull_pressure(flux_density: float) -> float:
    """Pull of a magnetised gap per area of face."""
    return flux_density**2 / (2.0 * MU_0)


@computation(
    "magnetics.holding-force",
    title="Holding force from flux density and pole area",
    formula="{flux_density}²·{pole_area}/(2·µ0)",
    arguments=(_FLUX_DENSITY, _POLE_AREA),
    result=Result("holding force", "F", "force"),
    sources=(PHYSICS, _CODATA),
    assumptions=("flux density uniform over the faces", "north and south faces are both counted in the area"),
    caution="force grows with the square of the flux density: 3 % more flux is 6 % more force",
    sweep="flux_density",
)
def holding_force(flux_density: float, pole_area: float) -> float:
    """Force that holds the armature on the pole faces."""
    return pull_pressure(flux_density) * pole_area


@computation(
    "magnetics.pole-area",
    title="Pole area that a stated force implies",
    formula="2·µ0·{force}/{flux_density}²",
    arguments=(
        _FORCE,
        replace(_FLUX_DENSITY, low=0.01, direction="-"),
    ),
    result=Result("area of all pole faces together", "A", "area", metric="cm²", customary="in²"),
    sources=(PHYSICS, _CODATA),
    assumptions=("flux density uniform over the faces",),
    caution="a lock whose faces are smaller than this does not hold the stated force at that flux density",
    sweep="force",
)  # fmt: skip
def pole_area(force: float, flux_density: float) -> float:
    """Total pole face without which a stated holding force cannot be reached."""
    return 2.0 * MU_0 * force / flux_density**2


@computation(
    "magnetics.flux-density-for-force",
    title="Flux density that a force implies",
    formula="√(2·µ0·{force}/{pole_area})",
    arguments=(
        _FORCE,
        replace(_POLE_AREA, direction="-"),
    ),
    result=Result("flux density", "B", "flux-density"),
    sources=(PHYSICS, _CODATA),
    assumptions=("flux density uniform over the faces",),
    caution="more than about 1.6 T means saturated iron, more than about 2.1 T that the force is not "
    "possible; "
    "for a residual pull it is the flux density left in the iron",
    sweep="force",
)  # fmt: skip
def flux_density_for_force(force: float, pole_area: float) -> float:
    """Flux density at the faces while they pull with a given force, holding or residual."""
    return math.sqrt(2.0 * MU_0 * force / pole_area)


@computation(
    "magnetics.linear-flux-density",
    title="Flux density from ampere-turns, iron taken as linear",
    formula="µ0·{ampere_turns}/({core_length}/{relative_permeability} + {total_gap})",
    arguments=(
        _AMPERE_TURNS,
        _CORE_LENGTH,
        Argument("relative_permeability", "µr", "ratio", "permeability of the iron over that of air",
                 1.0, 1e6, "+",
                 typical=(Reading("unsaturated steel", PRACTICE, (("relative_permeability", 2e3),)),)),
        _TOTAL_GAP,
    ),
    result=Result("flux density", "B", "flux-density"),
    sources=(PHYSICS, _CODATA),
    assumptions=(_NO_LEAKAGE, "the permeability does not fall with flux"),
    caution="iron saturates from about 1.6 T: a larger answer is not real, use magnetics.flux-density",
    sweep="total_gap",
)  # fmt: skip
def linear_flux_density(
    ampere_turns: float, core_length: float, relative_permeability: float, total_gap: float
) -> float:
    """Flux density of a closed iron circuit with a gap, below saturation."""
    return MU_0 * ampere_turns / (core_length / relative_permeability + total_gap)


@computation(
    "magnetics.flux-density",
    title="Flux density from ampere-turns, core, gap and saturation",
    formula="B from {ampere_turns} = H(B)·{core_length} + B·{total_gap}/µ0",
    arguments=(_AMPERE_TURNS, _CORE_LENGTH, _TOTAL_GAP),
    result=Result("flux density", "B", "flux-density"),
    sources=(PHYSICS, _STEEL, _CODATA),
    assumptions=(_NO_LEAKAGE, _SATURATED, "a core of soft steel, everywhere as large as the faces"),
    caution="a model, not a measurement: finite elements gave 6 % less flux at 1 T, far less in saturation",
    sweep="total_gap",
)
def flux_density(ampere_turns: float, core_length: float, total_gap: float) -> float:
    """Flux density of a closed soft steel circuit with a gap, saturation included."""
    return _flux_density(ampere_turns, core_length, total_gap)


def _flux_density(ampere_turns: float, core_length: float, total_gap: float) -> float:
    # The table is straight between its rows, so the ampere-turns are too: no iteration is needed.
    below_b, below_needed = 0.0, 0.0
    for b, h in SOFT_STEEL[1:]:
        needed = h * core_length + b * total_gap / MU_0
        if ampere_turns <= needed:
            return below_b + (b - below_b) * (ampere_turns - below_needed) / (needed - below_needed)
        below_b, below_needed = b, needed
    return below_b + MU_0 * (ampere_turns - below_needed) / (core_length + total_gap)


def field_strength(flux_density: float) -> float:
    """Field in A/m for a flux density in T in the soft steel of the table; saturated above its last row."""
    below_b, below_h = SOFT_STEEL[0]
    for b, h in SOFT_STEEL[1:]:
        if flux_density <= b:
            return below_h + (h - below_h) * (flux_density - below_b) / (b - below_b)
        below_b, below_h = b, h
    return below_h + (flux_density - below_b) / MU_0


@computation(
    "magnetics.ampere-turns-needed",
    title="Ampere-turns for a flux density",
    formula="H({flux_density})·{core_length} + {flux_density}·{total_gap}/µ0",
    arguments=(
        _FLUX_DENSITY,
        replace(_CORE_LENGTH, direction="+"),
        replace(_TOTAL_GAP, direction="+"),
    ),
    result=Result("ampere-turns", "N·I", "magnetomotive-force"),
    sources=(PHYSICS, _STEEL, _CODATA),
    assumptions=(_NO_LEAKAGE, _SATURATED),
    caution="leakage makes the real coil need more",
    sweep="flux_density",
)  # fmt: skip
def ampere_turns_needed(flux_density: float, core_length: float, total_gap: float) -> float:
    """Ampere-turns that drive a flux density through soft steel and gap."""
    return field_strength(flux_density) * core_length + flux_density * total_gap / MU_0


@computation(
    "magnetics.force-at-gap",
    title="Holding force of a real magnetic circuit against the gap",
    formula="B²·{pole_area}/(2·µ0), B from {ampere_turns} = H(B)·{core_length} + B·2·{gap}/µ0",
    arguments=(_AMPERE_TURNS, _CORE_LENGTH, _POLE_AREA, _GAP),
    result=Result("holding force", "F", "force"),
    sources=(PHYSICS, _STEEL, _CODATA),
    assumptions=(_NO_LEAKAGE, _SATURATED, _TWO_GAPS),
    caution="a model, not a measurement; no measured curve of a lock was found. Permanent magnets lose far "
    "less "
    "with the gap: their figures must not be used for a lock",
    disagreements=(
        Disagreement(
            "what 0.1 mm between the faces costs",
            (
                Reading("about 70 % of the force: a coil of 6 W has only some 200 ampere-turns", DERIVED),
                Reading("10 to 20 %: true of permanent magnets, which have far more ampere-turns", PRACTICE),
            ),
            "the first, for electromagnetic locks",
        ),
    ),
    sweep="gap",
)
def force_at_gap(ampere_turns: float, core_length: float, pole_area: float, gap: float) -> float:
    """Force left when dirt, tape or tilt holds the faces apart, for a soft steel core with two poles."""
    return _flux_density(ampere_turns, core_length, 2.0 * gap) ** 2 * pole_area / (2.0 * MU_0)


@computation(
    "magnetics.retained-share",
    title="Share of the contact force left at a gap",
    formula="F({gap})/F(0) for {ampere_turns}, {core_length}",
    arguments=(
        replace(_AMPERE_TURNS, low=1.0, direction="0"),
        replace(_CORE_LENGTH, direction="0"),
        _GAP,
    ),
    result=Result("share of the contact force", "F/F0", "share", high=1.0,
                  beyond="a gap cannot add force"),
    sources=(PHYSICS, _STEEL, _CODATA),
    assumptions=(_NO_LEAKAGE, _SATURATED, _TWO_GAPS),
    caution="measured against perfect contact, which no lock on a door has",
    sweep="gap",
)  # fmt: skip
def retained_share(ampere_turns: float, core_length: float, gap: float) -> float:
    """How much of the force in perfect contact is left at a gap; the pole area does not matter."""
    contact = _flux_density(ampere_turns, core_length, 0.0)
    return (_flux_density(ampere_turns, core_length, 2.0 * gap) / contact) ** 2


@computation(
    "magnetics.ideal-force",
    title="Holding force by the ideal solenoid formula",
    formula="µ0·{ampere_turns}²·{pole_area}/(2·{total_gap}²)",
    arguments=(
        replace(_AMPERE_TURNS, high=1e5),
        replace(_POLE_AREA, high=1.0),
        replace(_TOTAL_GAP, low=1e-6, high=2.0, below="the formula has no value in contact", above=""),
    ),
    result=Result("force", "F", "force"),
    sources=(PHYSICS, _CODATA),
    assumptions=("iron takes no ampere-turns and never saturates: all of the field is in the gap",),
    caution="parts from the real circuit on both sides: as the gap closes it grows without limit, where the "
    "iron's own reluctance and then saturation hold the real force back; across a wide gap leakage leaves "
    "the "
    "real force smaller. Compare magnetics.force-at-gap",
    sweep="total_gap",
)  # fmt: skip
def ideal_force(ampere_turns: float, pole_area: float, total_gap: float) -> float:
    """Force as many calculators give it: right only where the gap takes nearly all of the ampere-turns."""
    return MU_0 * ampere_turns**2 * pole_area / (2.0 * total_gap**2)


@computation(
    "magnetics.implied-gap",
    title="Gap at which a stated force is just reached",
    formula="µ0·({ampere_turns} − H(B)·{core_length})/(2·B), B = √(2·µ0·{force}/{pole_area})",
    arguments=(
        replace(_FORCE, meaning="stated holding force", low=1.0, direction="-"),
        _POLE_AREA,
        _AMPERE_TURNS,
        _CORE_LENGTH,
    ),
    result=Result("gap at each face", "g", "length", metric="mm", customary="in",
                  beyond="the coil does not reach this force even with the faces in perfect contact"),
    sources=(PHYSICS, _STEEL, _CODATA),
    assumptions=(_NO_LEAKAGE, _SATURATED, _TWO_GAPS),
    caution="any larger gap, by dirt or a strip of tape, takes the lock below the force it is stated to hold",
    sweep="force",
)  # fmt: skip
def implied_gap(force: float, pole_area: float, ampere_turns: float, core_length: float) -> float:
    """How far apart the faces may be while the lock still holds the force it is stated to have."""
    b = math.sqrt(2.0 * MU_0 * force / pole_area)
    return MU_0 * (ampere_turns - field_strength(b) * core_length) / (2.0 * b)


@computation(
    "magnetics.ampere-turns",
    title="Ampere-turns that an electrical power gives",
    formula="√({power}·{copper_area}/({resistivity}·{mean_turn}))",
    arguments=(
        Argument("power", "P", "power", "electrical power of the coil", 0.0, 200.0, "+",
                 typical=(Reading("lock without a data sheet", PRACTICE, (("power", 6.0),)),)),
        Argument("copper_area", "Acu", "area", "copper in the winding's slot, all turns", 1e-7, 0.01, "+",
                 metric="mm²", customary="in²",
                 typical=(Reading("illustrative lock", MEMORY, (("copper_area", 60e-6),)),)),
        Argument("mean_turn", "lt", "length", "mean length of one turn", 0.01, 5.0, "-",
                 metric="mm", customary="in",
                 typical=(Reading("illustrative lock", MEMORY, (("mean_turn", 0.56),)),)),
        Argument("resistivity", "ρ", "resistivity", "resistivity of the winding", 1e-8, 1e-7, "-",
                 default_source=Source("standard", "annealed copper at 20 °C, ASTM B258 and IACS")),
    ),
    result=Result("ampere-turns", "N·I", "magnetomotive-force"),
    sources=(PHYSICS,),
    assumptions=("direct current, one temperature of the copper",),
    caution="gauge of the wire and choice of 12 V or 24 V do not matter: power, copper and length of turn do",
    sweep="power",
)  # fmt: skip
def ampere_turns(power: float, copper_area: float, mean_turn: float, resistivity: float = 1.7241e-8) -> float:
    """Ampere-turns of a coil from its power and geometry, whatever its voltage."""
    return math.sqrt(power * copper_area / (resistivity * mean_turn))


@computation(
    "magnetics.solenoid-field",
    title="Field on the axis of an air-cored solenoid",
    formula="µ0·{turns_per_length}·{current}/2·(b/√(b² + {radius}²) + c/√(c² + {radius}²)), "
    "b, c = {length}·(1 ± {position})/2",
    arguments=(
        Argument("turns_per_length", "n", "turns-per-length", "turns per length of winding", 1.0, 1e6, "+"),
        Argument("current", "I", "current", "current in the winding", 0.0, 100.0, "+"),
        Argument("length", "l", "length", "length of the winding", 0.001, 100.0, "+",
                 metric="mm", customary="in"),
        Argument("radius", "r", "length", "mean radius of the winding", 1e-6, 10.0, "-",
                 metric="mm", customary="in"),
        Argument("position", "x", "share", "distance from the middle as a share of half the length", 0.0, 1.0,
                 "-", default_source=Source("derived", "the middle of the winding")),
    ),
    result=Result("flux density", "B", "flux-density"),
    sources=(PHYSICS, _CODATA),
    assumptions=("a thin winding in air, no iron",),
    caution="a lock is not an air-cored solenoid: this is the ideal beside which the real circuit stands",
    sweep="position",
)  # fmt: skip
def solenoid_field(
    turns_per_length: float, current: float, length: float, radius: float, position: float = 0.0
) -> float:
    """Flux density inside a coil without iron: µ0·n·I in the middle of a long one, half that at its ends."""
    far, near = length * (1.0 + position) / 2.0, length * (1.0 - position) / 2.0
    shape = far / math.hypot(far, radius) + near / math.hypot(near, radius)
    return MU_0 * turns_per_length * current * shape / 2.0
