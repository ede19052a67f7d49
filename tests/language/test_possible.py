"""Each operation on what a value can still be: certain only where every completion agrees."""

from __future__ import annotations

import itertools
import math
import operator

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from clauseway.language.possible import (
    ANY_NUMBER,
    Choice,
    Choices,
    Interval,
    Text,
    Value,
    arithmetic,
    at_most,
    belongs,
    compare,
    equal,
    every,
    folded,
    hull,
    includes,
    is_decided,
    largest,
    monotone,
    negate,
    overlaps,
    point,
    same_text,
    smallest,
    some,
)

INF = math.inf
OPERATORS = {
    "<=": operator.le,
    "<": operator.lt,
    ">=": operator.ge,
    ">": operator.gt,
    "==": operator.eq,
    "!=": operator.ne,
}
FAST = settings(max_examples=100, deadline=None, derandomize=True)

NUMBERS = st.sampled_from([-3.0, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 10.0]) | st.floats(-1e6, 1e6)
SMALL = st.sampled_from([-3.0, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 10.0])


@st.composite
def intervals(draw: st.DrawFn, numbers: st.SearchStrategy[float] = NUMBERS) -> tuple[Interval, list[float]]:
    """An interval, bounded or not, and some numbers inside it."""
    inside = sorted(draw(st.lists(numbers, min_size=1, max_size=4)))
    low = draw(st.sampled_from([inside[0], inside[0] - 1.0, -INF]))
    high = draw(st.sampled_from([inside[-1], inside[-1] + 1.0, INF]))
    return Interval(low, high), inside


WORDS = "abcd"
SETS = st.frozensets(st.sampled_from(WORDS))


@st.composite
def bounded_sets(draw: st.DrawFn) -> tuple[Choices, list[frozenset[str]]]:
    sure = draw(SETS)
    possible = sure | draw(SETS)
    loose = sorted(possible - sure)
    within = [sure | frozenset(extra) for n in range(len(loose) + 1) for extra in itertools.combinations(loose, n)]
    return Choices(sure, possible), within


# --- truths ---------------------------------------------------------------------------------------------

TRUTHS = st.lists(st.sampled_from([True, False, None]), max_size=4)


@FAST
@given(TRUTHS)
def test_every_and_some_are_exact(truths: list[bool | None]) -> None:
    fills = list(itertools.product(*([t] if t is not None else [True, False] for t in truths)))
    for function, plain in ((every, all), (some, any)):
        found = {plain(fill) for fill in fills}
        assert function(truths) is (found.pop() if len(found) == 1 else None)


def test_negation() -> None:
    assert (negate(True), negate(False), negate(None)) == (False, True, None)


# --- comparisons ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", OPERATORS)
@FAST
@given(a=intervals(), b=intervals())
def test_a_decided_comparison_holds_for_every_completion(
    sign: str, a: tuple[Interval, list[float]], b: tuple[Interval, list[float]]
) -> None:
    truth = compare(sign, a[0], b[0])
    for x, y in itertools.product(a[1], b[1]):
        # Numbers within the tolerance of each other may count as equal.
        assume(x == y or abs(x - y) > 1e-6 * max(abs(x), abs(y)))
        if truth is not None:
            assert truth is OPERATORS[sign](x, y)


@pytest.mark.parametrize("sign", OPERATORS)
@given(x=SMALL, y=SMALL)
@FAST
def test_points_are_always_decided(sign: str, x: float, y: float) -> None:
    assert compare(sign, point(x), point(y)) is OPERATORS[sign](x, y)


def test_an_unknown_operator_is_refused() -> None:
    with pytest.raises(ValueError, match="not a comparison"):
        compare("<>", point(1), point(1))


def test_equality_of_ranges() -> None:
    assert equal(Interval(0, 2), point(1)) is None
    assert equal(Interval(0, 2), Interval(0, 2)) is None
    assert equal(Interval(0, 2), point(3)) is False
    assert equal(Interval(0, 2), point(2)) is None
    assert equal(point(2), point(2)) is True
    assert equal(Interval(0, INF), point(1)) is None
    assert compare("!=", Interval(0, 2), point(1)) is None


