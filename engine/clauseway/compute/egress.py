"""Egress: occupant load, capacity, exits and their separation, and the time people need to pass a door.

Load factors, widths per person and limits by use are the codes' and live with the rules: they come in as
numbers.
"""

from __future__ import annotations

import math
from dataclasses import replace

from clauseway.compute.description import (
    DERIVED,
    PHYSICS,
    PRACTICE,
    Argument,
    Disagreement,
    Reading,
    Result,
    Source,
    computation,
)
from clauseway.compute.rounding import whole_down, whole_up
from clauseway.compute.units import FOOT, INCH

_LOAD = Source("code", "IBC 1004.5")
_CAPACITY = Source("code", "IBC 1005.3.2")
_LOSS = Source("code", "IBC 1005.5")
_EXITS = Source("code", "IBC 1006.2.1.1 and table 1006.3.2 (2018)")
_SEPARATION = Source("code", "IBC 1007.1.1")
_HYDRAULIC = Source("handbook", "SFPE Handbook, hydraulic model, read in a university teaching page")
_DELAY = Source("code", "model building codes on delayed egress")
_SHIPS = Source("standard", "IMO MSC/Circ.1166 and MSC.1/Circ.1533: ships, not buildings")

_ROUNDING = Argument(
    "rounding", "r", "switch", "1 rounds a part of a person up, 0 down", 0.0, 1.0, "+", whole=True,
    default_source=Source("code", "a load is not less than area over factor: up"),
)  # fmt: skip
_ROUNDED = Disagreement(
    "a part of a person in an occupant load",
    (
        Reading("round up, space by space: not less than area over factor", _LOAD, (("rounding", 1.0),)),
        Reading("round down, as several city handouts do", PRACTICE, (("rounding", 0.0),)),
    ),
    "round up",
)
_PERSONS = Argument("occupants", "N", "persons", "occupant load", 0.0, 1e6, "+")
_CLEAR_WIDTH = Argument(
    "clear_width", "W", "length", "clear width of the door, not the width of its leaf", 0.1, 50.0, "+",
    metric="mm", customary="in",
)  # fmt: skip
_WIDTH_PER_PERSON = Argument(
    "width_per_person", "f", "width-per-person", "width that a code asks for each person", 0.001, 0.1, "-",
    typical=(
        Reading("doors", _CAPACITY, (("width_per_person", 0.2 * INCH),)),
        Reading("doors, sprinklers and voice alarm, not Group H or I-2", _CAPACITY,
                (("width_per_person", 0.15 * INCH),)),
        Reading("stairs", Source("code", "IBC 1005.3.1"), (("width_per_person", 0.3 * INCH),)),
    ),
)  # fmt: skip


def _whole(value: float, rounding: float) -> float:
    return whole_up(value) if rounding else whole_down(value)


@computation(
    "egress.occupant-load",
    title="Occupant load from area",
    formula="{area}/{area_per_person}, rounded up (down if {rounding} is 0)",
    arguments=(
        Argument("area", "A", "area", "floor area, gross or net as the factor says", 0.0, 1e7, "+"),
        Argument("area_per_person", "f", "area-per-person", "load factor of the use", 0.1, 1000.0, "-",
                 typical=(
            Reading("smallest area that may be posted", Source("code", "IBC 1004.5.1"),
                    (("area_per_person", 7.0 * FOOT**2),)),
        )),
        _ROUNDING,
    ),
    result=Result("occupant load", "N", "persons", whole=True),
    sources=(_LOAD,),
    assumptions=("one use in the area, no fixed seats",),
    caution="factors changed between editions: business 100 to 150 ft², ground-floor shops 30 to 60 ft² in "
    "2018. "
    "Rounding each room up gives more than rounding the whole floor",
    disagreements=(_ROUNDED,),
    sweep="area",
)  # fmt: skip
def occupant_load(area: float, area_per_person: float, rounding: float = 1.0) -> float:
    """People that a code counts for a floor area."""
    return _whole(area / area_per_person, rounding)


