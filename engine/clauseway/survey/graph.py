"""Truths of one row as whole numbers, joined once each: what the code for a row is written from.

A truth is -1 where it is true and 0 where it is false. Where it is undetermined it is a number above 0 whose bits tell
what is missing for it. So `a | b` is Kleene's disjunction of such numbers with what is missing for it, and `~` the
negation of what is decided; conjunction is the negation of a disjunction. A reference to a node is its number, or, for
the negation of the node, that number negated.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from clauseway.case.things import Missing
from clauseway.language.possible import Truth
from clauseway.readers.collection import NO_GAPS, Gaps

TRUE, FALSE = -1, 0
OPEN = 1
"""The bit that every undetermined truth has, so that it is no decided one even where nothing is missing."""


@dataclass(frozen=True, slots=True)
class Join:
    """A node: `|` of its parts, or what `Graph` says of `surely`, `any`, `under` and `unverified`."""

    kind: str
    parts: tuple[int, ...]
    gaps: int = 0


@dataclass(frozen=True, slots=True)
class Same:
    """A node that is the same number in every row."""

    truth: int


@dataclass(frozen=True, slots=True)
class Given:
    """A node that comes from the columns of a row: the leaf with a number."""

    leaf: int


@dataclass(frozen=True, slots=True)
class Compared:
    """A node that compares two numbers of a row, by their numbers in a list of them."""

    operator: str
    left: int
    right: int


Node = Join | Same | Given | Compared


class Graph:
    """The nodes, each before those that are made of it; a `Logic` of references to them."""

    def __init__(self) -> None:
        # Number 0 has no negation that differs from it: it is never referred to.
        self.nodes: list[Node] = [Same(FALSE)]
        self._known: dict[Node, int] = {}
        self._bits: dict[Missing, int] = {}
        self._missing: list[Missing] = []
        self._false = self.add(Same(FALSE))

    def add(self, node: Node) -> int:
        """The reference to a node, which stands once."""
        if node not in self._known:
            self._known[node] = len(self.nodes)
            self.nodes.append(node)
        return self._known[node]

    # --- what is missing ---------------------------------------------------------------------------------

    def number(self, truth: Truth, gaps: Gaps) -> int:
        """A truth with what is missing for it as a number."""
        if truth is not None:
            return TRUE if truth else FALSE
        bits = OPEN
        for missing in gaps:
            if missing not in self._bits:
                self._missing.append(missing)
                self._bits[missing] = 1 << len(self._missing)
            bits |= self._bits[missing]
        return bits

    def missing(self, truth: int) -> tuple[Missing, ...]:
        """What is missing for a truth, sorted; nothing for one that is decided."""
        if truth <= 0:
            return ()
        return tuple(sorted(each for at, each in enumerate(self._missing, 1) if truth >> at & 1))

    # --- logic -------------------------------------------------------------------------------------------

    def certain(self, truth: Truth, gaps: Gaps = NO_GAPS) -> int:
        """A truth that is the same in every row."""
        if truth is None:
            return self.add(Same(self.number(None, gaps)))
        return -self._false if truth else self._false

    def every(self, truths: Iterable[int]) -> int:
        """Conjunction."""
        return -self.some([-each for each in truths])

    def some(self, truths: Iterable[int]) -> int:
        """Disjunction."""
        parts = sorted({each for each in truths if each != self._false})
        if -self._false in parts:
            return -self._false
        if not parts:
            return self._false
        return parts[0] if len(parts) == 1 else self.add(Join("some", tuple(parts)))

    def inverse(self, truth: int) -> int:
        """Negation."""
        return -truth

    def surely(self, truth: int) -> int:
        """Whether it is true: false where it is undetermined."""
        if abs(truth) == self._false:
            return truth
        return self._false if self._is_same(truth) else self.add(Join("surely", (truth,)))

    def if_any(self, found: int, any_passes: int, gap: Missing) -> int:
        """What was found of all members, but undetermined where it is true and not sure that there is any."""
        if any_passes == -self._false or found == self._false:
            return found
        return self.add(Join("any", (found, any_passes), self.number(None, frozenset((gap,)))))

    def under(self, assumption: int, body: int) -> int:
        """The body where the assumption is true, else undetermined."""
        return body if assumption == -self._false else self.add(Join("under", (assumption, body), OPEN))

    def unverified(self, body: int, clause: Missing) -> int:
        """The body, but undetermined where it is true."""
        if body == self._false:
            return body
        return self.add(Join("unverified", (body,), self.number(None, frozenset((clause,)))))

    def sure_of(self, truth: int) -> int:
        """A truth that is true in the same rows; where it is not true, it may be undetermined instead of false."""
        node = self.nodes[abs(truth)]
        return node.parts[0] if truth > 0 and isinstance(node, Join) and node.kind == "surely" else truth

    def _is_same(self, truth: int) -> bool:
        return isinstance(self.nodes[abs(truth)], Same)

    # --- what is needed ----------------------------------------------------------------------------------

    def needed(self, wanted: Sequence[int]) -> tuple[list[int], frozenset[int]]:
        """The nodes that some references need, in order, and which references are made of them."""
        used = set(wanted)
        for at in range(len(self.nodes) - 1, 0, -1):
            node = self.nodes[at]
            if isinstance(node, Join) and (at in used or -at in used):
                used |= set(node.parts)
        return sorted({abs(each) for each in used}), frozenset(used)