@pytest.mark.parametrize("sign", OPERATORS)
@pytest.mark.parametrize("low", [-INF, 0.0])
def test_no_tolerance_against_an_infinite_bound(sign: str, low: float) -> None:
    unknown = Interval(low, INF)
    assert compare(sign, unknown, point(5.0)) is None
    assert compare(sign, point(5.0), unknown) is None
    assert compare(sign, unknown, unknown) is None
    assert compare(sign, ANY_NUMBER, unknown) is None


def test_bounds_of_the_domain_still_decide() -> None:
    assert compare(">=", Interval(0, INF), point(0)) is True
    assert compare("<", Interval(0, INF), point(0)) is False
    assert compare("<", Interval(5, INF), point(5)) is False


def test_tolerance_between_finite_numbers() -> None:
    assert at_most(point(1.2192 * (1 + 1e-10)), point(1.2192)) is True
    assert at_most(point(1.2192 * (1 + 1e-7)), point(1.2192)) is False
    assert equal(point(0.1 + 0.2), point(0.3)) is True
    assert compare("<", point(0.3), point(0.1 + 0.2)) is False


FOOT = Interval(0.3048, 0.3048, "us", 0.305, "si")
"""A parameter that prints 12 in (305 mm)."""


@pytest.mark.parametrize("sign", ["<=", ">=", "=="])
def test_each_printed_value_meets_itself(sign: str) -> None:
    assert compare(sign, point(0.3048, "us"), FOOT) is True
    assert compare(sign, point(0.305, "si"), FOOT) is True
    assert compare(sign, FOOT, point(0.3048, "us")) is True
    assert compare(sign, FOOT, point(0.305, "si")) is True


def test_a_value_compares_with_the_number_printed_in_its_system() -> None:
    assert compare("<=", point(0.305, "us"), FOOT) is False
    assert compare(">=", point(0.3048, "si"), FOOT) is False
    assert compare("<=", point(0.3048), FOOT) is True
    assert compare("<=", point(0.305), FOOT) is False
    assert compare("<", point(0.3048, "si"), FOOT) is True


def test_a_range_must_agree_with_both_printed_values() -> None:
    assert compare("<=", Interval(0.1, 0.3048), FOOT) is True
    assert compare("<=", Interval(0.1, 0.305), FOOT) is None
    assert compare("<=", Interval(0.3049, 0.40), FOOT) is None
    assert compare("<=", Interval(0.3051, 0.40), FOOT) is False
    assert compare("<=", Interval(0, INF), FOOT) is None


@given(st.sampled_from(sorted(OPERATORS)), st.data())
@FAST
def test_a_range_decided_against_two_printed_values_stays_so(sign: str, data: st.DataObject) -> None:
    near = st.sampled_from([0.0, 0.3, 0.3048, 0.3049, 0.305, 0.3051, 0.4])
    inside = sorted(data.draw(st.lists(near, min_size=1, max_size=3)))
    truth = compare(sign, Interval(inside[0], inside[-1]), FOOT)
    for x, system in itertools.product(inside, ("us", "si", None)):
        if inside[0] < inside[-1] and truth is not None:
            assert compare(sign, point(x, system), FOOT) is truth


# --- sets and texts -------------------------------------------------------------------------------------


@FAST
@given(SETS.filter(bool), SETS)
def test_belonging_is_exact(options: frozenset[str], wanted: frozenset[str]) -> None:
    found = {option in wanted for option in options}
    assert belongs(Choice(options), wanted) is (found.pop() if len(found) == 1 else None)


@FAST
@given(bounded_sets(), SETS)
def test_overlap_and_inclusion_are_exact(value: tuple[Choices, list[frozenset[str]]], wanted: frozenset[str]) -> None:
    for function, plain in ((overlaps, lambda s: bool(s & wanted)), (includes, lambda s: wanted <= s)):
        found = {plain(completion) for completion in value[1]}
        assert function(value[0], wanted) is (found.pop() if len(found) == 1 else None)


def test_texts() -> None:
    assert same_text(Text("Push to exit."), Text("PUSH  TO EXIT")) is True
    assert same_text(Text("EXIT"), Text("PUSH TO EXIT")) is False
    assert same_text(Text(None), Text("EXIT")) is None
    assert same_text(Text(None), Text(None)) is None
    assert folded(" Keep  this door’s bolt. ") == "keep this door's bolt"


