"""Intervals of many rows are worked out as those of one are, and columns hold what their data says."""

from __future__ import annotations

import math
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pyarrow as pa
import pytest

from clauseway.case.open import open_project
from clauseway.case.project import member_path
from clauseway.language import core, possible
from clauseway.language.possible import Interval, System
from clauseway.law.library import load
from clauseway.law.resolve import resolve
from clauseway.readers.decide import Decider
from clauseway.survey import spans
from clauseway.survey.block import Block, Plain
from clauseway.survey.columns import Columns
from clauseway.survey.datasets import prepared
from clauseway.survey.digits import Tabled
from clauseway.survey.plan import alone, conditions_on
from clauseway.survey.planes import ONE, ZERO, Pair, Program, Runner, counts, every_row, of_bits, packed, rows_of
from clauseway.survey.spans import MARK, Spans
from clauseway.survey.terms import Terms
from clauseway.text.problems import ClausewayError
from support.rulebooks import IBC, copy_rules, rulebook

SYSTEMS: dict[int, System | None] = {mark: system for system, mark in MARK.items()}
NUMBERS = [-math.inf, -3.0, -1e-12, 0.0, 1e-12, 0.5, 1.0, 1 + 1e-10, 1 + 1e-8, 2.5, 10.000000000000002, 1e6, math.inf]


def some(rng: Random, many: int) -> list[Interval]:
    found = []
    for _ in range(many):
        low, high = sorted((rng.choice(NUMBERS), rng.choice(NUMBERS)))
        if rng.random() < 0.5 and not math.isinf(low):
            high = low
        found.append(Interval(low, high, rng.choice((None, "us", "si"))))
    return found


def natural(values: list[Interval]) -> list[Interval]:
    """The same, above nothing."""
    ends = [sorted((abs(each.low), abs(each.high))) for each in values]
    return [Interval(low, high, each.system) for (low, high), each in zip(ends, values, strict=True)]


def rows_from(values: list[Interval]) -> Spans:
    marks = np.array([MARK[value.system] for value in values], dtype=np.uint8)
    low, high = np.array([v.low for v in values]), np.array([v.high for v in values])
    return Spans(low, high, marks, is_natural=bool((low >= 0).all()))


def one_by_one(found: Spans, many: int) -> list[Interval]:
    low, high, marks = (np.broadcast_to(each, (many,)) for each in (found.low, found.high, found.system))
    return [Interval(float(a), float(b), SYSTEMS[int(m)]) for a, b, m in zip(low, high, marks, strict=True)]


def truths(side: spans.Side, many: int) -> list[bool | None]:
    true, false = (np.broadcast_to(each, (many,)) for each in side)
    assert not (true & false).any()
    return [True if t else False if f else None for t, f in zip(true, false, strict=True)]


def same(a: Interval, b: Interval) -> bool:
    return all(x == y or (math.isnan(x) and math.isnan(y)) for x, y in ((a.low, b.low), (a.high, b.high)))


@pytest.mark.parametrize("sign", [0, 1])
@pytest.mark.parametrize("operator", ["+", "-", "*", "/"])
def test_arithmetic(operator: str, sign: int) -> None:
    rng = Random(operator)
    a, b = some(rng, 3000), some(rng, 3000)
    if sign:
        a, b = natural(a), natural(b)
    if operator in "+-":
        # Whether all that is added is one infinity or the other, no fact can be.
        a, b = ([Interval(max(v.low, -9.0), min(v.high, 9.0), v.system) for v in values] for values in (a, b))
    for right in (b, [b[7]] * len(a), [Interval(2.0, 2.0, "us")] * len(a)):
        taken = rows_from(right) if right is b else spans.fixed(right[0])
        found_rows = spans.arithmetic(operator, rows_from(a), taken)
        found = one_by_one(found_rows, len(a))
        for x, y, each in zip(a, right, found, strict=True):
            one = possible.arithmetic(operator, x, y)
            assert same(one, each), (x, y, one, each)
            assert one.system == each.system
            assert not found_rows.is_natural or each.low >= 0


@pytest.mark.parametrize(("operator", "seed"), list(product(["<=", "<", ">=", ">", "==", "!="], range(2))))
def test_comparisons(operator: str, seed: int) -> None:
    rng = Random(f"{operator}{seed}")
    a, b = some(rng, 2000), some(rng, 2000)
    if seed:
        a, b = natural(a), natural(b)
    assert truths(spans.compared(operator, rows_from(a), rows_from(b)), 2000) == [
        possible.compare(operator, x, y) for x, y in zip(a, b, strict=True)
    ]
    for limit in [*NUMBERS, 40.0]:
        for also in (None, limit + 1 if math.isfinite(limit) else None):
            printed = Interval(limit, limit, "us", also, None if also is None else "si")
            right = truths(spans.compared(operator, rows_from(a), spans.fixed(printed)), 2000)
            assert right == [possible.compare(operator, x, printed) for x in a]
            left = truths(spans.compared(operator, spans.fixed(printed), rows_from(a)), 2000)
            assert left == [possible.compare(operator, printed, x) for x in a]