@computation(
    "egress.bench-load",
    title="Occupant load of benches or booths",
    formula="{benches}·({bench_length}/{length_per_person}, rounded up; down if {rounding} is 0)",
    arguments=(
        Argument("bench_length", "L", "length", "length of one bench", 0.0, 200.0, "+", metric="mm",
                 customary="in"),
        Argument("benches", "n", "count", "number of equal benches", 0.0, 10_000.0, "+", whole=True),
        Argument("length_per_person", "l", "length", "length for each person", 0.2, 2.0, "-",
                 metric="mm", customary="in", default_source=Source("code", "IBC 1004.6: 18 in"),
                 typical=(
                     Reading("bench or pew without arms", Source("code", "IBC 1004.6"),
                             (("length_per_person", 18.0 * INCH),)),
                     Reading("booth", Source("code", "IBC 1004.6"), (("length_per_person", 24.0 * INCH),)),
                 )),
        _ROUNDING,
    ),
    result=Result("occupant load", "N", "persons", whole=True),
    sources=(Source("code", "IBC 1004.6 (2018), 1004.4 (2015)"),),
    disagreements=(
        _ROUNDED,
        Disagreement(
            "a fixed bench at a table",
            (
                Reading("bench: 18 in for each person", PRACTICE, (("length_per_person", 18.0 * INCH),)),
                Reading("booth: 24 in for each person", PRACTICE, (("length_per_person", 24.0 * INCH),)),
            ),
            "bench, the higher load",
        ),
    ),
    sweep="bench_length",
)  # fmt: skip
def bench_load(bench_length: float, benches: float, length_per_person: float = 0.4572, rounding: float = 1.0) -> float:
    """People that a code counts on benches without arms."""
    return benches * _whole(bench_length / length_per_person, rounding)


@computation(
    "egress.capacity",
    title="Capacity of a door",
    formula="⌊{clear_width}/{width_per_person}⌋",
    arguments=(_CLEAR_WIDTH, _WIDTH_PER_PERSON),
    result=Result("capacity", "N", "persons", whole=True),
    sources=(_CAPACITY,),
    caution="clear width, never the nominal leaf: a 36 in leaf is about 33 in clear",
    sweep="clear_width",
)
def capacity(clear_width: float, width_per_person: float) -> float:
    """People that a code lets a door serve."""
    return whole_down(clear_width / width_per_person)


@computation(
    "egress.required-width",
    title="Required clear width",
    formula="max({occupants}·{width_per_person}, {minimum_width})",
    arguments=(
        _PERSONS,
        replace(_WIDTH_PER_PERSON, direction="+"),
        Argument("minimum_width", "Wmin", "length", "least width of any door", 0.0, 5.0, "+",
                 metric="mm", customary="in", default_source=Source("derived", "none unless stated"),
                 typical=(Reading("any egress door", Source("code", "IBC 1010.1.1"),
                                  (("minimum_width", 32.0 * INCH),)),)),
    ),
    result=Result("clear width", "W", "length", metric="mm", customary="in"),
    sources=(_CAPACITY,),
    caution="a total over all doors; each door has its own least width, and 1005.5 its say",
    sweep="occupants",
)  # fmt: skip
def required_width(occupants: float, width_per_person: float, minimum_width: float = 0.0) -> float:
    """Clear width that an occupant load needs."""
    return max(occupants * width_per_person, minimum_width)


@computation(
    "egress.exits-required",
    title="Number of exits",
    formula="{occupants} up to {single_exit_limit}: 1, up to {three_above}: 2, up to {four_above}: 3, else 4",
    arguments=(
        _PERSONS,
        Argument("single_exit_limit", "N1", "persons", "load up to which one exit is enough", 0.0, 1e5, "-",
                 default_source=Source("derived", "one exit is not enough unless stated")),
        Argument("three_above", "N2", "persons", "load above which three are needed", 1.0, 1e5, "-",
                 default_source=_EXITS),
        Argument("four_above", "N3", "persons", "load above which four are needed", 1.0, 1e5, "-",
                 default_source=_EXITS),
    ),
    result=Result("exits", "n", "count", low=1.0, high=4.0, whole=True),
    sources=(_EXITS,),
    caution="one exit also depends on the group, the sprinklers and the common path of travel",
    sweep="occupants",
)  # fmt: skip
def exits_required(
    occupants: float,
    single_exit_limit: float = 0.0,
    three_above: float = 500.0,
    four_above: float = 1000.0,
) -> float:
    """Exits that a storey or space needs by its occupant load."""
    return 1.0 + sum(occupants > limit for limit in (single_exit_limit, three_above, four_above))


