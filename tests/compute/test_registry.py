"""The registry: what computations say of themselves, what they refuse and in which words, and ranges."""

from __future__ import annotations

import inspect
import math
import string
from typing import Any

import pytest

from clauseway.compute import battery, egress, magnetics, supply, wire
from clauseway.compute.description import Argument, Computation, Source, described
from clauseway.compute.registry import (
    SUBJECTS,
    Range,
    computations,
    evaluate,
    evaluate_ranges,
    module_of,
    tabulate,
)

RECORDS = [pytest.param(record, id=name) for name, record in computations().items()]
MODULES = [module_of(subject) for subject in SUBJECTS]
ALL = list(computations().values())


def sources_of(record: Computation) -> list[Source]:
    found = list(record.sources)
    for argument in record.arguments:
        found += [reading.source for reading in argument.typical]
        if argument.default_source:
            found.append(argument.default_source)
    for matter in record.disagreements:
        found += [reading.source for reading in matter.readings]
    return found


def test_every_function_is_registered_once_under_its_subject() -> None:
    functions = [described(member) for module in MODULES for member in vars(module).values()]
    names = [record.name for record in functions if record]
    assert len(names) == len(set(names)) == len(computations())
    for module in MODULES:
        subject = module.__name__.rpartition(".")[2]
        assert {record.subject for record in map(described, vars(module).values()) if record} == {subject}
    assert list(computations()) == sorted(names)


@pytest.mark.parametrize("record", RECORDS)
def test_description_fits_the_function(record: Computation) -> None:
    signature = inspect.signature(record.body)
    assert list(signature.parameters) == [argument.name for argument in record.arguments]
    for argument in record.arguments:
        default = signature.parameters[argument.name].default
        assert argument.default == (None if default is inspect.Parameter.empty else default)
        assert argument.low < argument.high
        assert math.isfinite(argument.low)
        assert math.isfinite(argument.high)
        if argument.default is not None:
            assert argument.low <= argument.default <= argument.high


@pytest.mark.parametrize("record", RECORDS)
def test_description_is_complete(record: Computation) -> None:
    assert record.title
    assert record.sources
    names = {argument.name for argument in record.arguments}
    assert record.sweep in names | {""}
    assert not record.sweep or not record.argument(record.sweep).many
    put = {field for _, field, _, _ in string.Formatter().parse(record.formula) if field}
    assert put <= names
    formula = record.formula_with_symbols()
    assert "{" not in formula
    for argument in record.arguments:
        assert argument.meaning
        assert (argument.default is None) == (argument.default_source is None), argument.name
        for reading in argument.typical:
            assert {name for name, _ in reading.settings} <= {argument.name}
            for _, value in reading.settings:
                assert argument.low <= value <= argument.high
    for matter in record.disagreements:
        assert len(matter.readings) >= 2
        assert matter.chosen
    for text in (record.caution, *record.assumptions):
        assert not text.endswith(".")


def test_the_formula_names_every_argument() -> None:
    """A number that does not stand in the formula would move the result unseen."""
    unseen = {
        (record.name, argument.name)
        for record in ALL
        for argument in record.arguments
        if "{" + argument.name + "}" not in record.formula
    }
    assert not unseen


@pytest.mark.parametrize("record", RECORDS)
def test_source_is_named_or_said_to_be_missing(record: Computation) -> None:
    for source in sources_of(record):
        if source.kind == "practice" and "no source" not in source.text:
            assert len(source.text) > 4
        if source.kind == "memory":
            assert "memory" in source.text or "remembered" in source.text
        assert "http" not in source.text


def test_disagreements_that_can_be_computed_show_both_readings() -> None:
    """Each reading of a matter sets an argument of that computation, or none of them does."""
    shown = 0
    for record in ALL:
        names = {argument.name for argument in record.arguments}
        for matter in record.disagreements:
            named = [{name for name, _ in reading.settings} for reading in matter.readings]
            settable = [each for each in named if each & names]
            assert not settable or len(settable) == len(named), (record.name, matter.matter)
            shown += bool(settable)
    assert shown >= 12


