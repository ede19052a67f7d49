"""`clauseway compute` from end to end: published values, both unit systems, ranges, plots and refusals."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from clauseway.answers.compute_input import example_of, read_values
from clauseway.compute.description import Computation
from clauseway.compute.registry import computation_named, computations
from clauseway.compute.units import UNITS, from_si, label, to_si
from clauseway_cli.app import main

DATA = Path(__file__).parents[1] / "compute" / "data"
SVG = "{http://www.w3.org/2000/svg}"
DROP = ("compute", "wire.voltage-drop", "current=0.5A", "gauge=18")


class Answer(NamedTuple):
    status: int
    out: str
    err: str


Run = Callable[..., Answer]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Run the command line in an empty folder."""
    monkeypatch.chdir(tmp_path)

    def running(*arguments: str) -> Answer:
        monkeypatch.setattr("sys.argv", ["clauseway", *arguments])
        with pytest.raises(SystemExit) as stopped:
            main()
        printed = capsys.readouterr()
        assert isinstance(stopped.value.code, int)
        return Answer(stopped.value.code, printed.out, printed.err)

    return running


def answered(run: Run, *arguments: str) -> str:
    status, out, err = run(*arguments)
    assert (status, err) == (0, "")
    assert all(len(line) <= 80 for line in out.splitlines())
    return out


def record_of(run: Run, *arguments: str) -> Any:
    return json.loads(run(*arguments, "--format", "json").out)


def refused(run: Run, *arguments: str) -> str:
    status, out, err = run(*arguments)
    assert (status, out) == (2, "")
    assert "Traceback" not in err
    assert not list(Path.cwd().iterdir())
    return err


# ------------------------------------------------------------------------------------- published values


def plain_calls() -> list[Any]:
    """Published values that are one call with numbers a person could type."""
    found = []
    for name in ("checks.yaml", "worked.yaml"):
        for check in yaml.safe_load((DATA / name).read_text(encoding="utf-8")):
            call = check.get("compute") or {}
            typed = [value for given in call.values() for value in given.values()]
            typed = [member for value in typed for member in (value if isinstance(value, list) else [value])]
            if (
                call
                and all(isinstance(value, str) for value in typed)
                and not {"over", "minus", "apart_from"} & {*check}
            ):
                found.append(pytest.param(check, id=check["id"]))
    return found


def as_typed(value: str | list[str]) -> str:
    """A quantity of the data as a person types it: plain numbers and switches have no unit."""
    if isinstance(value, list):
        return ", ".join(as_typed(member) for member in value)
    number, _, unit = value.partition(" ")
    return f"{number} {label(unit)}".strip()


@pytest.mark.parametrize("check", plain_calls())
def test_published_values(run: Run, check: dict[str, Any]) -> None:
    ((name, given),) = check["compute"].items()
    words = [f"{argument}={as_typed(value)}" for argument, value in given.items()]
    result = record_of(run, "compute", name, *words)["result"]
    number, _, unit = check["expect"].partition(" ")
    expected = float(number)
    assert result["low"] == result["high"]
    ours = from_si(result["low"], unit)
    within = float(check["within"].partition(" ")[0]) if "within" in check else 0.0
    assert math.isclose(ours, expected, rel_tol=check.get("relative", 1e-3), abs_tol=within)


def test_enough_published_values_are_plain_calls() -> None:
    assert len(plain_calls()) > 100


# ------------------------------------------------------------------------------------------- the sheet


def test_the_sheet_says_all_that_a_calculation_sheet_says(run: Run) -> None:
    out = answered(run, *DROP, "length=150 ft")
    assert "ΔV = 2·L·I·R'(A, T, s)" in out
    assert "= 2·45.72 m·0.5 A·R'(" in out
    assert "45.72 m (150 ft)" in out
    assert "0.823 mm² (1.624 kcmil), 18 AWG" in out
    assert "default: 20 °C, common practice for lock wiring" in out
    assert "voltage drop  ΔV = 0.9577 V" in out
    for heading in ("Formula", "Numbers put in", "Result", "Where sources differ", "Assumptions", "Sources", "Caution"):
        assert f"\n{heading}\n" in out
    assert "Engineering, not code" in out


def test_each_reading_of_a_disagreement_has_its_result(run: Run) -> None:
    out = answered(run, "compute", "egress.passing-time", "occupants=100 people", "clear_width=32 in")
    assert ": 150 s [" in out
    assert ": 94.64 s [" in out