def test_least_greatest_and_rounded() -> None:
    rng = Random(3)
    three = [some(rng, 1000) for _ in range(3)]
    for fold, one in ((spans.smallest, possible.smallest), (spans.largest, possible.largest)):
        found = one_by_one(fold([rows_from(each) for each in three]), 1000)
        for values, each in zip(zip(*three, strict=True), found, strict=True):
            whole = one(list(values))
            assert (whole.low, whole.high) == (each.low, each.high)
    for name in ("ceil", "floor"):
        found = one_by_one(spans.rounded(name, rows_from(three[0])), 1000)
        assert found == [possible.monotone(name, value) for value in three[0]]


def test_the_first_case_that_holds() -> None:
    rng = Random(5)
    cases = [([rng.choice((True, False, None)) for _ in range(500)], some(rng, 500)) for _ in range(4)]
    sides = [
        ((np.array([t is True for t in truth]), np.array([t is False for t in truth])), rows_from(values))
        for truth, values in cases
    ]
    found, none = spans.first_of(500, sides)
    for row, each in enumerate(one_by_one(found, 500)):
        open_values: list[Any] = []
        for truth, values in cases:
            if truth[row] is not False:
                open_values.append(values[row])
            if truth[row] is True:
                break
        assert bool(none[row]) is (not open_values)
        if open_values:
            hull = possible.hull(open_values)
            assert isinstance(hull, Interval)
            assert (hull.low, hull.high) == (each.low, each.high)


# --- planes -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rows", [0, 1, 63, 64, 65, 1000])
def test_bits_of_a_buffer_are_the_rows_plane(rows: int) -> None:
    rng = Random(rows)
    for first in (0, 3, 8, 64, 77):
        bits = [rng.random() < 0.5 for _ in range(first + rows + 9)]
        buffer = np.packbits(np.array(bits), bitorder="little").tobytes()
        plane = of_bits(buffer, first, rows)
        assert (plane == packed(np.array(bits[first : first + rows], dtype=np.bool_))).all()
        assert rows_of(plane, rows).tolist() == bits[first : first + rows]
        assert counts(plane[np.newaxis]).tolist() == [sum(bits[first : first + rows])]
        assert counts(every_row(rows)[np.newaxis]).tolist() == [rows]


@pytest.mark.parametrize("rows", [1, 500, 64 * 2048, 64 * 2048 * 3 + 77])
def test_rows_are_counted_in_planes_of_any_length(rows: int) -> None:
    some = np.random.default_rng(rows).random((3, rows)) < 0.9
    planes = np.array([packed(each) for each in some] + [every_row(rows), np.zeros_like(every_row(rows))])
    assert counts(planes).tolist() == [*some.sum(axis=1).tolist(), rows, 0]


def test_a_program_gives_what_its_steps_say_block_after_block() -> None:
    rng = Random(11)
    program = Program()
    leaves = [program.leaf() for _ in range(6)]
    pairs: list[Pair] = [*leaves, Pair(ONE, ZERO), Pair(ZERO, ZERO)]
    terms: list[tuple[Any, ...]] = []
    for _ in range(60):
        a, b = rng.sample(range(len(pairs)), 2)
        join = rng.choice(("and", "or", "not"))
        terms.append((join, a, b))
        pairs.append(~pairs[a] if join == "not" else getattr(program, _JOINS[join])([pairs[a], pairs[b]]))
    shown = [pairs[number] for number in range(len(pairs)) if number % 3 == 0 or number > 50]
    runner = Runner(program, {side for pair in shown for side in (pair.true, pair.false)})
    for rows in (100, 100, 37):
        told = [[rng.choice((True, False, None)) for _ in range(rows)] for _ in leaves]

        def leaf(number: int, told: list[list[bool | None]] = told) -> Any:
            return tuple(packed(np.array([each is side for each in told[number]])) for side in (True, False))

        planes = runner.run(rows, leaf)
        expected: list[list[bool | None]] = [*told, [True] * rows, [None] * rows]
        for join, a, b in terms:
            both = zip(expected[a], expected[b], strict=True)
            if join == "not":
                expected.append([possible.negate(each) for each in expected[a]])
            else:
                expected.append([(possible.every if join == "and" else possible.some)(each) for each in both])
        for pair, each in zip(pairs, expected, strict=True):
            if pair in shown:
                for side, plane in ((True, pair.true), (False, pair.false)):
                    rows_found = rows_of(planes[runner.at[plane]], rows).tolist()
                    assert rows_found == [truth is side for truth in each]