@pytest.mark.parametrize("module", MODULES, ids=SUBJECTS)
def test_docstrings_say_formula_units_source_range_and_errors(module: Any) -> None:
    for member in vars(module).values():
        record = described(member)
        if record is None:
            continue
        text = inspect.getdoc(member) or ""
        for part in ("Formula: ", "Gives: ", "Source: ", "Errors: ValueError"):
            assert part in text
        for argument in record.arguments:
            assert f"{argument.name}: {argument.meaning} [" in text
            assert argument.span() in text


# ----------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("name", "given", "words"),
    [
        ("wire.voltage-drop", {"length": 0.0, "current": 0.5, "area": 8e-7},
         ["length: found 0 m", "expected 0.01 m to 10000 m", "one-way length"]),
        ("wire.voltage-drop", {"length": -3.0, "current": 0.5, "area": 8e-7}, ["length: found -3 m"]),
        ("wire.voltage-drop", {"length": 3.0, "current": math.nan, "area": 8e-7},
         ["current: found nan, expected a finite"]),
        ("wire.voltage-drop", {"length": math.inf, "current": 0.5, "area": 8e-7}, ["length: found inf"]),
        ("wire.voltage-drop", {"length": "3 m", "current": 0.5, "area": 8e-7},
         ["length: found '3 m'", "expected a number in m"]),
        ("wire.voltage-drop", {"length": True, "current": 0.5, "area": 8e-7}, ["length: found True"]),
        ("wire.voltage-drop", {"length": 3.0, "area": 8e-7}, ["current: found nothing, expected a number"]),
        ("wire.voltage-drop", {"length": 3.0, "current": None, "area": 8e-7}, ["current: found nothing"]),
        ("wire.voltage-drop", {"length": 3.0, "curent": 0.5, "area": 8e-7}, ["did you mean current"]),
        ("wire.gauge-area", {"gauge": 52.0}, ["gauge: found 52 AWG", "-3 AWG to 40 AWG"]),
        ("wire.gauge-area", {"gauge": 17.5}, ["gauge: found 17.5, expected a whole number"]),
        ("wire.thinnest-gauge", {"area": 1.5e-4}, ["4/0 AWG"]),
        ("wire.voltage-at-lock", {"supply_voltage": 12.0, "length": 3000.0, "current": 1.0, "area": 8e-7},
         ["more than the whole supply voltage"]),
        ("wire.chain-drop", {"segment_lengths": [3.0, 4.0], "currents": [0.5], "area": 8e-7},
         ["currents: found 1, expected 2"]),
        ("wire.chain-drop", {"segment_lengths": [3.0, 0.0], "currents": [0.5, 0.1], "area": 8e-7},
         ["segment_lengths[1]: found 0 m"]),
        ("supply.standing-current", {"currents": []}, ["currents: found an empty list"]),
        ("supply.standing-current", {"currents": 0.5}, ["currents: found 0.5, expected a list"]),
        ("magnetics.force-at-gap",
         {"ampere_turns": 200.0, "core_length": 0.12, "pole_area": 5e-3, "gap": 0.004},
         ["gap: found 4 mm, expected 0 mm to 3 mm", "the model no longer holds"]),
        ("magnetics.implied-gap",
         {"force": 9000.0, "pole_area": 5e-3, "ampere_turns": 100.0, "core_length": 0.12},
         ["even with the faces in perfect contact"]),
        ("release.time",
         {"initial_current": 0.2, "release_current": 0.3, "inductance": 3.6, "resistance": 24.0,
          "clamp_voltage": 0.7},
         ["does not hold at all", "initial_current 0.2 A"]),
        ("battery.margin-by-edition", {"edition": 2007.0}, ["edition: found 2007, expected 2010 to 2025"]),
        ("battery.standard-size", {"needed": 60.0 * 3600.0}, ["needed: found 60 A·h", "use several"]),
        ("battery.temperature-factor", {"temperature": 25.0}, ["temperature: found -248"]),
        ("battery.exponent",
         {"slow_time": 72_000.0, "slow_current": 10.0, "fast_time": 27_000.0, "fast_current": 5.0},
         ["fast_current: found 5 A, expected more than slow_current"]),
        ("door.pressure-limit", {"force_limit": 20.0, "closer_force": 30.0, "width": 0.9, "height": 2.0},
         ["the closer alone"]),
        ("egress.flow", {"clear_width": 0.25}, ["clear_width: found 0.25 m, expected more than two"]),
        ("egress.density-for-flow", {"specific_flow": 1.5}, ["at most the peak of 1.3157"]),
        ("egress.capacity", {"clear_width": 0.8, "width_per_person": 0.0},
         ["width_per_person: found 0 mm/person"]),
        ("wire.voltage-dorp", {}, ["'wire.voltage-dorp'", "wire.voltage-drop"]),
        ("batery", {}, ["'batery'"]),
    ],
)  # fmt: skip
def test_refusals_name_the_argument_what_was_found_and_what_is_expected(
    name: str, given: dict[str, Any], words: list[str]
) -> None:
    with pytest.raises(ValueError, match=r"found|expected|there is") as caught:
        evaluate(name, given)
    for word in words:
        assert word in str(caught.value), str(caught.value)


