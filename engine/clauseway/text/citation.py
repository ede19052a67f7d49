"""Reading the citations in a text: `IBC 2021 §1010.2.11`, `2021 IBC Section 1010.2 item 4`, `NFPA 101-2018 7.2.1(3)`.

It knows only how codes are called; whether a section exists is not asked here. Nothing is passed over in silence:
what looks like a code or an edition and belongs to no section is told apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from clauseway.text.section import ITEM, LETTERED, NUMBER, PARTS, Reference, canonical_item

LONGEST = 4_000
"""The longest text that is read, in characters."""

_GAP = re.compile(r"[\s,:;@()\[\]–—-]*(?:(?:the|edition|ed\.)[\s,()]*)*", re.IGNORECASE)
_BEHIND = re.compile(r"\s*(?:,\s*)?(?:\(|\[|\b(?:of|in|from|under)\b)\s*(?:the\s+)?", re.IGNORECASE)
_LISTED = re.compile(r"[\s,;&]*(?:(?:and|or)\b[\s§]*)?(?:sections?\b|§|\s)*", re.IGNORECASE)
_PROSE = frozenset(
    re.findall(
        r"\w+",
        "a an and annex are as article at by chapter clause code condition conditions edition exception exceptions for "
        "from in is it item items of on or para paragraph per part sec section sections see since table tables than "
        "that the this to under until vs was with",
    )
)
_FILLING = frozenset(("the", "edition", "ed", "of"))
_SIZE = re.compile(
    r"\s*(?:[\"″'′%]|(?:in\.|inch|inches|mm|cm|m|ft|feet|lb|lbf|n|kn|v|a|w|s|min)(?!\w)|in\s+(?!the\b|[a-z]*\s*\d{4}))",
    re.I,
)
"""What stands behind a size, such as 34.5 in."""


@dataclass(frozen=True, slots=True)
class Citation:
    """A section as somebody cited it.

    `code` is the id of a known code, or empty; then `unknown` is what stands in its place. `edition` is empty where
    none is given. `start` and `end` are where the section stands in the text, `written` is its text.
    """

    code: str
    edition: str
    place: Reference
    unknown: str = ""
    start: int = 0
    end: int = 0
    written: str = ""

    def __str__(self) -> str:
        return " ".join(part for part in ((self.code or self.unknown).upper(), self.edition, str(self.place)) if part)


@dataclass(frozen=True, slots=True)
class Reading:
    """The citations of a text in their order, and what was not understood."""

    citations: tuple[Citation, ...]
    unread: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    value: str
    start: int
    end: int
    place: Reference | None = None


@dataclass(frozen=True, slots=True)
class _Head:
    """A code, an edition or both, said together."""

    code: str
    edition: str
    unknown: str
    start: int
    end: int


def read_citations(text: str, names: Mapping[str, Sequence[str]], editions: Sequence[str] = ()) -> Reading:
    """The citations in a text.

    Args:
        text: At most `LONGEST` characters of any kind.
        names: How each code is called besides its id.
        editions: Labels of editions that are more than a year, such as `2019+A1`.

    Raises:
        ValueError: for a longer text.
    """
    if len(text) > LONGEST:
        raise ValueError(f"a text of {len(text)} characters; at most {LONGEST} are read")
    tokens = _items_joined(text, list(_tokens(text, names, editions)))
    tokens = [token for token in tokens if token.kind != "word" or token.value.lower() not in _FILLING]
    return _attached(text, list(_headed(text, tokens)))


def spellings(names: Mapping[str, Sequence[str]]) -> dict[str, re.Pattern[str]]:
    """A pattern for each code that finds the ways of writing its names: `NFPA 101`, `nfpa101`, `NFPA-101`."""
    found: dict[str, re.Pattern[str]] = {}
    for code, called in names.items():
        written = dict.fromkeys([code, *called])
        patterns = sorted((_spelling(name) for name in written if re.search(r"\w", name)), key=len, reverse=True)
        found[code] = re.compile(
            rf"(?<![\w.])(?:{'|'.join(patterns)})(?:(?![^\W_]|\.\d)|(?<=[a-z])(?=(?:19|20)\d\d(?!\w)))", re.IGNORECASE
        )
    return found


def _spelling(name: str) -> str:
    pieces = re.findall(r"\d+|[^\W\d_]+", name)
    return r"[\s.-]*".join(re.escape(piece) for piece in pieces)


# --- tokens -------------------------------------------------------------------------------------------------


def _tokens(text: str, names: Mapping[str, Sequence[str]], editions: Sequence[str]) -> Iterator[_Token]:
    """What of a text can belong to a citation, in its order."""
    codes = sorted(
        (match.start(), -match.end(), code) for code, each in spellings(names).items() for match in each.finditer(text)
    )
    taken: dict[int, tuple[int, str]] = {}
    reach = 0
    for start, negative, code in codes:
        if start >= reach and negative < -start:
            taken[start], reach = (-negative, code), -negative
    labels = "|".join(re.escape(label) for label in sorted(editions, key=len, reverse=True) if not label.isdigit())
    year = (f"(?:{labels})|" if labels else "") + r"(?:19|20)\d\d"
    pattern = re.compile(
        rf"(?P<item>\b{ITEM})|(?P<hash>#\s*\d{{1,2}})(?!\w)"
        rf"|(?P<mark>§+|\b(?:sections?|sec\.?|clauses?|paragraphs?|articles?|(?P<table>tables?))(?![^\W\d_]))\s*"
        rf"(?P<marked>{NUMBER})(?![\w])(?P<marked_parts>{PARTS})?"
        rf"|(?P<odd>\b[A-Z]{{2,}}[\s-]?\d+[A-Z]+\b)"
        rf"|(?P<annex>\b(?:annex|appendix)\s+(?P<letter>[A-Z])\b(?![.\d]))"
        rf"|(?<![\w.])(?P<year>{year})(?!\w|\.\d|{PARTS})"
        rf"|(?<![\w.$])(?P<number>{LETTERED}(?!\w|\.\d)|(?:[A-Z]\.)?\d{{1,6}}(?:\.\d{{1,3}})+)(?![\w%])(?P<parts>{PARTS})?"
        rf"|(?<![\w.$])(?P<whole>\d{{1,4}})(?![\w%]|\.\d)(?P<whole_parts>{PARTS})?"
        r"|(?P<word>[^\W\d_][^\W_]*(?:[&'’-][^\W_]+)*)",
        re.IGNORECASE,
    )
    at = 0
    while at < len(text):
        if at in taken:
            end, code = taken[at]
            yield _Token("code", code, at, end)
            at = end
            glued = re.compile(rf"(?:{year})(?!\w|\.\d)", re.IGNORECASE).match(text, at)
            if glued is not None:
                yield _Token("year", glued[0], at, glued.end())
                at = glued.end()
            continue
        found = pattern.match(text, at)
        if found is None or (found["word"] is None and any(start in taken for start in range(at + 1, found.end()))):
            at += 1
            continue
        token = _token(found)
        if token is not None:
            yield token
        at = found.end()


def _token(found: re.Match[str]) -> _Token | None:
    start, end = found.span()
    if found["hash"]:
        return _Token("item", found["hash"].strip("# "), start, end)
    if found["item"]:
        return _Token("item", canonical_item(found["item"]), start, end)
    if found["marked"]:
        return _section(found["marked"], found["marked_parts"], "table" if found["table"] else "", start, end)
    if found["annex"]:
        return _Token("section", found["annex"], start, end, Reference(found["letter"].upper(), "annex"))
    if found["year"]:
        return _Token("year", found["year"], start, end)
    if found["number"]:
        number = found["number"]
        size = number.startswith("0") or (number.count(".") == 1 and _SIZE.match(found.string, end) is not None)
        return None if size else _section(number, found["parts"], "", start, end)
    if found["whole"]:
        place = _section(found["whole"], found["whole_parts"], "", start, end).place
        return _Token("whole", found["whole"], start, end, place)
    return _Token("word", found["odd"] or found["word"], start, end)


def _section(number: str, parts: str | None, kind: str, start: int, end: int) -> _Token:
    place = Reference(number.upper(), kind, canonical_item(parts or ""), "", parts or "")
    return _Token("section", number, start, end, place)


def _items_joined(text: str, tokens: list[_Token]) -> list[_Token]:
    """The tokens with each item in the section that it belongs to: the one before it, or after `item 4 of`."""
    joined: list[_Token] = []
    at = 0
    while at < len(tokens):
        token = tokens[at]
        if token.kind == "item":
            before = joined[-1] if joined else None
            following = tokens[at + 1 : at + 3]
            if following and following[0].kind == "word" and following[0].value.lower() in ("of", "to", "in", "under"):
                following = following[1:]
                if following and following[0].kind == "section" and following[0].place is not None:
                    joined.append(_with_item(following[0], token))
                    at += 3
                    continue
            if before is not None and before.kind in ("section", "whole") and _near(text[before.end : token.start]):
                joined[-1] = _with_item(before, token)
                at += 1
                continue
        joined.append(token)
        at += 1
    return joined


def _near(gap: str) -> bool:
    return re.fullmatch(r"[\s,(–—-]*", gap) is not None


def _with_item(section: _Token, item: _Token) -> _Token:
    assert section.place is not None
    start, end = min(section.start, item.start), max(section.end, item.end)
    if section.place.item and section.place.item != item.value:
        value = f"{section.place.item} {item.value}" if " " in item.value else f"{section.place.item}.{item.value}"
    else:
        value = item.value
    return replace(section, start=start, end=end, place=replace(section.place, item=value, parts=""))


# --- heads --------------------------------------------------------------------------------------------------


def _headed(text: str, tokens: list[_Token]) -> Iterator[_Token | _Head]:
    """Sections and items as they are, codes and editions that stand together as one head."""
    at = 0
    while at < len(tokens):
        token, following = tokens[at], tokens[at + 1] if at + 1 < len(tokens) else None
        after = tokens[at + 2] if at + 2 < len(tokens) else None
        unknown, used = _unknown_code(text, tokens, at)
        if unknown:
            end = tokens[at + used - 1].end
            year = tokens[at + used] if at + used < len(tokens) else None
            edition = ""
            if year is not None and year.kind == "year" and _GAP.fullmatch(text[end : year.start]):
                edition, end, used = year.value, year.end, used + 1
            yield _Head("", edition, unknown, token.start, end)
            at += used
        elif token.kind == "code":
            if following is not None and following.kind == "year" and _GAP.fullmatch(text[token.end : following.start]):
                yield _Head(token.value, following.value, "", token.start, following.end)
                at += 2
            else:
                yield _Head(token.value, "", "", token.start, token.end)
                at += 1
        elif token.kind == "year":
            unknown, used = _unknown_code(text, tokens, at + 1) if following is not None else ("", 0)
            if unknown and following is not None and _blank(text, token, following):
                yield _Head("", token.value, unknown, token.start, tokens[at + used].end)
                at += used + 1
                continue
            owned = after is not None and following is not None and following.kind == "code" and after.kind == "year"
            owned = owned and _GAP.fullmatch(text[following.end : after.start]) is not None  # type: ignore[union-attr]
            if following is not None and following.kind == "code" and not owned and _blank(text, token, following):
                yield _Head(following.value, token.value, "", token.start, following.end)
                at += 2
            else:
                yield _Head("", token.value, "", token.start, token.end)
                at += 1
        else:
            if token.kind in ("section", "whole", "item"):
                yield token
            at += 1


def _blank(text: str, one: _Token, other: _Token) -> bool:
    return re.fullmatch(r"[\s-]*(?:edition\s+(?:of\s+)?(?:the\s+)?)?", text[one.end : other.start], re.I) is not None


def _unknown_code(text: str, tokens: list[_Token], at: int) -> tuple[str, int]:
    """A word that stands where a code stands and is none, and how many tokens it takes; else nothing."""
    token = tokens[at]
    if token.kind != "word" or token.value.lower() in _PROSE or len(token.value) < 2:
        return "", 0
    before = tokens[at - 1] if at else None
    following = tokens[at + 1] if at + 1 < len(tokens) else None
    used = 1
    capitals = sum(letter.isupper() for letter in token.value) >= 2
    if following is not None and following.kind == "whole" and capitals and _near(text[token.end : following.start]):
        used, following = 2, tokens[at + 2] if at + 2 < len(tokens) else None
    end = tokens[at + used - 1].end
    beside = following is not None and _GAP.fullmatch(text[end : following.start]) is not None
    year = beside and following is not None and following.kind == "year"
    section = beside and following is not None and following.kind in ("section", "whole")
    behind = before is not None and before.kind == "year" and text[before.end : token.start].strip() == ""
    if year or ((section or used == 2) and capitals) or (behind and section):
        return text[token.start : end], used
    return "", 0


# --- citations ----------------------------------------------------------------------------------------------


def _attached(text: str, parts: list[_Token | _Head]) -> Reading:
    """Each section with the code and the edition that are said of it."""
    citations: list[Citation] = []
    unread: list[tuple[int, str]] = []
    current: _Head | None = None
    used: set[int] = set()
    bare = 0
    for at, part in enumerate(parts):
        if isinstance(part, _Head):
            if id(part) not in used:
                if current is not None and id(current) not in used:
                    unread.append((current.start, text[current.start : current.end]))
                if not part.code and not part.unknown and current is not None:
                    part = replace(part, code=current.code, unknown=current.unknown)
                    used.add(id(current))
                current = part
            continue
        if part.kind == "item":
            unread.append((part.start, text[part.start : part.end]))
            continue
        led = current is not None and id(current) not in used and bool(current.code or current.unknown)
        behind = _trailing(text, parts, at, led=led)
        if part.kind == "whole" and not _follows(text, current, part, citations):
            continue
        assert part.place is not None
        head = current
        if behind is not None:
            used.add(id(behind))
            head = behind
            if current is not None and not behind.code and not behind.unknown:
                head = replace(behind, code=current.code, unknown=current.unknown)
                used.add(id(current))
            elif current is not None and not behind.edition and not current.code and not current.unknown:
                head = replace(behind, edition=current.edition)
                used.add(id(current))
        elif current is not None:
            used.add(id(current))
        made = Citation("", "", part.place, "", part.start, part.end, text[part.start : part.end])
        citations.append(_under(made, head))
        if behind is None and current is None:
            continue
        if behind is not None:
            # `1010.2.11 and 1010.2.12 of the 2021 IBC`: the head speaks of the whole list.
            for number in range(len(citations) - 2, bare - 1, -1):
                gap = text[citations[number].end : citations[number + 1].start]
                if citations[number].code or citations[number].unknown or not _LISTED.fullmatch(gap):
                    break
                citations[number] = _under(citations[number], head)
        bare = len(citations)
    if current is not None and id(current) not in used:
        unread.append((current.start, text[current.start : current.end]))
    return Reading(tuple(citations), tuple(dict.fromkeys(words for _, words in sorted(unread))))


def _under(citation: Citation, head: _Head | None) -> Citation:
    if head is None:
        return citation
    return replace(citation, code=head.code, edition=head.edition, unknown=head.unknown)


def _trailing(text: str, parts: list[_Token | _Head], at: int, *, led: bool) -> _Head | None:
    """The head that stands behind a section and speaks of it: `1010.1.9.9 (IBC 2018)`, `404.2.9 of the ADA`.

    A section that is `led` by a code of its own takes another only from brackets or behind `of`.
    """
    part, following = parts[at], parts[at + 1] if at + 1 < len(parts) else None
    if not isinstance(following, _Head):
        return None
    gap = text[part.end : following.start]
    if _BEHIND.fullmatch(gap):
        return following
    if led and (following.code or following.unknown):
        return None
    after = parts[at + 2] if at + 2 < len(parts) else None
    leads = isinstance(after, _Token) and after.kind in ("section", "whole")
    leads = leads and len(text[following.end : after.start].split()) <= 2 if isinstance(after, _Token) else leads
    return following if not leads and re.fullmatch(r"[\s,–—-]*(?:the\s+)?", gap) else None


def _follows(text: str, current: _Head | None, whole: _Token, citations: list[Citation]) -> bool:
    """Whether a number without a dot is a section: only right behind the code that it is of, as in `ADA 309`."""
    if current is None or not (current.code or current.unknown) or (citations and citations[-1].end > current.end):
        return False
    return re.fullmatch(r"[\s,:–—-]*", text[current.end : whole.start]) is not None and current.end <= whole.start
