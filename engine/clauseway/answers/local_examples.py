"""The examples that ride with amendments, run where the amendment stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from clauseway.answers.examples import (
    Example,
    base_of,
    examples_in,
    find_condition,
    run_example,
    summary,
)
from clauseway.answers.footing import Footing, files_of, footings
from clauseway.law.edition import exists_in
from clauseway.law.jurisdictions import real_dates, text, texts
from clauseway.law.library import Library
from clauseway.law.rulebook import Rulebook
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import Node, node_from_data

BEFORE, AFTER = "before", "after"


@dataclass(frozen=True)
class Tried:
    """One example of a layer on one footing: what a condition came to, and what was expected.

    `when` is before or after the layer was laid.
    """

    layer: str
    says: str
    footing: str
    condition: str
    when: str
    expected: str
    found: str
    place: Place

    @property
    def passed(self) -> bool:
        """Whether it came to what was expected."""
        return self.found == self.expected


class Trials:
    """Runs examples of layers; a rulebook that several of them need is made once."""

    def __init__(self, library: Library) -> None:
        self.library = library
        self._books: dict[str, Rulebook] = {}

    def book(self, footing: Footing, layer: str = "") -> Rulebook:
        """The rulebook on a footing, with the layer where one is named."""
        dates = sorted(footing.terms.dates.items())
        key = repr((footing.codes, footing.below, layer, dates, footing.terms))
        found = self._books.get(key)
        if found is None:
            found = footing.after(self.library, layer) if layer else footing.before(self.library)
            self._books[key] = found
        return found

    def of_layer(self, name: str, on: str = "", place: str = "") -> Iterator[Tried]:
        """All examples of a layer, those of the provisions that it brings included.

        Raises:
            ClausewayError: for an example that describes what is not known, speaks of no edition in which the layer is
                laid, or names a condition that is in neither rulebook.
        """
        for file in files_of(self.library, name):
            if file.get("changes") is None:
                yield from self._of_provision(file, name, on, place)
                continue
            written = file.get("examples")
            for example in written.elements() if written is not None else ():
                yield from self._of_example(example, name, on, place)

    def _of_example(self, node: Node, name: str, on: str, place: str) -> Iterator[Tried]:
        wrong = list(real_dates(node, ("on",)))
        if wrong:
            raise ClausewayError(wrong)
        editions = [each.text or "" for each in texts(node, "editions")]
        found = footings(self.library, name, text(node, "on") or on, place)
        spoken = [each for each in found if not editions or each.edition in editions]
        if not spoken:
            known = sorted({each.edition for each in found})
            at = (node.get("editions") or node).place
            raise ClausewayError(
                Problem(
                    at, f"{name} is not laid over {one_of(editions)}", one_of(known), nearest(editions[0], known) or ""
                )
            )
        base = base_of(self.library, node)
        changes = node.get("change") or node_from_data({}, node.place.file)
        authority = text(node, "authority")
        for footing in spoken:
            on_it = footing.by(authority) if authority else footing
            sides = {BEFORE: self.book(on_it), AFTER: self.book(on_it, name)}
            for when, key in ((BEFORE, "before"), (AFTER, "expect")):
                verdicts = node.get(key)
                for condition, expected in verdicts.items() if verdicts is not None else ():
                    at = expected.key_place or expected.place
                    full = _condition_called(condition, footing.code, list(sides.values()), at)
                    verdict = _verdict(full, sides[when], base, changes)
                    says = text(node, "says")
                    yield Tried(name, says, footing.label, full, when, expected.text or "", verdict, node.place)

    def _of_provision(self, node: Node, name: str, on: str, place: str) -> Iterator[Tried]:
        identity = text(node, "id")
        for footing in footings(self.library, name, on, place):
            if not exists_in(node, footing.edition):
                continue
            book = self.book(footing, name)
            provision = book.provisions.get(f"{footing.code}.{identity}")
            for example in examples_in(self.library, identity, node):
                if example.editions and footing.edition not in example.editions:
                    continue
                if provision is None or (not example.editions and find_condition(provision, example.condition) is None):
                    continue
                verdict = summary(run_example(example, book, footing.code))
                says = f"{example.verdict} {example.number}"
                condition = f"{provision.name}/{example.condition}"
                at = example.changes.place
                yield Tried(name, says, footing.label, condition, AFTER, example.verdict, verdict, at)


def _verdict(name: str, book: Rulebook, base: Node, changes: Node) -> str:
    owner, _, label = name.partition("/")
    code, _, identity = owner.partition(".")
    if owner not in book.provisions:
        return summary(())
    return summary(run_example(Example(identity, label, "", 1, changes, base, ()), book, code))


def _condition_called(written: str, code: str, books: Sequence[Rulebook], place: Place) -> str:
    """The full name of a condition in one of the rulebooks.

    Raises:
        ClausewayError: when there is none, with the nearest.
    """
    known = {
        f"{provision.name}/{condition.label}": None
        for book in books
        for provision in book.provisions.values()
        for condition in provision.permitted + provision.conditions
    }
    owner = written.partition("/")[0]
    full = books[-1].current(written if "." in owner else f"{code}.{written}")
    if full not in known:
        short = [name.removeprefix(f"{code}.") for name in known]
        raise ClausewayError(
            Problem(place, f"no condition {written}", "a provision and its condition", nearest(written, short) or "")
        )
    return full