def test_functions_refuse_like_the_registry() -> None:
    with pytest.raises(ValueError, match="gap: found 4 mm"):
        magnetics.force_at_gap(200.0, 0.12, 5e-3, 0.004)
    with pytest.raises(ValueError, match="found 5 numbers, expected voltage, current"):
        supply.power(12.0, 0.5, *[1.0] * 3)  # type: ignore[call-arg]
    assert supply.power(voltage=12, current=1) == 12.0


def test_an_end_missed_by_the_last_digits_of_a_unit_is_that_end() -> None:
    just_below = math.nextafter(253.15, 0.0)
    assert battery.temperature_factor(just_below) == battery.temperature_factor(253.15)
    answer = evaluate_ranges("battery.temperature-factor", {"temperature": (just_below, 253.15)})
    assert answer.point == battery.temperature_factor(253.15)


# ------------------------------------------------------------------------------------------------- ranges


def test_points_give_a_point() -> None:
    given = {"length": 60.96, "current": 0.6, "area": wire.gauge_area(18)}
    answer = evaluate_ranges("wire.voltage-drop", given)
    assert answer.point == evaluate("wire.voltage-drop", given)
    assert answer.why == ()


def test_each_end_comes_from_its_own_corner() -> None:
    thin, thick = wire.gauge_area(20), wire.gauge_area(16)
    answer = evaluate_ranges(
        "wire.voltage-drop", {"length": (30.0, 60.0), "current": (0.25, 0.5), "area": (thin, thick)}
    )
    assert answer.low == pytest.approx(wire.voltage_drop(30.0, 0.25, thick))
    assert answer.high == pytest.approx(wire.voltage_drop(60.0, 0.5, thin))
    assert answer.point is None


def test_an_unknown_is_anything_it_can_be_and_no_default_stands_for_it() -> None:
    given: dict[str, Any] = {"length": 60.0, "current": 0.5, "area": 8e-7}
    assert evaluate_ranges("wire.voltage-drop", given).point is not None
    unknown = evaluate_ranges("wire.voltage-drop", {**given, "temperature": None})
    assert (unknown.low, unknown.high) == (0.0, None)
    assert any("temperature" in reason for reason in unknown.why)
    hot = evaluate_ranges("wire.voltage-drop", {**given, "temperature": (293.15, None)})
    assert hot.low == pytest.approx(wire.voltage_drop(60.0, 0.5, 8e-7))
    assert hot.high is None
    absent = evaluate_ranges("wire.voltage-drop", {"length": 60.0, "area": 8e-7})
    assert absent.low == 0.0
    assert absent.high == pytest.approx(wire.voltage_drop(60.0, 100.0, 8e-7))


def test_an_unknown_gap_leaves_no_force_to_count_on() -> None:
    """The model ends at 3 mm, the world does not: the force may be anything below that in contact."""
    answer = evaluate_ranges(
        "magnetics.force-at-gap", {"ampere_turns": 200.0, "core_length": 0.12, "pole_area": 5.24e-3, "gap": None}
    )
    assert answer.low == 0.0
    assert answer.high == pytest.approx(magnetics.force_at_gap(200.0, 0.12, 5.24e-3, 0.0))
    assert any("no longer holds" in reason for reason in answer.why)