_JOINS = {"and": "every", "or": "some"}


# --- columns ------------------------------------------------------------------------------------------------


def columns(*names: str) -> Columns:
    return Columns(open_project("demo", rulebook()), "d104", rulebook().vocabulary, names)


def stated(made: Columns, data: Any, name: str, rows: int) -> list[object]:
    block = made.block(data, rows)
    key = made.by_name[name].key
    found = [made.value(key, block, row) for row in range(rows)]
    return [value if known else None for known, value in found]


@pytest.mark.parametrize("first", [0, 1, 5, 64, 70])
def test_a_slice_of_arrow_arrays_is_read_as_its_values(first: int) -> None:
    rng = Random(first)
    names = ("building.fire_alarm", "fire_rating", "clear_width [in]", "building.sprinklers")
    made = columns(*names)
    many = 200
    flags = [rng.choice((True, False, None)) for _ in range(many)]
    texts = [rng.choice(("nfpa-13-throughout", "none", "", None)) for _ in range(many)]
    numbers = [rng.choice((32.0, 36.5, math.nan, None)) for _ in range(many)]
    ratings = [rng.choice(("20 min", None)) for _ in range(many)]
    batch = pa.record_batch(
        [pa.array(flags), pa.array(ratings).dictionary_encode(), pa.array(numbers), pa.array(texts)], names=list(names)
    ).slice(first)
    rows = many - first
    data = prepared(made, batch)
    as_lists = {
        names[0]: flags[first:],
        names[1]: ratings[first:],
        names[2]: [math.nan if each is None else each for each in numbers[first:]],
        names[3]: texts[first:],
    }
    for name in names:
        assert stated(made, data, name, rows) == stated(made, as_lists, name, rows)
        column, block, other = made.by_name[name], made.block(data, rows), made.block(as_lists, rows)
        for code in range(len(column.values)) if column.scale is None else ():
            assert (block.plane(column.key, code) == other.plane(column.key, code)).all()
            chosen = np.flatnonzero(rows_of(block.plane(column.key, code), rows))
            assert (block.array(column.key)[chosen] == code).all()
        if column.scale is not None:
            for last in (31.0, 32.0, 36.0, 40.0):
                up = rows_of(block.plain(column.key).up_to(last), rows)
                beyond = rows_of(block.plain(column.key).beyond(last), rows)
                blank = rows_of(block.plain(column.key).blank, rows)
                given = [math.nan if each is None else each for each in numbers[first:]]
                assert up.tolist() == [each <= last for each in given]
                assert beyond.tolist() == [each > last for each in given]
                assert blank.tolist() == [math.isnan(each) for each in given]


def test_what_stands_under_a_blank_is_no_value() -> None:
    """Arrow says nothing of it: it may be out of range, or no place of the dictionary."""
    valid = pa.array([True, False, True, False]).buffers()[1]
    width = pa.Array.from_buffers(pa.float64(), 4, [valid, pa.py_buffer(np.array([32.0, -5.0, 36.0, math.inf]))])
    places = pa.Array.from_buffers(pa.int32(), 4, [valid, pa.py_buffer(np.array([0, 99, 1, -7], dtype=np.int32))])
    kinds = pa.DictionaryArray.from_arrays(places, pa.array(["none", "nfpa-13-throughout"]), safe=False)
    made = columns("clear_width [in]", "building.sprinklers")
    data = {"clear_width [in]": width, "building.sprinklers": kinds}
    wide = stated(made, data, "clear_width [in]", 4)
    assert [each is None for each in wide] == [False, True, False, True]
    assert [each is None for each in stated(made, data, "building.sprinklers", 4)] == [False, True, False, True]
    broken = pa.Array.from_buffers(pa.float64(), 4, [None, width.buffers()[1]])
    with pytest.raises(ClausewayError, match="-5 for"):
        made.block({**data, "clear_width [in]": broken}, 4)


def test_numbers_of_a_column_are_numbered_over_blocks() -> None:
    made = columns("clear_width [in]")
    key = made.by_name["clear_width [in]"].key
    assert key[0] == member_path("", "openings", "d104")
    for values in ([32.0, 36.0, math.nan], [36.0, 32.0, 32.0], [20.0, math.nan, 36.0], [32.0, 20.0, 36.0]):
        block = made.block({"clear_width [in]": values}, 3)
        at, many, _ = block.numbered(key)
        array = block.array(key)
        assert at.max() < many
        for a, b in product(range(3), repeat=2):
            alike = array[a] == array[b] or (np.isnan(array[a]) and np.isnan(array[b]))
            assert (at[a] == at[b]) == alike