@pytest.mark.parametrize("gauge", ["gauge=18", "gauge=18 AWG", "gauge=#18", "area=18 AWG", "area=AWG 18", "A=18awg",
                                   "area=18 ga", "area=0.823047 mm2", "AREA=1.62431 kcmil"])  # fmt: skip
def test_a_conductor_in_any_notation(run: Run, gauge: str) -> None:
    result = record_of(run, "compute", "wire.voltage-drop", "length=150'", "current=500 mA", gauge)["result"]
    assert result["low"] == pytest.approx(0.95767, rel=1e-4)


@pytest.mark.parametrize(("typed", "gauge"), [("1/0 AWG", 0.0), ("0 AWG", 0.0), ("4/0", -3.0), ("0000", -3.0),
                                              ("2/0 awg", -1.0), ("12", 12.0)])  # fmt: skip
def test_thick_gauges(typed: str, gauge: float) -> None:
    assert read_values(computation_named("wire.gauge-area"), [f"gauge={typed}"])["gauge"].value == gauge


@pytest.mark.parametrize(
    ("name", "word", "value"),
    [
        ("wire.voltage-drop", "temperature=68 °F", 293.15),
        ("egress.occupant-load", "area_per_person=15 sq ft per person", 15 * 0.3048**2),
        ("egress.occupant-load", "area-per-person=15 ft2/occupant", 15 * 0.3048**2),
        ("egress.occupant-load", "rounding=no", 0.0),
        ("wire.longest-run", "drop_share=5 %", 0.05),
        ("wire.longest-run", "drop_share=0.05", 0.05),
        ("magnetics.holding-force", "flux_density=12000 gauss", 1.2),
        ("wire.drop-from-resistance", "resistance_per_length=6.385 ohms/1000 ft", 6.385e-3 / 0.3048),
        ("release.current-at", "inductance=500 mH", 0.5),
        ("battery.capacity", "margin=125 %", 1.25),
        ("battery.capacity", "standby_time=?", None),
    ],
)
def test_usual_notations(name: str, word: str, value: float | None) -> None:
    record = computation_named(name)
    argument = word.partition("=")[0].replace("-", "_")
    others = [
        f"{one.name}={example_of(one)}" for one in record.arguments if one.default is None and one.name != argument
    ]
    found = read_values(record, [word, *others])[argument].value
    assert found == (pytest.approx(value) if value is not None else None)


def test_lists(run: Run) -> None:
    words = ("segment_lengths=50, 30, 20 ft", "currents=0.5, 0.5, 0.3 A", "gauge=18")
    result = record_of(run, "compute", "wire.chain-drop", *words)
    assert result["inputs"][0]["value"] == pytest.approx([15.24, 9.144, 6.096])


@pytest.mark.parametrize("record", computations().values(), ids=lambda record: record.name)
def test_every_computation_answers_its_own_example(run: Run, record: Computation) -> None:
    words = [f"{one.name}={example_of(one)}" for one in record.arguments if one.default is None]
    out = answered(run, "compute", record.name, *words)
    assert "\nResult\n" in out
    assert record_of(run, "compute", record.name, *words)["computation"] == record.name


@pytest.mark.parametrize("record", computations().values(), ids=lambda record: record.name)
def test_every_unit_shown_can_be_typed(record: Computation) -> None:
    for argument in record.arguments:
        for unit in argument.units:
            counted = argument.whole or argument.dimension == "count"
            middle = argument.low if counted else (argument.low + argument.high) / 2
            shown = f"{from_si(middle, unit):.10g} {label(unit)}".strip()
            others = [f"{o.name}={example_of(o)}" for o in record.arguments if o.default is None and o != argument]
            found = read_values(record, [f"{argument.name}={shown}", *others])[argument.name].value
            if argument.many:
                assert isinstance(found, list)
                found = found[0]
            assert found == pytest.approx(middle, rel=1e-8)
            assert UNITS[unit].dimension == argument.dimension


# --------------------------------------------------------------------------------- ranges, tables, plots