@computation(
    "egress.capacity-after-loss",
    title="Capacity left after the loss of one exit",
    formula="Σ {capacities} − the largest of them",
    arguments=(
        Argument("capacities", "C", "persons", "capacity of each exit, or of each access that exits share",
                 0.0, 1e6, "+", many=True),
    ),
    result=Result("capacity left", "C", "persons"),
    sources=(_LOSS,),
    assumptions=("the worst exit is lost; exits behind one access are one",),
    sweep="",
)  # fmt: skip
def capacity_after_loss(capacities: tuple[float, ...]) -> float:
    """What the other exits still carry when the largest is blocked."""
    return math.fsum(sorted(capacities)[:-1])


@computation(
    "egress.share-after-loss",
    title="Share of the required capacity left after the loss of one exit",
    formula="(Σ {capacities} − the largest)/{required}",
    arguments=(
        Argument("capacities", "C", "persons", "capacity of each exit, or of each access that exits share",
                 0.0, 1e6, "+", many=True),
        Argument("required", "N", "persons", "required capacity", 1.0, 1e6, "-"),
    ),
    result=Result("share of the required capacity", "p", "share"),
    sources=(_LOSS,),
    assumptions=("the worst exit is lost; exits behind one access are one",),
    disagreements=(
        Disagreement(
            "the half that must remain",
            (
                Reading("half of the required capacity", _LOSS),
                Reading("no exit may hold more than half of the capacity there is", PRACTICE),
            ),
            "half of the required capacity: the text of the code",
        ),
    ),
    sweep="required",
)  # fmt: skip
def share_after_loss(capacities: tuple[float, ...], required: float) -> float:
    """How much of the required capacity the other exits still give."""
    return math.fsum(sorted(capacities)[:-1]) / required


@computation(
    "egress.to-remain",
    title="Capacity that must remain after the loss of one exit",
    formula="{fraction}·{required}",
    arguments=(
        Argument("required", "N", "persons", "required capacity", 0.0, 1e6, "+"),
        Argument("fraction", "p", "share", "share that must remain", 0.0, 1.0, "+", default_source=_LOSS),
    ),
    result=Result("capacity to remain", "N", "persons"),
    sources=(_LOSS,),
    caution="where two or more exits, or accesses to exits, are required",
    sweep="required",
)
def to_remain(required: float, fraction: float = 0.5) -> float:
    """Capacity that has to be left without any one exit."""
    return required * fraction


@computation(
    "egress.least-each",
    title="Least capacity of each of several equal exits",
    formula="max({occupants}/{exits}, {fraction}·{occupants}/({exits} − 1))",
    arguments=(
        _PERSONS,
        Argument("exits", "n", "count", "number of exits", 2.0, 100.0, "-", whole=True),
        Argument("fraction", "p", "share", "share that must remain after a loss", 0.0, 1.0, "+", default_source=_LOSS),
    ),
    result=Result("capacity of each", "N", "persons"),
    sources=(_LOSS,),
    assumptions=("equal exits, none behind another's access",),
    sweep="exits",
)
def least_each(occupants: float, exits: float, fraction: float = 0.5) -> float:
    """What each of several equal exits must carry, together and with one lost."""
    return max(occupants / exits, fraction * occupants / (exits - 1.0))


@computation(
    "egress.diagonal",
    title="Diagonal of a rectangular area",
    formula="√({length}² + {width}²)",
    arguments=(
        Argument("length", "L", "length", "length of the area served", 0.1, 10_000.0, "+"),
        Argument("width", "W", "length", "width of the area served", 0.1, 10_000.0, "+"),
    ),
    result=Result("diagonal", "D", "length"),
    sources=(PHYSICS,),
    assumptions=("a rectangle; otherwise measure the longest straight line in the plan",),
    sweep="length",
)
def diagonal(length: float, width: float) -> float:
    """Longest straight line in a rectangle."""
    return math.hypot(length, width)


