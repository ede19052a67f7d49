"""A graph of truths of one row as one Python function: the values of its columns in, the wanted truths out."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Any

from clauseway.language.possible import Interval, arithmetic, at_most, equal, largest, monotone, smallest
from clauseway.readers.collection import Gaps
from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.graph import FALSE, OPEN, TRUE, Compared, Given, Join, Same
from clauseway.survey.row_numbers import Assumed, Fixed, Told, Worked
from clauseway.survey.row_terms import Parts, RowLeaf
from clauseway.survey.row_values import MOST, Entries, RowColumn

NOT_ASKED = -2
"""Besides a truth: that a condition asks nothing."""

Run = Callable[[Sequence[object]], tuple[int, ...]]


def compiled(parts: Parts, columns: Columns, wanted: Sequence[tuple[int, int]]) -> Run:
    """The function. Of each wanted pair, the first is a truth, and the second whether it is not asked at all."""
    writer = _Writer(parts, columns, wanted)
    made: dict[str, Any] = writer.known
    # What is compiled was written from the checked form: names are numbered, and values stand in `known`.
    exec(compile(writer.source(), "<row>", "exec"), made)
    run: Run = made["run"]
    return run


class _Writer:
    def __init__(self, parts: Parts, columns: Columns, wanted: Sequence[tuple[int, int]]) -> None:
        graph = self.graph = parts.graph
        self.leaves, self.numbers, self.columns, self.wanted = parts.leaves, parts.numbers, columns, wanted
        self.keys = list(columns.all)
        # Whether a condition is skipped, is most often whether one truth is sure: that one is compared where it stands.
        self.skips = [graph.sure_of(skipped) for _, skipped in wanted]
        self.nodes, self.used = graph.needed([*(truth for truth, _ in wanted), *self.skips])
        self.known: dict[str, Any] = {"bisect": bisect_left, **_NUMBERS}
        self.lines: list[str] = []
        self.read: dict[int, tuple[str, str]] = {}

    def source(self) -> str:
        """The text of the function."""
        if self.keys:
            self.lines.append(f"{''.join(f'v{at}, ' for at in range(len(self.keys)))}= values")
        asked = self._columns()
        for at in self.nodes:
            node = self.graph.nodes[at]
            if isinstance(node, Given) and at in asked:
                self._asked(at, self.leaves[node.leaf])
            elif isinstance(node, Compared):
                self._compared(at, node)
            elif isinstance(node, Join):
                self._join(at, node)
        found = []
        for (truth, _), skipped in zip(self.wanted, self.skips, strict=True):
            text, skips = self._text(truth), self._text(skipped)
            found.append(text if skips == str(FALSE) else f"{NOT_ASKED} if {skips} == {TRUE} else {text}")
        self.lines.append(f"return ({''.join(f'{each}, ' for each in found)})")
        return "\n".join(["def run(values):", *(f"    {line}" for line in self.lines), ""])

    def _text(self, reference: int) -> str:
        """A truth where it is used."""
        node = self.graph.nodes[abs(reference)]
        if isinstance(node, Same):
            truth = node.truth
            return str(~truth if reference < 0 and truth <= 0 else truth)
        return f"p{reference}" if reference > 0 else f"n{-reference}"

    # --- columns -----------------------------------------------------------------------------------------

    def _columns(self) -> frozenset[int]:
        """The lines that read each column with the leaves that it alone gives; the other leaves' nodes come back."""
        by_column: dict[Key, list[int]] = {key: [] for key in self.keys}
        asked: list[int] = []
        for at in self.nodes:
            node = self.graph.nodes[at]
            if isinstance(node, Given):
                leaf = self.leaves[node.leaf]
                alone = len(leaf.columns) == 1 and (leaf.turn is not None or leaf.columns[0] not in self.columns.wide)
                (by_column[leaf.columns[0]] if alone else asked).append(at)
        for number, key in enumerate(self.keys):
            self._column(number, key, by_column[key])
        return frozenset(asked)

    def _column(self, number: int, key: Key, nodes: Sequence[int]) -> None:
        column = self.columns.all[key]
        references = [each for at in nodes for each in (at, -at) if each in self.used]
        forms = [(self._leaf(abs(each)), each < 0) for each in references]
        reader = RowColumn(column, self.graph, forms)
        value, blank = f"v{number}", f"D{number}"
        self.known |= {f"N{number}": reader.plain, f"R{number}": reader, blank: reader.blank}
        names = ", ".join(self._text(each) for each in references)
        if column.scale is not None:
            low, high = reader.ends()
            kind = "int" if column.fact.sort == "count" else "float"
            self._when(f"not ({value}.__class__ is {kind} and {low!r} <= {value} <= {high!r})", number)
            if names:
                self.known[f"L{number}"], self.known[f"T{number}"] = reader.steps()
                found = f"T{number}[bisect(L{number}, {value})]"
                self.lines.append(f"{names} = {blank} if {value} is None else {found}")
        elif column.fact.sort in ("yes-no", "approval"):
            self._when(f"not ({value}.__class__ is bool or {value} is None)", number)
            if names:
                self.known[f"Y{number}"], self.known[f"F{number}"] = reader.entry(True), reader.entry(False)
                self.lines.append(f"{names} = Y{number} if {value} else {blank} if {value} is None else F{number}")
        else:
            self._when(f"not ({value}.__class__ is str or {value} is None)", number)
            self.known[f"T{number}"] = Entries(reader.entry)
            self.lines.append(f"{names} = T{number}[{value}]" if names else f"T{number}[{value}]")

    def _leaf(self, at: int) -> RowLeaf:
        node = self.graph.nodes[at]
        assert isinstance(node, Given)
        return self.leaves[node.leaf]

    def _when(self, condition: str, number: int) -> None:
        self.lines += [f"if {condition}:", f"    v{number} = N{number}(v{number})"]

    def _asked(self, at: int, leaf: RowLeaf) -> None:
        """A leaf of several columns: what was answered for the same values before, or the checker's answer."""

        def answer(assumed: Assumed) -> int:
            return self.graph.number(*leaf.ask(assumed))

        lines = self._told(at, leaf.columns, answer, f"p{at}")
        if leaf.of is not None:
            own = f"v{self.keys.index(leaf.of)}"
            lines = [f"p{at} = {FALSE}", f"if {own} is not None:", *_indented(lines)]
        self.lines += lines
        self._negated(at)

    def _told(self, at: int, columns: Sequence[Key], answer: Callable[[Assumed], object], names: str) -> list[str]:
        """The lines that keep under names what is answered for the values of some columns, once for the same values."""
        numbers = [self.keys.index(key) for key in columns]
        readers = [self.known[f"R{number}"] for number in numbers]
        told: dict[object, object] = {}

        def ask(values: Sequence[object]) -> object:
            stated = [reader.stated(each) for reader, each in zip(readers, values, strict=True)]
            if len(told) >= MOST:
                told.clear()
            assumed = {key: value[0] for key, value in zip(columns, stated, strict=True) if value is not None}
            found = told[values] = answer(assumed)
            return found

        which = f"{names[0]}{at}"
        self.known |= {f"M{which}": told, f"A{which}": ask}
        values = f"({''.join(f'v{number}, ' for number in numbers)})"
        return [f"t = M{which}.get({values})", f"{names} = A{which}({values}) if t is None else t"]

    # --- numbers -----------------------------------------------------------------------------------------

    def _compared(self, at: int, node: Compared) -> None:
        (left, open_left), (right, open_right) = self._number(node.left), self._number(node.right)
        operator, opposite = node.operator, node.operator in ("<", ">", "!=")
        low, high = (left, right) if operator in ("<=", ">", "==", "!=") else (right, left)
        first, second = (FALSE, TRUE) if opposite else (TRUE, FALSE)
        still = " | ".join(sorted({str(OPEN), open_left, open_right} - {"0"}))
        self.lines += [
            f"t = {'equal' if operator in ('==', '!=') else 'at_most'}({low}, {high})",
            f"p{at} = {still} if t is None else {first} if t else {second}",
        ]
        self._negated(at)

    def _number(self, at: int) -> tuple[str, str]:
        """A number where it is used, and what is missing for it, as a number; written once."""
        if at not in self.read:
            number, names = self.numbers[at], (f"x{at}", f"g{at}")
            if isinstance(number, Fixed):
                self.known[names[0]] = number.value
                names = names[0], str(self._gaps(number.gaps))
            elif isinstance(number, Worked):
                parts = [self._number(part) for part in number.parts]
                gaps = sorted({gaps for _, gaps in parts} - {"0"})
                self.lines.append(f"{names[0]} = {_worked(number.operator, [value for value, _ in parts])}")
                self.lines.append(f"{names[1]} = {' | '.join(gaps) or '0'}")
            else:
                self._answered(at, number)
            self.read[at] = names
        return self.read[at]

    def _answered(self, at: int, number: Told) -> None:
        def answer(assumed: Assumed) -> tuple[Interval, int]:
            value, gaps = number.ask(assumed)
            return value, self._gaps(gaps)

        names = f"x{at}, g{at}"
        if number.columns:
            lines = self._told(at, number.columns, answer, names)
        else:
            self.known[f"B{at}"] = answer({})
            lines = [f"{names} = B{at}"]
        if number.own is not None:
            own = self.keys.index(number.own)
            self.known[f"I{own}"] = Entries(self.known[f"R{own}"].number)
            lines = [f"if v{own} is None:", *_indented(lines), "else:", *_indented([f"{names} = I{own}[v{own}], 0"])]
        self.lines += lines

    def _gaps(self, gaps: Gaps) -> int:
        return self.graph.number(None, gaps) if gaps else 0

    # --- joins -------------------------------------------------------------------------------------------

    def _join(self, at: int, node: Join) -> None:
        texts = [self._text(part) for part in node.parts]
        self.lines.append(f"p{at} = {_JOINED[node.kind](texts, node.gaps)}")
        self._negated(at)

    def _negated(self, at: int) -> None:
        if -at in self.used:
            self.lines.append(f"n{at} = p{at} if p{at} > 0 else ~p{at}")


