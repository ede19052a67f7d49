"""What cited sections are, as text for 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from clauseway.answers import citing
from clauseway.answers.citing import Meaning, Standing
from clauseway.text.citation import Reading
from clauseway.text.nearest import one_of
from clauseway.text.section import item_words

WIDTH = 80


def meanings_text(reading: Reading, found: Sequence[Meaning], width: int = WIDTH) -> str:
    """The meaning of each citation, and what was not understood."""
    blocks = ["\n".join(_block(meaning, width)) for meaning in found]
    if reading.unread:
        said = f"Not understood, or without a section: {', '.join(reading.unread)}."
        blocks.append("\n".join(textwrap.wrap(said, width)))
    return "\n\n".join(blocks) + "\n"


def _block(meaning: Meaning, width: int) -> Iterator[str]:
    yield from textwrap.wrap(str(meaning.citation), width)
    for text in _sentences(meaning):
        yield from textwrap.wrap(
            text, width, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False, break_long_words=False
        )


def _sentences(meaning: Meaning) -> Iterator[str]:
    citation = meaning.citation
    number, edition = citation.place.section, citation.edition
    if meaning.state == citing.NO_CODE:
        yield f"No code {citation.unknown} is among the rules; there are {one_of(meaning.known, 40)}."
        if meaning.near:
            yield f"Did you mean {meaning.near}?"
        return
    if meaning.state == citing.NO_EDITION:
        yield f"No edition {edition} is among the rules; there are {one_of(meaning.known, 40)}."
    elif meaning.state == citing.FOUND and not citation.edition:
        yield f"Edition {meaning.here[0].edition}, the only one among the rules:"
    elif not citation.edition or not citation.code:
        missing = [part for part, given in (("code", citation.code), ("edition", citation.edition)) if not given]
        yield f"No {' and no '.join(missing)} is named" + ("; the number is known in:" if meaning.here else ".")
    if meaning.state in (citing.OPEN, citing.NO_EDITION):
        for each in meaning.here:
            yield f"{_where(each)}: {_what(each)}"
    elif meaning.state == citing.FOUND:
        for each in meaning.here:
            named = f"{each.section}: " if each.row.section != number else ""
            yield f"{named}{_what(each)}"
            if each.row.note:
                yield f"Left to a person: {each.row.note}"
        if meaning.unknown_item:
            yield f"Nothing is encoded of {item_words(meaning.unknown_item)}{_items(meaning)}."
    if meaning.state == citing.MOVED:
        yield f"Not a number of {edition} that is known here. It is the number of:"
        for other in meaning.number_of:
            places = ", ".join(each.section + _mark(each) for each in other.stands_in)
            now = f"in {edition} it is {places}" if places else f"not known in {edition}"
            yield f"{other.of.edition}: {_what(other.of)}; {now}."
    elif meaning.state in (citing.UNKNOWN, citing.WITHIN):
        yield f"No section {number} is known here" + (f" in {edition}." if edition else ".")
    for each in meaning.elsewhere:
        yield f"The same in {each.edition}: {each.section}{_mark(each)}"
    if meaning.state == citing.FOUND:
        for other in meaning.number_of:
            row = other.of.row
            yield f"Take care: in {other.of.edition} the number {row.section} is {row.title}{_mark(other.of)}."
    if meaning.state in (citing.UNKNOWN, citing.WITHIN):
        if meaning.within is not None:
            yield f"It would lie in {meaning.within.row.section}: {_what(meaning.within)}"
        for each in (each for each in meaning.nearest if each != meaning.within):
            yield f"Near it: {_where(each)} {each.row.title}"


def _items(meaning: Meaning) -> str:
    items = dict.fromkeys(item_words(item) for each in meaning.here for item, _ in each.row.lines)
    return f"; encoded are {', '.join(items)}" if items else ""


def _where(standing: Standing) -> str:
    return f"{standing.code.upper()} {standing.edition} {standing.section}"


def _mark(standing: Standing) -> str:
    return " [memory]" if standing.row.basis.kind == "memory" else ""


def _what(standing: Standing) -> str:
    row = standing.row
    by = ", ".join(standing.encoded_as or row.by)
    basis = f"{row.basis.kind}, {row.basis.source}" if row.basis.source else row.basis.kind
    return f"{row.title}; {row.standing}{f' by {by}' if by else ''} (number: {basis})"