@computation(
    "egress.separation",
    title="Separation of two exits",
    formula="{fraction}·{diagonal}",
    arguments=(
        Argument("diagonal", "D", "length", "longest diagonal of the area served", 0.1, 20_000.0, "+"),
        Argument("fraction", "p", "share", "share of the diagonal", 0.1, 1.0, "+", default_source=_SEPARATION,
                 typical=(
                     Reading("not sprinklered", _SEPARATION, (("fraction", 0.5),)),
                     Reading("sprinklered throughout", _SEPARATION, (("fraction", 1.0 / 3.0),)),
                 )),
    ),
    result=Result("straight-line distance", "s", "length"),
    sources=(_SEPARATION,),
    caution="of three or more exits two must be this far apart, and the others a reasonable distance",
    sweep="diagonal",
)  # fmt: skip
def separation(diagonal: float, fraction: float = 0.5) -> float:
    """Least distance between two exits."""
    return diagonal * fraction


_DENSITY = Argument("density", "D", "person-density", "people for each area of floor", 0.0, 3.76, "-",
                    above="the model holds to about 3.8 persons/m² (from memory)")  # fmt: skip
_SPEED_FACTOR = Argument(
    "speed_factor", "k", "speed", "speed at no density in the straight line of the model", 0.5, 2.0, "+",
    metric="m/s", default_source=_HYDRAULIC,
    typical=(
        Reading("doors, corridors, level ways", _HYDRAULIC, (("speed_factor", 1.40),)),
        Reading("stairs of 7 in by 11 in", _HYDRAULIC, (("speed_factor", 1.08),)),
    ),
)  # fmt: skip
_BODY = Argument("space", "a", "area-per-person", "space constant of the model", 0.1, 0.5, "-",
                 metric="m²/person", default_source=_HYDRAULIC)  # fmt: skip
_SPECIFIC_FLOW = Argument(
    "specific_flow", "Fs", "specific-flow", "people per time and width", 0.05, 4.0, "+", metric="person/m/s",
    default_source=_HYDRAULIC,
    typical=(
        Reading("doors and corridors", _HYDRAULIC, (("specific_flow", 1.3),)),
        Reading("stairs", _HYDRAULIC, (("specific_flow", 1.01),)),
        Reading("stairs down, on clear width", _SHIPS, (("specific_flow", 1.1),)),
        Reading("stairs up, on clear width", _SHIPS, (("specific_flow", 0.88),)),
        Reading("door experiments, on clear width", PRACTICE, (("specific_flow", 2.25),)),
    ),
)  # fmt: skip
_BOUNDARY = Argument(
    "boundary_layer", "BL", "length", "strip at each side that people keep clear of", 0.0, 0.5, "-",
    metric="mm", customary="in", default_source=_HYDRAULIC,
    typical=(
        Reading("doors and stairs", _HYDRAULIC, (("boundary_layer", 0.15),)),
        Reading("corridors", _HYDRAULIC, (("boundary_layer", 0.20),)),
        Reading("none: flow on clear width", _SHIPS, (("boundary_layer", 0.0),)),
    ),
)  # fmt: skip
_WIDTHS = Disagreement(
    "the width that 1.3 persons/(m·s) goes with",
    (
        Reading("effective width: 0.15 m off each side", _HYDRAULIC, (("boundary_layer", 0.15),)),
        Reading("clear width: nothing off", _SHIPS, (("boundary_layer", 0.0),)),
    ),
    "effective width, the slower; say which was used",
)
_FLOW_CAUTION = (
    "flow is not strictly linear in width and depends on how the door is worked: a leaf that stands open "
    "or has to "
    "be pushed costs more"
)
_SPEED_LINE = ("the straight line of speed against density",)


def _effective(clear_width: float, boundary_layer: float) -> float:
    width = clear_width - 2.0 * boundary_layer
    if width <= 0.0:
        raise ValueError(
            f"clear_width: found {clear_width:g} m, expected more than two boundary layers of {boundary_layer:g} m"
        )
    return width


@computation(
    "egress.effective-width",
    title="Effective width",
    formula="{clear_width} − 2·{boundary_layer}",
    arguments=(_CLEAR_WIDTH, _BOUNDARY),
    result=Result("effective width", "We", "length", metric="mm", customary="in"),
    sources=(_HYDRAULIC,),
    disagreements=(_WIDTHS,),
    sweep="clear_width",
)
def effective_width(clear_width: float, boundary_layer: float = 0.15) -> float:
    """Width that people really use."""
    return _effective(clear_width, boundary_layer)