def test_a_lookup_by_a_range_is_that_of_each_number(tmp_path: Path) -> None:
    rules = copy_rules(tmp_path / "rules", (*IBC, "fire-doors", "fire-door-rating", "opening-ratings"))
    book = resolve(load([], shipped=rules), ("ibc@2021",))
    project = open_project("demo", book)
    columns = Columns(project, "d104", book.vocabulary, ["wall_fire_rating [min]", "wall_kind"])
    numbers = Terms(Decider(book, alone(project, "d104", columns.all, book)), columns, Program(), []).numbers
    opening = numbers.decider.project.things["openings/d104"]
    node, env = next(
        (node, bound.env)
        for _, condition, bound in conditions_on(numbers.decider, opening)
        for node in core.walk(condition.truth)
        if isinstance(node, core.Lookup) and node.table == "ibc.opening-ratings"
    )
    table = numbers._of(node, env)
    assert isinstance(table, Tabled)
    ((ends),) = table.ends.values()
    assert len(ends) > 2
    kinds = sorted(book.vocabulary.lists[columns.by_name["wall_kind"].fact.values].leaves)
    most = columns.by_name["wall_fire_rating [min]"].fact.high
    near = [each for end in ends for each in (end, math.nextafter(end, math.inf), end + 1) if each < most]
    walls = [None, 0.0, *(each / 60 for each in near), most / 60]
    ways = list(product(walls, [*kinds, None]))
    data = {"wall_fire_rating [min]": [way[0] for way in ways], "wall_kind": [way[1] for way in ways]}
    # A table of the first kinds of walls is none of them all.
    table(columns.block({name: values[:3] for name, values in data.items()}, 3))
    block = columns.block(data, len(ways))
    quick, plain = table(block), table.find(block)
    for a, b in ((quick.low, plain.low), (quick.high, plain.high), (quick.system, plain.system)):
        assert np.array_equal(a, b)
    assert len({*quick.low.tolist()}) > 3
    for (wall, kind), low, high in zip(ways, quick.low.tolist(), quick.high.tolist(), strict=True):
        stated = {("openings/d104", "wall_fire_rating"): wall, ("openings/d104", "wall_kind"): kind}
        values = {key: columns.value(key, block, ways.index((wall, kind))) for key in stated}
        one = numbers.decider.trying({key: value for key, (known, value) in values.items() if known}, False)
        value, _ = one.value(node, env)
        assert isinstance(value, Interval)
        assert (value.low, value.high) == (low, high)


@pytest.mark.parametrize("many", [3, 254, 255, 256, 700])
def test_a_lookup_by_many_ranges_finds_each(many: int) -> None:
    made = columns("clear_width [in]")
    key = made.by_name["clear_width [in]"].key

    def find(block: Block) -> Spans:
        numbers = block.plain(key).filled(-1.0)
        return Spans(numbers, numbers, np.zeros(block.rows, np.uint8))

    table = Tabled(find, made, frozenset((key,)), {key: [float(end) for end in range(many)]})
    numbers = np.array([*range(many), *(end - 0.5 for end in range(many)), many + 7.0, math.nan])
    stated = packed(numbers == numbers)
    found = table(Block(len(numbers), {key: Plain(len(numbers), numbers, stated, 1.0, 0.0)}))
    last = math.nextafter(many - 1.0, math.inf)
    assert found.low.tolist() == [*map(float, range(many)), *map(float, range(many)), last, -1.0]


@pytest.mark.parametrize("seed", range(30))
def test_what_a_program_leaves_out_changes_no_row(seed: int) -> None:
    rng, rows = Random(seed), 4 ** (leaves := 3 + seed % 3)
    # Every way in which leaves can be true, false or neither stands in some row.
    ways = np.array(list(product((0, 1, 2, 2), repeat=leaves)))
    sides = [(packed(ways[:, leaf] == 1), packed(ways[:, leaf] == 0)) for leaf in range(leaves)]
    program = Program()
    planes: dict[int, Any] = {ZERO: np.zeros_like(every_row(rows)), ONE: every_row(rows)}
    for true, false in sides:
        pair = program.leaf()
        planes |= {pair.true: true, pair.false: false}
    for _ in range(300):
        a, b = rng.choice(list(planes)), rng.choice(list(planes))
        kind = rng.choice("&&&|||~")
        if kind == "&":
            made, right = program.both(a, b), planes[a] & planes[b]
        elif kind == "|":
            made, right = program.either(a, b), planes[a] | planes[b]
        else:
            made, right = program.other(a), every_row(rows) & ~planes[a]
        if made in planes:
            assert np.array_equal(planes[made], right), (kind, a, b, made)
        else:
            planes[made] = right
    runner = Runner(program, planes)
    found = runner.run(rows, lambda leaf: sides[leaf])
    for number, plane in planes.items():
        assert np.array_equal(found[runner.at[number]], plane)
    assert len(program.steps) < 2 + 2 * leaves + 300
