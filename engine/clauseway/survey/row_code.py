"""A graph of truths of one row as one Python function: the values of its columns in, the wanted truths out."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from typing import Any

from clauseway.survey.columns import Columns
from clauseway.survey.dependence import Key
from clauseway.survey.graph import FALSE, TRUE, Given, Graph, Join, Same
from clauseway.survey.row_terms import RowLeaf
from clauseway.survey.row_values import MOST, Entries, RowColumn

NOT_ASKED = -2
"""Besides a truth: that a condition asks nothing."""

Run = Callable[[Sequence[object]], tuple[int, ...]]


def compiled(graph: Graph, leaves: Sequence[RowLeaf], columns: Columns, wanted: Sequence[tuple[int, int]]) -> Run:
    """The function. Of each wanted pair, the first is a truth, and the second whether it is not asked at all."""
    writer = _Writer(graph, leaves, columns, wanted)
    made: dict[str, Any] = writer.known
    # What is compiled was written from the checked form: names are numbered, and values stand in `known`.
    exec(compile(writer.source(), "<row>", "exec"), made)
    run: Run = made["run"]
    return run


class _Writer:
    def __init__(
        self, graph: Graph, leaves: Sequence[RowLeaf], columns: Columns, wanted: Sequence[tuple[int, int]]
    ) -> None:
        self.graph, self.leaves, self.columns, self.wanted = graph, leaves, columns, wanted
        # Whether a condition is skipped, is most often whether one truth is sure: that one is compared where it stands.
        self.skips = [graph.sure_of(skipped) for _, skipped in wanted]
        self.nodes, self.used = graph.needed([*(truth for truth, _ in wanted), *self.skips])
        self.known: dict[str, Any] = {"bisect": bisect_left}
        self.lines: list[str] = []

    def source(self) -> str:
        """The text of the function."""
        keys = list(self.columns.all)
        if keys:
            self.lines.append(f"{''.join(f'v{at}, ' for at in range(len(keys)))}= values")
        asked = self._columns(keys)
        for at in self.nodes:
            node = self.graph.nodes[at]
            if isinstance(node, Given) and at in asked:
                self._asked(at, self.leaves[node.leaf], keys)
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

    def _columns(self, keys: Sequence[Key]) -> frozenset[int]:
        """The lines that read each column with the leaves that it alone gives; the other leaves' nodes come back."""
        by_column: dict[Key, list[int]] = {key: [] for key in keys}
        asked: list[int] = []
        for at in self.nodes:
            node = self.graph.nodes[at]
            if isinstance(node, Given):
                leaf = self.leaves[node.leaf]
                alone = len(leaf.columns) == 1 and (leaf.turn is not None or leaf.columns[0] not in self.columns.wide)
                (by_column[leaf.columns[0]] if alone else asked).append(at)
        for number, key in enumerate(keys):
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

    def _asked(self, at: int, leaf: RowLeaf, keys: Sequence[Key]) -> None:
        """A leaf of several columns: what was answered for the same values before, or the checker's answer."""
        numbers = [keys.index(key) for key in leaf.columns]
        readers = [self.known[f"R{number}"] for number in numbers]
        told: dict[object, int] = {}

        def ask(values: Sequence[object]) -> int:
            stated = [reader.stated(each) for reader, each in zip(readers, values, strict=True)]
            if len(told) >= MOST:
                told.clear()
            assumed = {key: value[0] for key, value in zip(leaf.columns, stated, strict=True) if value is not None}
            told[values] = found = self.graph.number(*leaf.ask(assumed))
            return found

        self.known |= {f"M{at}": told, f"A{at}": ask}
        values = f"({''.join(f'v{number}, ' for number in numbers)})"
        self.lines += [f"p{at} = M{at}.get({values})", f"if p{at} is None:", f"    p{at} = A{at}({values})"]
        self._negated(at)

    # --- joins -------------------------------------------------------------------------------------------

    def _join(self, at: int, node: Join) -> None:
        texts = [self._text(part) for part in node.parts]
        self.lines.append(f"p{at} = {_JOINED[node.kind](texts, node.gaps)}")
        self._negated(at)

    def _negated(self, at: int) -> None:
        if -at in self.used:
            self.lines.append(f"n{at} = p{at} if p{at} > 0 else ~p{at}")


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