@computation(
    "egress.walking-speed",
    title="Walking speed in a crowd",
    formula="{speed_factor}·(1 − {space}·{density})",
    arguments=(_DENSITY, _SPEED_FACTOR, _BODY),
    result=Result("speed", "S", "speed", metric="m/s", customary="ft/min", beyond="at this density nobody moves"),
    sources=(_HYDRAULIC,),
    assumptions=_SPEED_LINE,
    caution="below 0.54 persons/m² people walk freely and the line promises too much (from memory)",
    sweep="density",
)
def walking_speed(density: float, speed_factor: float = 1.40, space: float = 0.266) -> float:
    """Speed that the density of a crowd leaves."""
    return speed_factor * (1.0 - space * density)


@computation(
    "egress.specific-flow",
    title="Specific flow of a crowd",
    formula="(1 − {space}·{density})·{speed_factor}·{density}",
    arguments=(replace(_DENSITY, direction="0"), _SPEED_FACTOR, _BODY),
    result=Result("specific flow", "Fs", "specific-flow", metric="person/m/s", beyond="at this density nobody moves"),
    sources=(_HYDRAULIC,),
    assumptions=_SPEED_LINE,
    caution="rises to a density of 1/(2·a), about 1.9 persons/m², and falls after it",
    sweep="density",
)
def specific_flow(density: float, speed_factor: float = 1.40, space: float = 0.266) -> float:
    """People who pass for each width and time."""
    return (1.0 - space * density) * speed_factor * density


@computation(
    "egress.peak-specific-flow",
    title="Largest specific flow",
    formula="{speed_factor}/(4·{space})",
    arguments=(_SPEED_FACTOR, _BODY),
    result=Result("specific flow", "Fs,max", "specific-flow", metric="person/m/s"),
    sources=(_HYDRAULIC,),
    assumptions=_SPEED_LINE,
    sweep="speed_factor",
)
def peak_specific_flow(speed_factor: float = 1.40, space: float = 0.266) -> float:
    """Specific flow at the best density."""
    return speed_factor / (4.0 * space)


@computation(
    "egress.density-for-flow",
    title="Density of a crowd from its flow",
    formula="(1 − √(1 − 4·{space}·{specific_flow}/{speed_factor}))/(2·{space})",
    arguments=(
        replace(_SPECIFIC_FLOW, low=0.0, default_source=None),
        replace(_SPEED_FACTOR, direction="-"),
        replace(_BODY, direction="+"),
    ),
    result=Result("density", "D", "person-density"),
    sources=(_HYDRAULIC,),
    assumptions=(*_SPEED_LINE, "the lower of two densities: a crowd that is not jammed"),
    sweep="specific_flow",
)
def density_for_flow(specific_flow: float, speed_factor: float = 1.40, space: float = 0.266) -> float:
    """Density at which a flow passes without a jam."""
    rest = 1.0 - 4.0 * space * specific_flow / speed_factor
    if rest < 0.0:
        raise ValueError(
            f"specific_flow: found {specific_flow:g} person/m/s, expected at most the peak of "
            f"{speed_factor / (4.0 * space):g}"
        )
    return (1.0 - math.sqrt(rest)) / (2.0 * space)


@computation(
    "egress.flow",
    title="Flow through a door",
    formula="{specific_flow}·({clear_width} − 2·{boundary_layer})",
    arguments=(_CLEAR_WIDTH, _SPECIFIC_FLOW, _BOUNDARY),
    result=Result("flow", "Fc", "person-flow"),
    sources=(_HYDRAULIC, _SHIPS),
    assumptions=("the door is the narrowest place and people queue in front of it",),
    caution=_FLOW_CAUTION,
    disagreements=(_WIDTHS,),
    sweep="clear_width",
)
def flow(clear_width: float, specific_flow: float = 1.3, boundary_layer: float = 0.15) -> float:
    """People who pass a door for each time."""
    return specific_flow * _effective(clear_width, boundary_layer)


