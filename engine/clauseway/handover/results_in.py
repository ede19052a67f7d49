"""Reading a filled-in acceptance test: YAML or JSON of step ids and values, or the CSV of `handover --format csv`."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node, read_yaml

COLUMNS = ("opening", "step", "phase", "what", "how", "instrument", "read_to", "accepted", "value", "by", "note")
"""The columns of a form; those that are read back are opening, step, value, by and note."""

_READ = ("step", "value")
_KEYS = ("value", "by", "note")
_MOST_BYTES = 4_000_000
_NOTHING = ("", "unknown", "?", "not measured")


@dataclass(frozen=True, slots=True)
class Result:
    """One filled-in line: what was measured at a step, by whom; `value` is as typed, several with commas between."""

    step: str
    value: str
    by: str
    note: str
    place: Place


@dataclass(frozen=True, slots=True)
class Results:
    """The filled-in lines of one opening; those left blank are not among them."""

    opening: str
    lines: tuple[Result, ...]


def read_results(path: Path) -> Results:
    """The results in a file; its ending tells its form.

    Raises:
        ClausewayError: for a file that cannot be read or does not say of which opening it is.
    """
    opening, lines = _from_csv(path) if path.suffix.casefold() == ".csv" else _from_yaml(read_yaml(path))
    seen: dict[str, Place] = {}
    problems = []
    for line in lines:
        if line.step in seen:
            problems.append(
                Problem(line.place, f"{line.step} stands here twice", f"one value; the other is at {seen[line.step]}")
            )
        seen[line.step] = line.place
    if problems:
        raise ClausewayError(problems)
    return Results(opening, tuple(line for line in lines if line.value.casefold() not in _NOTHING))


# --- YAML -----------------------------------------------------------------------------------------------


def _from_yaml(node: Node) -> tuple[str, list[Result]]:
    if not node.is_map:
        raise ClausewayError(Problem(node.place, node.kind, "opening: and results:"))
    known = ("opening", "results")
    problems = [_unknown(inner, key, known) for key, inner in node.items() if key not in known]
    opening, results = node.get("opening"), node.get("results")
    if opening is None or not opening.text:
        problems.append(Problem(node.place, "it is not said which opening was tested", "opening: and its name"))
    if results is None or not results.is_map:
        problems.append(Problem(node.place, "there are no results", "results: a map from step ids to values"))
    if problems or opening is None or results is None:
        raise ClausewayError(problems)
    lines = []
    for step, inner in results.items():
        try:
            lines.append(_line(step, inner))
        except ClausewayError as error:
            problems.extend(error.problems)
    if problems:
        raise ClausewayError(problems)
    return opening.text or "", lines


def _line(step: str, node: Node) -> Result:
    if not node.is_map:
        return Result(step, _text(node), "", "", node.place)
    problems = [_unknown(inner, key, _KEYS) for key, inner in node.items() if key not in _KEYS]
    if problems:
        raise ClausewayError(problems)
    value, by, note = (node.get(key) for key in _KEYS)
    place = value.place if value is not None else node.place
    said, who, noted = (_text(each) if each is not None else "" for each in (value, by, note))
    return Result(step, said, who, noted, place)


def _text(node: Node) -> str:
    if node.is_list:
        return ", ".join(_text(element) for element in node.elements())
    if node.is_map:
        raise ClausewayError(Problem(node.place, node.kind, "a value, or a list of values"))
    return (node.text or "").strip()


def _unknown(node: Node, key: str, known: tuple[str, ...]) -> Problem:
    return Problem(node.key_place or node.place, f"a result has no {key}", one_of(known), nearest(key, known) or "")


# --- CSV ------------------------------------------------------------------------------------------------


def _from_csv(path: Path) -> tuple[str, list[Result]]:
    rows = list(_rows(path))
    file = str(path)
    header = [name.strip().casefold() for name in rows[0][1]] if rows else []
    missing = [name for name in _READ if name not in header]
    if missing:
        raise ClausewayError(Problem(Place(file, 1, 1), f"no column {missing[0]}", one_of(COLUMNS, 20)))
    for name in header:
        if name not in COLUMNS:
            raise ClausewayError(
                Problem(
                    Place(file, 1, 1),
                    f"a column {name or 'without a name'}",
                    one_of(COLUMNS, 20),
                    nearest(name, COLUMNS) or "",
                )
            )
        if header.count(name) > 1:
            raise ClausewayError(Problem(Place(file, 1, 1), f"two columns {name}", "one"))
    lines, openings = [], dict[str, int]()
    for number, row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(header):
            raise ClausewayError(
                Problem(Place(file, number, 1), f"{len(row)} cells", f"{len(header)}, as in the header")
            )
        cells = dict(zip(header, (cell.strip() for cell in row), strict=True))
        openings.setdefault(cells.get("opening", ""), number)
        lines.append(
            Result(cells["step"], cells["value"], cells.get("by", ""), cells.get("note", ""), Place(file, number, 1))
        )
    if len(openings) != 1 or "" in openings:
        raise ClausewayError(
            Problem(
                Place(file, max(openings.values(), default=1), 1),
                "lines of no opening, or of several",
                "a column opening with one name",
            )
        )
    return next(iter(openings)), lines


def _rows(path: Path) -> Iterator[tuple[int, list[str]]]:
    file = str(path)
    try:
        with path.open("rb") as stream:
            data = stream.read(_MOST_BYTES + 1)
        text = data.decode("utf-8-sig")
    except OSError as error:
        raise ClausewayError(Problem(Place(file), f"this file cannot be read: {error.strerror}")) from None
    except UnicodeDecodeError:
        raise ClausewayError(Problem(Place(file), "this file is no text in UTF-8", "a CSV file in UTF-8")) from None
    if len(data) > _MOST_BYTES:
        raise ClausewayError(Problem(Place(file), "this file is too large", f"at most {_MOST_BYTES} bytes"))
    first = text.partition("\n")[0]
    reader = csv.reader(
        io.StringIO(text, newline=""), delimiter=";" if ";" in first and "," not in first else ",", strict=True
    )
    try:
        for row in reader:
            yield reader.line_num, row
    except csv.Error as error:
        raise ClausewayError(Problem(Place(file, reader.line_num, 1), f"this is no CSV: {error}")) from None
