"""A first mapping for a schedule, with a confidence for each column; it counts when a person has confirmed it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from importlib.resources import files
from typing import Any

from clauseway.model.vocabulary import OWNS, Kind, Vocabulary
from clauseway.text.problems import ClausewayError
from clauseway.text.source import node_from_data, parse_yaml
from clauseway_schedules.cell_value import CellTrouble, values_of
from clauseway_schedules.headings import headings_of
from clauseway_schedules.mapping import BUILDING, IGNORE, LIKE, SCHEMA, Column
from clauseway_schedules.sheet import Sheet, Workbook, turned
from clauseway_schedules.targets import Target, target

_MOST_SAMPLES = 200
_HEADINGS_WITHIN = 15
_ENOUGH = 2
"""Usual headings that make a second row of headings."""
_SURE = 0.9
_UNIT_IN_HEADING = re.compile(
    r"\((mm|cm|m|in|inches|ft|ft-in|min|mins|minutes|hr|h|hours|lbf|n|v|a|ma|m2|ft2|sf|s|sec)\)|\b(mm)\b", re.I
)
_UNITS = {"inches": "in", "mins": "min", "minutes": "min", "hr": "h", "hours": "h", "n": "N", "v": "V", "a": "A",
          "ma": "mA", "sf": "ft2", "sec": "s"}  # fmt: skip
_NUMBER = re.compile(r"[0-9]+(?:[.][0-9]+)?")
_LETTERS = re.compile(r" \(column [A-Z]+\)$")


@dataclass(frozen=True, slots=True)
class Proposal:
    """What one column may mean: `confidence` from 0 to 1 is the likeness of its heading times the share of its cells
    that are understood that way; `open_words` are cells that are not, the most frequent first."""

    heading: str
    to: tuple[str, ...]
    unit: str
    values: tuple[tuple[str, str], ...]
    confidence: float
    open_words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetProposal:
    """What one sheet may mean: its heading rows, the column that names its rows, rows that look like no door; `turned`
    where these are columns."""

    sheet: str
    describes: str
    headings: tuple[int, ...]
    name: str
    skip: tuple[int, ...]
    columns: tuple[Proposal, ...]
    turned: bool = False


def propose(book: Workbook, vocabulary: Vocabulary) -> tuple[SheetProposal, ...]:
    """A proposal for each sheet that looks like a list of doors or rooms, or that tells of the building."""
    known = _known()
    found = []
    for sheet in book.sheets:
        best = max((_proposed(sheet, thing, known, vocabulary) for thing in ("openings", "rooms")), key=_worth)
        if _worth(best) > 0:
            found.append(best)
        elif (of_building := _of_building(sheet, known, vocabulary)) is not None:
            found.append(of_building)
    return tuple(found)


def _worth(proposal: SheetProposal) -> float:
    used = [column.confidence for column in proposal.columns if column.to and column.to != (IGNORE,)]
    doors = any(column.to[0].startswith(("leaves", "locks", "fire")) for column in proposal.columns if column.to)
    return (sum(used) + (0.5 if doors else 0)) if proposal.name and used else 0.0


def _known() -> dict[str, Any]:
    """What columns are usually called; facts that fill several targets are keys with commas."""
    name = "headings.yaml"
    plain = parse_yaml(files("clauseway_schedules").joinpath(name).read_text(encoding="utf-8"), name).plain()
    assert isinstance(plain, dict)
    return plain


def _proposed(sheet: Sheet, describes: str, known: dict[str, Any], vocabulary: Vocabulary) -> SheetProposal:
    terms = known[describes]
    rows = _heading_rows(sheet, terms)
    headings = headings_of(sheet, rows)
    building = vocabulary.kinds["building"].relations
    assert building[describes].form == OWNS
    kind = vocabulary.kinds[building[describes].kind]
    scores = {column: _likeness(heading, terms["name"]) for column, heading in headings.items()}
    best = max(scores.values(), default=0.0)
    name_column = next((column for column, score in scores.items() if score == best), 0) if best >= 0.6 else 0
    body = [row for row in range(max(rows) + 1, sheet.rows + 1) if not sheet.row_is_blank(row)]
    skip = tuple(row for row in body if _is_band(sheet, row))
    taken: set[tuple[str, ...]] = set()
    columns = []
    ranked = sorted(headings.items(), key=lambda item: (-_best_term(item[1], terms["columns"])[1], item[0]))
    for column, heading in ranked:
        if column == name_column:
            continue
        cells = [sheet.at(row, column).text for row in body if row not in skip]
        proposal = _column(heading, cells, kind, terms["columns"], known["words"], vocabulary)
        if proposal.to != (IGNORE,) and proposal.to in taken:
            proposal = replace(proposal, to=(), confidence=0.0)
        taken.add(proposal.to)
        columns.append((column, proposal))
    named = {to for _, proposal in columns for to in proposal.to}
    columns = [(at, each if _can_stand(each, named) else replace(each, to=(), confidence=0.0)) for at, each in columns]
    return SheetProposal(
        sheet.name, describes, rows, headings.get(name_column, ""), skip, tuple(each for _, each in sorted(columns))
    )


def _can_stand(proposal: Proposal, named: set[str]) -> bool:
    """Whether a column that speaks of what a row refers to has a column beside it that says what that is."""
    paths = [to.rpartition(".")[0] for to in proposal.to]
    return all("." not in path or path in named for path in paths)


def _of_building(sheet: Sheet, known: dict[str, Any], vocabulary: Vocabulary) -> SheetProposal | None:
    """What a sheet tells of the building, where what is asked stands in its first column; none for little."""
    side = turned(sheet)
    terms = known[BUILDING]
    headings = headings_of(side, (1,))
    kind = vocabulary.kinds[BUILDING]
    columns = []
    for column, heading in headings.items():
        text = side.at(2, column).text
        said = _column(heading, [text], kind, terms["columns"], known["words"], vocabulary)
        columns.append(said if text else Proposal(heading, (IGNORE,), "", (), 1.0, ()))
    recognised = [each for each in columns if each.to not in ((), (IGNORE,)) and each.confidence >= _SURE]
    if len(recognised) < _ENOUGH:
        return None
    skip = tuple(row for row in range(3, side.rows + 1) if not side.row_is_blank(row))
    return SheetProposal(sheet.name, BUILDING, (1,), "", skip, tuple(columns), turned=True)


def _heading_rows(sheet: Sheet, terms: dict[str, Any]) -> tuple[int, ...]:
    """The row that looks most like headings, and the rows above and below it that look like headings as well."""
    words = [word for group in (terms["name"], *terms["columns"].values()) for word in group]

    def score(row: int) -> int:
        texts = [sheet.at(row, column).text for column in range(1, sheet.columns + 1)]
        return sum(1 for text in texts if text and _likeness(text, words) >= 0.9)

    scores = {row: score(row) for row in range(1, min(sheet.rows, _HEADINGS_WITHIN) + 1)}
    best = max(scores, key=lambda row: (scores[row], -row))
    return tuple(row for row in (best - 1, best, best + 1) if row == best or scores.get(row, 0) >= _ENOUGH)


def _is_band(sheet: Sheet, row: int) -> bool:
    """A row that shows one text only, such as the name of a storey."""
    own = {sheet.at(row, column).text for column in range(1, sheet.columns + 1)} - {""}
    return len(own) == 1 and sheet.columns > 2


def _column(
    heading: str, cells: list[str], kind: Kind, terms: dict[Any, Any], words: dict[str, Any], vocabulary: Vocabulary
) -> Proposal:
    to, likeness = _best_term(heading, terms)
    if not to:
        return Proposal(heading, (), "", (), 0.0, ())
    if to == (IGNORE,):
        return Proposal(heading, to, "", (), round(likeness, 2), ())
    nowhere = node_from_data("", "")
    try:
        targets = tuple(target(each, kind, vocabulary, nowhere) for each in to)
    except ClausewayError:
        return Proposal(heading, (), "", (), 0.0, ())
    column = Column(heading, to, _unit(heading, cells, targets), _words(cells, targets, words), "", True, nowhere)
    shown = [text for text in cells if text and targets[0].written != LIKE][:_MOST_SAMPLES]
    wrong = [text for text in shown if not _understood(text, column, targets, vocabulary)]
    share = 1 - len(wrong) / len(shown) if shown else 0.5
    often = sorted(set(wrong), key=lambda text: (-wrong.count(text), text))
    return Proposal(heading, to, column.unit, column.values, round(likeness * share, 2), tuple(often[:8]))


def _understood(text: str, column: Column, targets: tuple[Target, ...], vocabulary: Vocabulary) -> bool:
    try:
        values_of(text, column, targets, vocabulary)
    except CellTrouble:
        return False
    return True


def _words(cells: list[str], targets: tuple[Target, ...], words: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """The usual words that occur in the column."""
    fact = targets[0].fact
    if len(targets) > 1 or fact is None:
        return ()
    usual = words.get(fact.name) or words.get(fact.sort) or {}
    there = {text.casefold() for text in cells}
    return tuple((word, str(value)) for word, value in usual.items() if word in there)


def _unit(heading: str, cells: list[str], targets: tuple[Target, ...]) -> str:
    fact = targets[0].fact
    if fact is None or fact.sort != "quantity":
        return ""
    said = _UNIT_IN_HEADING.search(heading)
    if said:
        unit = (said[1] or said[2]).casefold()
        return _UNITS.get(unit, unit)
    numbers = [float(text) for text in cells if _NUMBER.fullmatch(text)]
    if fact.unit == "length" and numbers:
        middle = sorted(numbers)[len(numbers) // 2]
        return "mm" if middle >= 300 else "in" if middle >= 12 else "ft" if middle >= 2 else "m"
    return {"time": "min", "force": "lbf", "voltage": "V", "current": "A"}.get(fact.unit or "", "") if numbers else ""


def _best_term(heading: str, terms: dict[Any, Any]) -> tuple[tuple[str, ...], float]:
    best: tuple[tuple[str, ...], float] = ((), 0.0)
    for to, words in terms.items():
        score = _likeness(heading, words)
        if score > best[1]:
            best = tuple(to.split(", ")), score
    return best if best[1] >= 0.45 else ((), 0.0)


def _likeness(heading: str, words: Iterable[str]) -> float:
    """How alike a heading and the best of some words are: 1 for equal, less for a part, 0 for nothing in common."""
    wanted = _plain(heading)
    best = 0.0
    for word in words:
        own = _plain(word)
        if own == wanted:
            return 1.0
        if own and own <= wanted:
            best = max(best, 0.5 + 0.4 * len(own) / len(wanted))
    return best


def _plain(text: str) -> frozenset[str]:
    parts = re.split(r"[^a-z0-9]+", _UNIT_IN_HEADING.sub(" ", _LETTERS.sub("", text)).casefold())
    return frozenset(part.removesuffix("s") if len(part) > 3 else part for part in parts if part)


def mapping_text(book: Workbook, proposals: tuple[SheetProposal, ...], base: str) -> str:
    """The proposals as a mapping file with comments, to be confirmed column by column."""
    lines = [
        f"# What the columns of {_comment(book.name)} mean. Proposed by their headings and cells; look at every line,",
        "# mend it, and say confirmed: yes. A column that says nothing about doors: ignore. A blank cell means that",
        "# nobody knows; where it means something in a column, say so there, such as blank: none.",
        f"schema: {SCHEMA}",
    ]
    if base:
        lines.append(f"base: {_quoted(base)}")
    lines.append("sheets:")
    for proposal in proposals:
        lines += [f"  {_quoted(proposal.sheet)}:", f"    describes: {proposal.describes}"]
        if proposal.turned:
            lines.append("    turned: yes    # what is asked stands in a column: headings and skip are columns")
        lines.append(f"    headings: [{', '.join(str(row) for row in proposal.headings)}]")
        if not proposal.turned:
            lines.append(f"    name: {_quoted(proposal.name)}")
        if proposal.skip:
            rows = "columns behind the answers" if proposal.turned else "rows that show one text only"
            lines.append(f"    skip: [{', '.join(str(row) for row in proposal.skip)}]    # {rows}")
        lines.append("    columns:")
        lines += [line for column in proposal.columns for line in _column_lines(column)]
    return "\n".join(lines) + "\n"


def _column_lines(column: Proposal) -> list[str]:
    percent = f"{column.confidence * 100:.0f} %"
    if column.to == (IGNORE,):
        return [f"      {_quoted(column.heading)}: ignore    # {percent}"]
    if not column.to:
        return [
            f"      {_quoted(column.heading)}:    # not recognised: say where it leads, or ignore",
            "        to: ''",
            "        confirmed: no",
        ]
    to = column.to[0] if len(column.to) == 1 else f"[{', '.join(column.to)}]"
    lines = [f"      {_quoted(column.heading)}:    # {percent}", f"        to: {to}"]
    if column.unit:
        lines.append(f"        unit: {column.unit}    # of bare numbers")
    if column.values:
        inner = ", ".join(f"{_quoted(word)}: {_quoted(value)}" for word, value in column.values)
        lines.append(f"        values: {{{inner}}}")
    if column.open_words:
        shown = ", ".join(_comment(word) for word in column.open_words)
        lines.append(f"        # not understood so far: {shown}")
    lines.append("        confirmed: no")
    return lines


def _comment(word: str) -> str:
    return "".join(character for character in word[:40] if character.isprintable())


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
