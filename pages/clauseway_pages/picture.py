"""A picture of a provision: what it reads, its conditions, and what it excuses or is excused by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clauseway.answers.address import page_of
from clauseway.language import core
from clauseway.model.provision import Provision
from clauseway_pages.atlas import conditions_in, named_in
from clauseway_pages.markup import Html, join, tag

_ROW, _CHAR, _PAD, _GAP, _TOP = 26.0, 6.7, 10.0, 76.0, 30.0


@dataclass(frozen=True, slots=True)
class _Box:
    """A named box; `shape` is a class of the style sheet."""

    name: str
    shown: str
    address: str
    shape: str


def picture(provision: Provision, places: dict[str, str], known: frozenset[str]) -> Html:
    """The picture of a provision in one edition. `places` gives the pages of facts, computations and tables."""
    conditions = conditions_in(provision)
    reads = {condition.label: _needs(condition.own) for condition in conditions}
    scope = _needs(provision.applies) | _needs(provision.recognised)
    left = sorted({name for names in reads.values() for name in names})
    boxes = [_Box(name, name, places.get(name, ""), _shape(name, places)) for name in left]
    middle = [_Box(each.label, each.label, f"#{each.label}", "condition") for each in conditions]
    excused = {f"{provision.code}.{target}" for target in provision.excuses}
    excusing = {name for condition in conditions for name in condition.excused_by}
    right = [_Box(name, name, _page(name, known), "provision") for name in sorted(excused | excusing)]
    heads = ["Facts and more that it reads", "Its conditions", "Excuses" if excused else "Excused by"]
    columns = [boxes, middle, right] if right else [boxes, middle]
    edges = [(name, label, "") for label, names in reads.items() for name in sorted(names)]
    edges += [(each.label, name, "excuse") for each in conditions for name in sorted(excused)]
    edges += [(each.label, name, "excuse") for each in conditions for name in sorted(each.excused_by)]
    drawn = _draw(columns, heads, edges)
    besides = sorted(scope - set(left))
    words = f"Where it applies is read from {', '.join(besides)} as well." if besides else ""
    return tag("figure", tag("div", drawn, class_="wide", role="region", tabindex="0", aria_label="Picture"),
               tag("figcaption", words) if words else None)  # fmt: skip


def _needs(node: core.Node) -> set[str]:
    held = {part.arrangement for part in core.walk(node) if isinstance(part, core.Holds)}
    return set(named_in(node)) | held


def _shape(name: str, places: dict[str, str]) -> str:
    folder = places.get(name, "").removeprefix("../").partition("/")[0]
    return {"facts": "fact", "computations": "computation"}.get(folder, "provision")


def _page(name: str, known: frozenset[str]) -> str:
    return f"../{page_of(name)}" if name.partition("/")[0] in known else ""


def _draw(columns: Sequence[Sequence[_Box]], heads: Sequence[str], edges: Sequence[tuple[str, str, str]]) -> Html:
    tallest = max(len(column) for column in columns)
    height = _TOP + tallest * _ROW + _PAD
    at: dict[tuple[int, str], tuple[float, float, float]] = {}
    parts: list[Html] = []
    x = _PAD
    for number, column in enumerate(columns):
        width = max([len(box.shown) for box in column] + [len(heads[number])]) * _CHAR + 18
        top = _TOP + (tallest - len(column)) * _ROW / 2
        parts.append(tag("text", heads[number], x=f"{x:.0f}", y="16", class_="head"))
        for row, box in enumerate(column):
            y = top + row * _ROW
            at[number, box.name] = (x, y, width)
            parts.append(_box(box, x, y, width))
        x += width + _GAP
    lines = []
    for source, target, kind in edges:
        first = 1 if kind else 0
        ax, ay, aw = at[first, source]
        bx, by, _ = at[first + 1, target]
        middle = (ax + aw + bx) / 2
        ends = (f"{ax + aw:.1f} {ay + 10:.1f}", f"{bx:.1f} {by + 10:.1f}")
        path = f"M{ends[0]} C{middle:.1f} {ay + 10:.1f} {middle:.1f} {by + 10:.1f} {ends[1]}"
        lines.append(tag("path", d=path, class_=f"edge {kind}".strip()))
    total = x - _GAP + _PAD
    return tag(
        "svg",
        join([*lines, *parts]),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {total:.0f} {height:.0f}",
        width=f"{total:.0f}",
        height=f"{height:.0f}",
        class_="picture",
        role="group",
        aria_label="What this provision reads, its conditions, and what it excuses or is excused by",
    )


def _box(box: _Box, x: float, y: float, width: float) -> Html:
    radius = "10" if box.shape == "fact" else "3"
    rect = tag("rect", x=f"{x:.1f}", y=f"{y:.1f}", width=f"{width:.1f}", height="20", rx=radius, class_=box.shape)
    words = tag("text", box.shown, x=f"{x + 9:.1f}", y=f"{y + 14:.1f}")
    return tag("a", rect, words, href=box.address) if box.address else tag("g", rect, words)