@computation(
    "egress.passing-time",
    title="Time for people to pass a released or delayed door",
    formula="{delay} + {opening_time} + {occupants}/({specific_flow}·({clear_width} − 2·{boundary_layer}))",
    arguments=(
        _PERSONS,
        replace(_CLEAR_WIDTH, direction="-"),
        Argument("delay", "td", "time", "release time, or the delay of a delayed-egress lock", 0.0, 3600.0,
                 "+",
                 default_source=Source("derived", "no delay unless stated"),
                 typical=(
                     Reading("usual delay", _DELAY, (("delay", 15.0),)),
                     Reading("delay where approved", _DELAY, (("delay", 30.0),)),
                 )),
        replace(_SPECIFIC_FLOW, direction="-"),
        replace(_BOUNDARY, direction="+"),
        Argument("opening_time", "to", "time", "time to open the leaf", 0.0, 600.0, "+",
                 default_source=Source("derived", "none unless stated")),
    ),
    result=Result("time until all have passed", "t", "time"),
    sources=(_HYDRAULIC, DERIVED),
    assumptions=("everyone is at the door already; no counterflow",),
    caution=f"a comparison, not a rule: {_FLOW_CAUTION}",
    disagreements=(_WIDTHS,),
    sweep="occupants",
)  # fmt: skip
def passing_time(
    occupants: float,
    clear_width: float,
    delay: float = 0.0,
    specific_flow: float = 1.3,
    boundary_layer: float = 0.15,
    opening_time: float = 0.0,
) -> float:
    """Time from the request until the last person is through."""
    return delay + opening_time + occupants / (specific_flow * _effective(clear_width, boundary_layer))


@computation(
    "egress.time-from-flow",
    title="Time for people to pass at a known flow",
    formula="{occupants}/{flow}",
    arguments=(
        _PERSONS,
        Argument("flow", "Fc", "person-flow", "people who pass for each time", 0.001, 1000.0, "-"),
    ),
    result=Result("time", "t", "time"),
    sources=(_HYDRAULIC, _SHIPS),
    sweep="flow",
)
def time_from_flow(occupants: float, flow: float) -> float:
    """Time that a number of people take at a flow."""
    return occupants / flow


@computation(
    "egress.walking-time",
    title="Walking time",
    formula="{distance}/{speed}",
    arguments=(
        Argument("distance", "L", "length", "distance walked", 0.0, 10_000.0, "+"),
        Argument("speed", "S", "speed", "walking speed", 0.05, 3.0, "-", metric="m/s", customary="ft/min"),
    ),
    result=Result("time", "t", "time"),
    sources=(_HYDRAULIC, _SHIPS),
    sweep="distance",
)
def walking_time(distance: float, speed: float) -> float:
    """Time that a way takes at a speed."""
    return distance / speed


@computation(
    "egress.travel-time",
    title="Ideal travel time",
    formula="{walking} + {flowing}",
    arguments=(
        Argument("walking", "tw", "time", "walking time along the way", 0.0, 36_000.0, "+"),
        Argument("flowing", "tF", "time", "longest flow time on the way", 0.0, 36_000.0, "+"),
    ),
    result=Result("travel time", "t", "time"),
    sources=(_SHIPS,),
    caution="ideal: no reaction time and no safety factor",
    sweep="walking",
)
def travel_time(walking: float, flowing: float) -> float:
    """Walking time plus the longest queue on the way."""
    return walking + flowing


@computation(
    "egress.relocking-time",
    title="Time through a door that locks again behind each person",
    formula="{occupants}·{release_time} + {occupants}/({specific_flow}·({clear_width} − 2·{boundary_layer}))",
    arguments=(
        _PERSONS,
        Argument("release_time", "tr", "time", "release time each person waits for", 0.0, 60.0, "+"),
        replace(_CLEAR_WIDTH, direction="-"),
        replace(_SPECIFIC_FLOW, direction="-"),
        replace(_BOUNDARY, direction="+"),
    ),
    result=Result("time until all have passed", "t", "time"),
    sources=(_HYDRAULIC, DERIVED),
    assumptions=("the worst case: every person meets a locked door",),
    caution="a sensor that keeps the lock released while people come costs the release time once only",
    disagreements=(_WIDTHS,),
    sweep="release_time",
)
def relocking_time(
    occupants: float,
    release_time: float,
    clear_width: float,
    specific_flow: float = 1.3,
    boundary_layer: float = 0.15,
) -> float:
    """Time until the last person is through when the lock re-engages between persons."""
    return occupants * release_time + occupants / (specific_flow * _effective(clear_width, boundary_layer))