def test_a_range_gives_a_small_table(run: Run) -> None:
    out = answered(run, *DROP, "length=50..150 ft")
    assert "ΔV: 0.3192 V to 0.9577 V" in out
    assert "  33.53 m  110 ft  0.7023 V" in out
    table = record_of(run, *DROP, "length=50..150 ft")["table"]
    assert [round(row["value"] / 0.3048) for row in table["rows"]] == [50, 70, 90, 110, 130, 150]
    assert all(row["low"] == row["high"] for row in table["rows"])


@pytest.mark.parametrize("typed", ["1..2 m", "0.3..0.47 km", "17 ft to 91 ft", "10 mm..20 m", "1..1.7 m"])
def test_tables_have_five_to_nine_rows(run: Run, typed: str) -> None:
    assert 5 <= len(record_of(run, *DROP, f"length={typed}")["table"]["rows"]) <= 9


def test_two_ranges_and_unknowns_give_ranges(run: Run) -> None:
    words = ("compute", "wire.voltage-drop", "current=0.4..0.6 A", "gauge=18", "length=50..150 ft")
    assert "0.7662 V to 1.149 V" in answered(run, *words)
    assert "unknown" in answered(run, *DROP, "length=?")


def test_a_range_of_gauges(run: Run) -> None:
    table = record_of(run, "compute", "wire.voltage-drop", "current=0.5A", "gauge=22..14", "length=150 ft")["table"]
    assert [row["gauge"] for row in table["rows"]] == [22, 20, 18, 16, 14]


def test_a_range_that_leaves_the_model_says_so(run: Run) -> None:
    words = ("ampere_turns=200 A-turn", "core_length=120 mm", "pole_area=52.4 cm2", "gap=0.1..10 mm")
    out = answered(run, "compute", "magnetics.force-at-gap", *words)
    assert "no result" in out
    assert "open: gap: may lie outside 0 mm to 3 mm" in out


PLOTS = [
    (*DROP, "length=50..150 ft"),
    (*DROP, "length=150 ft"),
    ("compute", "wire.voltage-drop", "current=0.4..0.6 A", "gauge=18", "length=50..150 ft"),
    ("compute", "wire.voltage-drop", "current=0.5 A", "gauge=22..14", "length=150 ft"),
    ("compute", "magnetics.force-at-gap", "ampere_turns=200 A-turn", "core_length=120 mm", "pole_area=52.4 cm2",
     "gap=0.01..1 mm"),
    ("compute", "release.current-at", "initial_current=0.5A", "inductance=3.6 H", "resistance=48 ohm",
     "clamp_voltage=0.7 V", "time=0..300 ms"),
]  # fmt: skip


@pytest.mark.parametrize("words", PLOTS)
def test_plots_have_a_line_ticks_and_units_and_are_the_same_each_time(run: Run, words: tuple[str, ...]) -> None:
    run(*words, "--plot", "one.svg")
    run(*words, "--plot", "two.svg", "--format", "json")
    assert Path("one.svg").read_bytes() == Path("two.svg").read_bytes()
    root = ET.parse("one.svg").getroot()
    assert root.findall(f"{SVG}polyline")
    width, height = float(root.get("width", "")), float(root.get("height", ""))
    for line in root.findall(f"{SVG}polyline"):
        points = [tuple(map(float, point.split(","))) for point in line.get("points", "").split()]
        assert all(0 < x < width and 0 < y < height for x, y in points)
    texts = [text.text or "" for text in root.findall(f"{SVG}text")]
    assert len(texts) > 10
    assert any(text.endswith((", V", ", N", ", A")) for text in texts)


def test_plots_overwrite_nothing(run: Run) -> None:
    Path("old.svg").write_text("kept", encoding="utf-8")
    status, out, err = run(*DROP, "length=50..150 ft", "--plot", "old.svg")
    assert (status, out) == (2, "")
    assert "exists already" in err
    assert Path("old.svg").read_text(encoding="utf-8") == "kept"


# -------------------------------------------------------------------------------------------- the list


def test_the_list_and_its_search(run: Run) -> None:
    assert all(name in answered(run, "compute") for name in computations())
    out = answered(run, "compute", "wire")
    assert "wire.voltage-drop" in out
    assert "battery.capacity" not in out
    assert record_of(run, "compute", "occupant")[0]["name"].startswith("egress.")
    assert "Voltage drop of a pair" in answered(run, "compute", "voltage-drop", *DROP[2:], "length=1 m")