# --- arithmetic -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("sign", "+-*/")
@FAST
@given(a=intervals(SMALL), b=intervals(SMALL))
def test_arithmetic_contains_every_completion(
    sign: str, a: tuple[Interval, list[float]], b: tuple[Interval, list[float]]
) -> None:
    result = arithmetic(sign, a[0], b[0])
    plain = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv}[sign]
    for x, y in itertools.product(a[1], b[1]):
        if sign != "/" or y != 0:
            assert _holds(result, plain(x, y))
    assert not math.isnan(result.low)
    assert not math.isnan(result.high)


@pytest.mark.parametrize("name", ["abs", "ceil", "floor", "sqrt", "exp", "log"])
@FAST
@given(a=intervals(SMALL))
def test_functions_contain_every_completion(name: str, a: tuple[Interval, list[float]]) -> None:
    result = monotone(name, a[0])
    plain = {"abs": abs}.get(name) or getattr(math, name)
    for x in a[1]:
        if not (name == "sqrt" and x < 0) and not (name == "log" and x <= 0):
            assert _holds(result, float(plain(x)))
    assert result.low <= result.high


@FAST
@given(st.lists(intervals(SMALL), min_size=1, max_size=3))
def test_least_greatest_and_hull_contain_every_completion(values: list[tuple[Interval, list[float]]]) -> None:
    known: list[Interval] = [interval for interval, _ in values]
    together = hull(list(known))
    assert isinstance(together, Interval)
    for chosen in itertools.product(*(inside for _, inside in values)):
        assert _holds(smallest(known), min(chosen))
        assert _holds(largest(known), max(chosen))
        assert all(_holds(together, x) for x in chosen)


def _holds(interval: Interval, value: float) -> bool:
    slack = 1e-9 * max(1.0, abs(value))
    return interval.low - slack <= value <= interval.high + slack


def test_arithmetic_keeps_the_system_that_all_values_share() -> None:
    assert arithmetic("+", point(1, "us"), point(1, "us")).system == "us"
    assert arithmetic("+", point(1, "us"), point(1, "si")).system is None
    assert arithmetic("+", point(1, "us"), point(1)).system == "us"


def test_nothing_times_an_unbounded_number_is_nothing() -> None:
    assert arithmetic("*", point(0), Interval(0, INF)) == point(0)
    assert arithmetic("/", point(1), Interval(-1, 1)) == ANY_NUMBER


def test_rounding_forgives_the_last_bit_of_a_sum() -> None:
    assert monotone("ceil", point(10.000000000000002)) == point(10)
    assert monotone("floor", point(9.999999999999998)) == point(10)
    assert monotone("ceil", point(10.1)) == point(11)
    assert monotone("exp", point(1e6)).high == INF


@pytest.mark.parametrize("wrong", [lambda: arithmetic("%", point(1), point(1)), lambda: monotone("sin", point(1))])
def test_other_operators_are_refused(wrong: object) -> None:
    with pytest.raises(ValueError, match="not a"):
        wrong()  # type: ignore[operator]


# --- hulls ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([True, True], True),
        ([True, False], None),
        ([True, None], None),
        ([Choice(frozenset("a")), Choice(frozenset("b"))], Choice(frozenset("ab"))),
        (
            [Choices(frozenset("ab"), frozenset("ab")), Choices(frozenset("b"), frozenset("bc"))],
            Choices(frozenset("b"), frozenset("abc")),
        ),
        ([Text("x"), Text("x")], Text("x")),
        ([Text("x"), Text("y")], Text(None)),
    ],
)
def test_hull(values: list[Value], expected: Value) -> None:
    assert hull(values) == expected


@pytest.mark.parametrize("values", [[], [True, point(1)], [Text("x"), Choice(frozenset("a"))]])
def test_values_of_different_types_have_no_hull(values: list[Value]) -> None:
    with pytest.raises(ValueError, match=r"hull"):
        hull(values)


@pytest.mark.parametrize(
    ("value", "decided"),
    [
        (None, False), (True, True), (False, True), (point(1), True), (Interval(1, 2), False),
        (Choice(frozenset("a")), True), (Choice(frozenset("ab")), False), (Text("x"), True), (Text(None), False),
        (Choices(frozenset(), frozenset()), True), (Choices(frozenset(), frozenset("a")), False),
    ],
)  # fmt: skip
def test_is_decided(value: Value, decided: bool) -> None:
    assert is_decided(value) is decided