def test_a_range_that_leaves_the_formula_leaves_that_end_open() -> None:
    given: dict[str, Any] = {"ampere_turns": 200.0, "core_length": 0.12, "pole_area": 5.24e-3}
    answer = evaluate_ranges("magnetics.force-at-gap", {**given, "gap": (1e-4, 5e-3)})
    assert answer.low == 0.0
    assert answer.high == pytest.approx(magnetics.force_at_gap(200.0, 0.12, 5.24e-3, 1e-4))
    with pytest.raises(ValueError, match="gap: found 4 mm"):
        evaluate_ranges("magnetics.force-at-gap", {**given, "gap": (4e-3, 5e-3)})
    longer = evaluate_ranges("wire.voltage-drop", {"length": (100.0, math.inf), "current": 0.5, "area": 8e-7})
    assert longer.high == pytest.approx(wire.voltage_drop(10_000.0, 0.5, 8e-7))


def test_what_is_not_monotone_says_so_and_nothing_else() -> None:
    answer = evaluate_ranges("egress.specific-flow", {"density": (0.5, 3.0)})
    assert (answer.low, answer.high) == (0.0, None)
    assert answer.why == ("density: not monotone, so a range of it says nothing; give one number",)
    rising = evaluate_ranges("egress.specific-flow", {"density": 1.0, "speed_factor": (1.0, 1.4)})
    assert rising.high == pytest.approx(egress.specific_flow(1.0, 1.4))


def test_a_direction_that_depends_on_the_others_is_tried_both_ways() -> None:
    """A larger exponent shortens a fast discharge and lengthens a slow one."""
    battery_of: dict[str, Any] = {"capacity": 25_200.0, "exponent": (1.0, 1.6)}
    for current in (0.1, 1.5):
        answer = evaluate_ranges("battery.run-time", {**battery_of, "current": current})
        ends = sorted(battery.run_time(25_200.0, current, k) for k in (1.0, 1.6))
        assert [answer.low, answer.high] == pytest.approx(ends)
    both = evaluate_ranges("battery.run-time", {**battery_of, "current": (0.1, 1.5)})
    assert both.high == pytest.approx(battery.run_time(25_200.0, 0.1, 1.6))
    assert both.low == pytest.approx(battery.run_time(25_200.0, 1.5, 1.6))


def test_lists_may_hold_ranges_and_a_list_that_is_not_known_says_nothing() -> None:
    some = evaluate_ranges("supply.standing-current", {"currents": [0.5, (0.2, 0.3), 0.1]})
    assert (some.low, some.high) == (pytest.approx(0.8), pytest.approx(0.9))
    assert evaluate_ranges("supply.standing-current", {"currents": [0.5, 0.1]}).point == pytest.approx(0.6)
    one_unknown = evaluate_ranges("supply.standing-current", {"currents": [0.5, None]})
    assert (one_unknown.low, one_unknown.high) == (pytest.approx(0.5), pytest.approx(100.5))
    none = evaluate_ranges("supply.standing-current", {"currents": None})
    assert (none.low, none.high) == (0.0, None)
    assert "how many" in none.why[0]


def test_whole_numbers_are_the_whole_numbers_in_the_range() -> None:
    answer = evaluate_ranges("wire.gauge-area", {"gauge": (16.5, 18.2)})
    assert answer.low == pytest.approx(wire.gauge_area(18))
    assert answer.high == pytest.approx(wire.gauge_area(17))
    with pytest.raises(ValueError, match="expected a whole number in it"):
        evaluate_ranges("wire.gauge-area", {"gauge": (16.2, 16.8)})