# ------------------------------------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("current=0.5V", "length=1 m", "gauge=18"), "current: `0.5V` is a voltage"),
        (("current=0.5A", "length=0 m", "gauge=18"), "length: `0 m` is less than it can be"),
        (("current=0.5A", "length=-5 ft", "gauge=18"), "length: `-5 ft` is less than it can be"),
        (("current=0.5A", "length=-5..5 ft", "gauge=18"), "length: `-5..5 ft` is less than it can be"),
        (("current=0.5A", "length=9..5 ft", "gauge=18"), "runs backwards"),
        (("current=0.5A", "length=1..2..3 ft", "gauge=18"), "is not a range"),
        (("current=0.5A", "length=..", "gauge=18"), "is not a range"),
        (("current=0.5A", "length=", "gauge=18"), "no quantity is given"),
        (("current=0.5A", "length=5", "gauge=18"), "`5` has no unit"),
        (("current=nan A", "length=5 m", "gauge=18"), "`nan A` does not begin with a number"),
        (("current=1e99 A", "length=5 m", "gauge=18"), "current: `1e99 A` is more than it can be here"),
        (("current=0.5A", "length=5 m", "gauge=99"), "there is no gauge `99`"),
        (("current=0.5A", "length=5 m", "area=17.5 AWG"), "there is no gauge"),
        (("current=0.5A", "length=5 m", "area=18"), "18 AWG, or an area such as"),
        (("current=0.5A", "length=5 m", "gauge=thick"), "does not begin with a number"),
        (("current=0.5A", "length=5 m", "gauge=18", "area=20 AWG"), "area is given twice"),
        (("current=0.5A", "lenght=5 m", "gauge=18"), "did you mean: length?"),
        (("current=0.5A", "length=5", "m", "gauge=18"), "quotes around a value with a space"),
        (("current=0.5A",), "2 values are missing"),
        ((), 'length="100 ft" current="0.5 A" area="18 AWG"'),
    ],
)
def test_refusals(run: Run, words: tuple[str, ...], message: str) -> None:
    assert message in refused(run, "compute", "wire.voltage-drop", *words)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("wire.voltage-drp",), "did you mean: wire.voltage-drop?"),
        (("wire.voltage-drp", "length=5 m"), "did you mean: wire.voltage-drop?"),
        (("length=5 m",), "comes before the name"),
        (("wire", "--plot", "a.svg"), "without a computation"),
        (("wire.voltage-drop", "--plot", "a.png"), "ends in .svg"),
        (("capacity", "clear_width=32 in"), "one of battery.capacity, egress.capacity"),
        (("supply.standing-current", "currents=1, 2 A", "--plot", "a.svg"), "nothing to plot over"),
        (("supply.standing-current", "currents=1 A,, 2 A"), "no quantity is given"),
        (("release.current-at", "inductance=5 V"), "is a voltage"),
        (("release.current-at", "inductance=5 furlongs"), "is not a unit of an inductance"),
        (("egress.occupant-load", "rounding=maybe"), "neither 1 nor 0"),
        (("magnetics.force-at-gap", "gap=10 mm"), "more than the formula holds for: beyond it the flux spreads"),
        (("wire.voltage-at-lock", "supply_voltage=12 V", "length=9 km", "current=50 A", "gauge=22"),
         "more than the whole supply voltage"),
    ],
)  # fmt: skip
def test_more_refusals(run: Run, words: tuple[str, ...], message: str) -> None:
    assert message in refused(run, "compute", *words)


@pytest.mark.parametrize("junk", ["", "=", "..", "1..", "[", ",", "1/0", "1:0", "∞", "½", "1e400 ft", "a=b", "'", "0x1",
                                  "1..2", "? ..?", "?..?", "1 ft..?", "-", "1,2 ft", "9" * 400])  # fmt: skip
@pytest.mark.parametrize("record", list(computations().values())[::6], ids=lambda record: record.name)
def test_no_junk_ends_in_a_traceback(run: Run, record: Computation, junk: str) -> None:
    for argument in record.arguments:
        words = [f"{o.name}={example_of(o)}" for o in record.arguments if o.default is None and o != argument]
        assert run("compute", record.name, *words, f"{argument.name}={junk}").status in (0, 2)


def test_temperatures_are_not_shifted_twice() -> None:
    puts = read_values(computation_named("battery.temperature-factor"), ["temperature=20 °C"])
    assert puts["temperature"].value == pytest.approx(to_si(20.0, "°C"))
