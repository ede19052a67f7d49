"""HTML from plain Python: every text is escaped unless it is `Html` already, so that nothing slips through."""

from __future__ import annotations

import html
from collections.abc import Iterable, Sequence

_VOID = frozenset(("br", "img", "input", "link", "meta", "hr"))


class Html(str):
    """Text that is HTML: it is written as it stands."""

    __slots__ = ()


def text(value: object) -> Html:
    """Any value as HTML: `Html` as it stands, everything else escaped."""
    return value if isinstance(value, Html) else Html(html.escape(str(value)))


def join(parts: Iterable[object], between: str = "") -> Html:
    """Several texts as one, escaped where they are no HTML."""
    return Html(str(text(between)).join(text(part) for part in parts if part is not None))


def tag(name: str, *children: object, **attributes: object) -> Html:
    """An element. In the names of attributes `_` stands for `-`; a last `_` is dropped (`class_`).

    An attribute that is None or False is left out; True stands alone. A child that is None is left out.
    """
    written = "".join(_attribute(key, value) for key, value in attributes.items())
    if name in _VOID:
        return Html(f"<{name}{written}>")
    return Html(f"<{name}{written}>{join(children)}</{name}>")


def _attribute(key: str, value: object) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    return f" {name}" if value is True else f' {name}="{html.escape(str(value))}"'


def link(address: str, *children: object) -> Html:
    """A link from a page that lies in a folder of the site to an address relative to the top."""
    return tag("a", *children, href=f"../{address}")


def bullets(items: Iterable[object]) -> Html:
    """A list of points; nothing where there are none."""
    rows = [tag("li", item) for item in items]
    return tag("ul", *rows) if rows else Html()


def table(caption: str, head: Sequence[object], rows: Iterable[Sequence[object]], kind: str = "") -> Html:
    """A table that scrolls by itself on a narrow screen; the first cell of a row names the row.

    A cell that is an element `td` or `th` already is taken as it stands; `kind` is a class of the style sheet.
    """
    heads = tag("tr", *(tag("th", cell, scope="col") for cell in head))
    body = [tag("tr", *(_cell(cell, n == 0) for n, cell in enumerate(row))) for row in rows]
    made = tag("table", tag("caption", caption), tag("thead", heads), tag("tbody", *body), class_=kind or None)
    return tag("div", made, class_="wide", role="region", tabindex="0", aria_label=caption)


def _cell(cell: object, heading: bool) -> Html:
    if isinstance(cell, Html) and cell.startswith(("<td", "<th")):
        return cell
    return tag("th", cell, scope="row") if heading else tag("td", cell)


def plain(markup: str) -> str:
    """The words of some HTML, for the search."""
    out, inside = [], False
    for char in markup:
        if char == "<":
            inside = True
            out.append(" ")
        elif char == ">" and inside:
            inside = False
        elif not inside:
            out.append(char)
    return " ".join(html.unescape("".join(out)).split())