def test_where_only_a_part_of_the_range_has_a_result_that_part_is_told() -> None:
    narrow = evaluate_ranges("egress.passing-time", {"occupants": 50.0, "clear_width": (0.2, 0.9)})
    assert narrow.low == pytest.approx(egress.passing_time(50.0, 0.9))
    assert narrow.high is None
    weak = evaluate_ranges(
        "magnetics.implied-gap",
        {"force": (1000.0, 9000.0), "pole_area": 5e-3, "ampere_turns": 100.0, "core_length": 0.12},
    )
    assert weak.low == 0.0
    assert weak.high is not None
    with pytest.raises(ValueError, match="perfect contact"):
        evaluate_ranges(
            "magnetics.implied-gap",
            {"force": (8000.0, 9000.0), "pole_area": 5e-3, "ampere_turns": 100.0, "core_length": 0.12},
        )


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"length": (60.0, 30.0), "current": 0.5, "area": 8e-7}, "expected the least first"),
        ({"length": (1.0, 2.0, 3.0), "current": 0.5, "area": 8e-7}, r"expected \(least, most\)"),
        ({"length": (math.nan, 3.0), "current": 0.5, "area": 8e-7}, "length: found nan"),
        ({"length": (1.0, "x"), "current": 0.5, "area": 8e-7}, "length: found 'x'"),
        ({"length": (-5.0, -3.0), "current": 0.5, "area": 8e-7}, "length: found -3 m"),
        ({"lenght": (1.0, 2.0), "current": 0.5, "area": 8e-7}, "did you mean length"),
    ],
)
def test_bad_ranges_are_refused(given: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        evaluate_ranges("wire.voltage-drop", given)


def test_ranges_compare_like_values_of_the_language() -> None:
    assert 3.0 in Range(1.0, None)
    assert 3.0 not in Range(None, 2.0)
    assert Range(2.0, 2.0).point == 2.0
    assert Range(None, None).point is None


# ------------------------------------------------------------------------------------------------- tables


def test_tabulate_runs_one_argument() -> None:
    rows = tabulate("wire.voltage-drop", {"current": 0.5, "area": 8e-7}, "length", 10.0, 110.0)
    assert [place for place, _ in rows] == pytest.approx([10.0 + 10.0 * step for step in range(11)])
    for place, drop in rows:
        assert drop == pytest.approx(wire.voltage_drop(place, 0.5, 8e-7))


def test_tabulate_on_a_logarithmic_scale_and_over_whole_numbers() -> None:
    gap = tabulate("magnetics.retained-share", {"ampere_turns": 200.0, "core_length": 0.12}, "gap", 1e-5,
                   1e-3,
                   points=3, logarithmic=True)  # fmt: skip
    assert [place for place, _ in gap] == pytest.approx([1e-5, 1e-4, 1e-3])
    gauges = tabulate("wire.gauge-area", {}, "gauge", 12.0, 16.0)
    assert [place for place, _ in gauges] == [12.0, 13.0, 14.0, 15.0, 16.0]


def test_tabulate_leaves_a_gap_where_there_is_no_result() -> None:
    rows = tabulate("egress.flow", {}, "clear_width", 0.2, 0.5, points=4)
    assert [value is None for _, value in rows] == [True, True, False, False]
    with pytest.raises(ValueError, match="more than two boundary layers"):
        tabulate("egress.flow", {}, "clear_width", 0.15, 0.25)
    with pytest.raises(ValueError, match="rising range"):
        tabulate("egress.flow", {}, "clear_width", 0.5, 0.2)


@pytest.mark.parametrize("record", RECORDS)
def test_every_computation_can_be_tabulated_without_knowing_its_subject(record: Computation) -> None:
    if not record.sweep:
        assert any(argument.many for argument in record.arguments)
        return
    over = record.argument(record.sweep)
    middle = {
        argument.name: [halfway(argument, index)] if argument.many else halfway(argument, index)
        for index, argument in enumerate(record.arguments)
        if argument.name != over.name and argument.default is None
    }
    rows = tabulate(record.name, middle, over.name, over.low, over.high)
    assert any(value is not None for _, value in rows)


def halfway(argument: Argument, index: int) -> float:
    """Some number near the middle, larger for later arguments: no two of them are equal by chance."""
    if argument.typical and argument.typical[0].settings:
        return argument.typical[0].settings[0][1]
    share = 0.5 + 0.03 * index
    if argument.low <= 0.0:
        value = argument.low + (argument.high - argument.low) * share / 8.0
    else:
        value = argument.low * (argument.high / argument.low) ** share
    return float(round(value)) if argument.whole else value
