"""Section numbers as codes print them: read out of a text, and ordered as they are numbered."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

TABLE, ANNEX = "table", "annex"

LETTERED = r"(?-i:[A-Z]\d{1,2}(?:\.\d{1,3}|[A-Z]\d{1,3}))"
"""A number that begins with the letter of its part, as in `D2.21` and `D3D26`."""

NUMBER = rf"(?:{LETTERED}|(?:[A-Z]\.)?\d{{1,4}}(?:\.\d{{1,3}})*)"
"""A section number: groups of digits, with the letter of an annex before them where there is one."""

PARTS = r"(?:\.?\((?:\d{1,2}|[a-zA-Z]|[ivx]{1,5})\))+"
"""Items as some codes print them behind a number: `(3)`, `.(4)`, `(b)(iv)`."""

ITEM = (
    r"(?P<noun>items?|conditions?|exceptions?|exc\.|ex\.)\s*(?:nos?\.\s*)?"
    r"(?:\((?P<bracketed>[0-9a-z]{1,4})\)|(?P<plain>\d{1,3}(?:\.[0-9a-z]{1,3}){0,3}|[a-z](?:\.[0-9ivx]{1,4})?)(?![\w.]*\w))"
)
"""An item in words: `item 4`, `exception 1`, `item (b)`."""

_TOKENS = re.compile(
    rf"(?P<table>\btables?\b)|(?P<annex>\b(?:annex|appendix)\s+(?P<letter>[A-Z])\b)|(?P<item>\b{ITEM})"
    rf"|(?P<to>\b(?:to|through)\b|[–—])|(?P<number>(?<![\w.]){NUMBER}(?!\w))(?P<parts>{PARTS})?"
    rf"|(?P<more>{PARTS})"
    r"|(?P<joint>\b(?:and|or|sections?)\b|[,;&/§])|(?P<word>[A-Za-z][\w'-]*)",
    re.IGNORECASE,
)

_NOT_A_SECTION = re.compile(r"\s+(?!(?:and|or|to|through|items?|conditions?|exceptions?)\b)[A-Za-z]", re.IGNORECASE)
"""What stands behind a bare number that is the title of a book, as in `42 CFR 482.41`."""


@dataclass(frozen=True, slots=True)
class Reference:
    """One place in a code.

    `kind` is empty, `table` or `annex`; `item` an item or exception in it; `last` the end of a range of sections.
    `parts` keeps how an item in brackets was printed, and is not compared.
    """

    number: str
    kind: str = ""
    item: str = ""
    last: str = ""
    parts: str = field(default="", compare=False)

    @property
    def section(self) -> str:
        """The place without its item, as it is printed."""
        kind = f"{self.kind.capitalize()} " if self.kind else ""
        return f"{kind}{self.number} to {self.last}" if self.last else f"{kind}{self.number}"

    def __str__(self) -> str:
        return self.section + (self.parts or (f" {item_words(self.item)}" if self.item else ""))

    def holds(self, other: Reference) -> bool:
        """Whether a section is this one or, of a range, lies in it; items are not looked at."""
        if self.kind != other.kind:
            return False
        if not self.last:
            return self.number == other.number and not other.last
        number = number_key(other.number)
        first, last = number_key(self.number), number_key(self.last)
        return first <= number[: len(first)] and number[: len(last)] <= last


def references(written: str) -> tuple[Reference, ...]:
    """The places that a text such as `206.4, 206.5`, `5.12 to 5.14` or `3.4.6.16.(4)` names, in its order.

    Words that name no place are passed over: of `Annex A and scope` the annex is left.
    """
    found: list[Reference] = []
    kind = ""
    reaching = taken = listing = False
    for token in _TOKENS.finditer(written):
        if token["table"]:
            kind = TABLE
        elif token["annex"]:
            found.append(Reference(token["letter"].upper(), ANNEX))
        elif token["item"]:
            if found and not found[-1].item:
                last = found[-1]
                found[-1] = Reference(last.number, last.kind, canonical_item(token["item"]), last.last)
            listing = True
        elif token["to"]:
            reaching = bool(found)
            continue
        elif token["number"]:
            number = token["number"].upper()
            if reaching and not found[-1].last:
                found[-1] = Reference(found[-1].number, found[-1].kind, "", number)
            elif "." in number or not (taken or listing or _NOT_A_SECTION.match(written, token.end())):
                listing = False
                parts = token["parts"] or ""
                found.append(Reference(number, kind, canonical_item(parts), "", parts))
        elif token["more"]:
            if found and found[-1].parts:
                found.append(_sibling(found[-1], token["more"]))
        elif token["word"]:
            # A bare number behind a word or an item, as in `volume 1` or `items 1 and 2`, is no section.
            kind, taken, reaching = "", True, False
            continue
        reaching = taken = False
    return tuple(dict.fromkeys(found))


def _sibling(first: Reference, parts: str) -> Reference:
    """What `(6)` means behind `1910.37(b)(4),`: it takes the place of as many brackets, from the last."""
    old, new = re.findall(r"\.?\([^()]+\)", first.parts), re.findall(r"\.?\([^()]+\)", parts)
    both = "".join([*old[: max(0, len(old) - len(new))], *new])
    return Reference(first.number, first.kind, canonical_item(both), "", both)


def canonical_item(written: str) -> str:
    """An item in one spelling: `(3)` and `item 3` are `3`, `(b)(iv)` is `b.iv`, `Exc. 1` is `exception 1`."""
    text = written.strip()
    named = re.fullmatch(ITEM, text, re.IGNORECASE)
    if named is not None:
        value = (named["bracketed"] or named["plain"]).lower()
        return f"exception {value}" if named["noun"].lower().startswith("ex") else value
    parts = re.findall(r"\(([^()]+)\)", text)
    if parts and re.fullmatch(PARTS, text):
        return ".".join(parts).lower()
    return " ".join(text.lower().split())


def item_words(item: str) -> str:
    """An item as it is printed behind a section: `item 4`, `exception 1`, `item b`."""
    return item if len(item) > 1 and item[:2].isalpha() else f"item {item}"


def number_key(number: str) -> tuple[tuple[int, int, str], ...]:
    """What section numbers are ordered by: 1010.1.9.10 comes after 1010.1.9.9, an annex after all numbers."""
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in number.split("."))


def item_key(item: str) -> tuple[bool, tuple[tuple[int, int, str], ...]]:
    """What items are ordered by: item 10 comes after item 9, exceptions after items."""
    words = item.split()
    return len(words) > 1, tuple(key for word in words for key in number_key(word))


def section_key(section: str) -> tuple[Any, ...]:
    """What the printed sections of a table are ordered by: by number, text without a number last."""
    found = references(section)
    if not found:
        return (True, section)
    first = found[0]
    return (False, number_key(first.number), first.kind, item_key(first.item), section)


def nearest_sections(wanted: Reference, known: Iterable[Reference], most: int = 6) -> list[Reference]:
    """The known places closest to one that is not known: what holds it, what it holds, its neighbours, near spellings.

    In the order of their numbers; of other kinds (tables, annexes) only where the wanted one is of that kind.
    """
    near = sorted({each for each in known if each.kind == wanted.kind}, key=lambda each: number_key(each.number))
    number = wanted.number
    above = [each for each in near if number.startswith(f"{each.number}.")]
    below = [each for each in near if each.number.startswith(f"{number}.")]
    chosen = [*above[-2:], *below[:2]]
    place = number_key(number)
    before = [each for each in near if number_key(each.number) < place and each not in chosen]
    after = [each for each in near if number_key(each.number) > place and each not in chosen]
    top = number.partition(".")[0]
    neighbours = [each for each in (*before[-2:], *after[:2]) if each.number.partition(".")[0] == top]
    digits = number.replace(".", "")
    respelt = [each for each in near if each.number.replace(".", "") == digits or _turned(each.number, number)]
    chosen = list(dict.fromkeys([*respelt, *chosen, *neighbours]))[:most]
    return sorted(chosen, key=lambda each: number_key(each.number))


def _turned(one: str, other: str) -> bool:
    """Whether two numbers differ in the order of two neighbouring characters."""
    if len(one) != len(other) or one == other:
        return False
    apart = [at for at in range(len(one)) if one[at] != other[at]]
    return (
        len(apart) == 2
        and apart[1] == apart[0] + 1
        and one[apart[0]] == other[apart[1]]
        and one[apart[1]] == other[apart[0]]
    )