def _indented(lines: Sequence[str]) -> list[str]:
    return [f"    {line}" for line in lines]


def _worked(operator: str, values: Sequence[str]) -> str:
    if operator in ("min", "max"):
        return f"{'smallest' if operator == 'min' else 'largest'}([{', '.join(values)}])"
    name = "arithmetic" if len(values) > 1 else "monotone"
    return f"{name}({operator!r}, {', '.join(values)})"


_NUMBERS = {
    "arithmetic": arithmetic,
    "at_most": at_most,
    "equal": equal,
    "largest": largest,
    "monotone": monotone,
    "smallest": smallest,
}


def _some(texts: Sequence[str], _gaps: int) -> str:
    return " | ".join(texts)


def _surely(texts: Sequence[str], _gaps: int) -> str:
    return f"{FALSE} if {texts[0]} > 0 else {texts[0]}"


def _any(texts: Sequence[str], gaps: int) -> str:
    found, passes = texts
    return f"{found} if {found} != {TRUE} or {passes} == {TRUE} else {_with(gaps, passes)}"


def _under(texts: Sequence[str], gaps: int) -> str:
    assumption, body = texts
    return f"{body} if {assumption} == {TRUE} else {_with(gaps, assumption)} | {_with(gaps, body)}"


def _unverified(texts: Sequence[str], gaps: int) -> str:
    return f"{gaps} if {texts[0]} == {TRUE} else {texts[0]}"


def _with(gaps: int, text: str) -> str:
    """What is missing, with what is missing for a truth if it is undetermined."""
    return f"({gaps} | {text} if {text} > 0 else {gaps})"


_JOINED: dict[str, Callable[[Sequence[str], int], str]] = {
    "some": _some,
    "surely": _surely,
    "any": _any,
    "under": _under,
    "unverified": _unverified,
}
