"""One opening after another that are like one that is described: each row with the verdict and what is missing for it.

The conditions become one Python function of a row's values. It answers a row in the time in which the checker reads a
term or two, and with the same verdicts and gaps as the checker before it tries out what is unknown. For many rows at
once, the planes of `survey/run` are quicker by far; they tell no gaps.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from operator import itemgetter

from clauseway.answers import finding as F
from clauseway.answers.check import modes_of
from clauseway.answers.decide_condition import guarded_in
from clauseway.case.project import member_path
from clauseway.case.things import UNASKABLE, Missing, Project, Thing
from clauseway.language.possible import Truth
from clauseway.law.rulebook import DESCRIPTION, Rulebook
from clauseway.model.provision import Derivation
from clauseway.readers.collection import NO_GAPS, Gaps
from clauseway.readers.decide import Decider
from clauseway.survey.columns import Columns, fact_names, unknown_column
from clauseway.survey.plan import alone, conditions_on, derivations_on, disagrees, is_unseen
from clauseway.survey.row_code import NOT_ASKED, compiled
from clauseway.survey.row_terms import Parts, RowTerms
from clauseway.survey.row_values import MOST
from clauseway.text.problems import ClausewayError

_WORST = (F.COMPLIES, F.NEEDS_APPROVAL, F.UNDETERMINED, F.FAILS)
_VERDICTS = {-1: F.MET, 0: F.UNMET, NOT_ASKED: F.NOT_APPLICABLE}


@dataclass(frozen=True, slots=True)
class RowCell:
    """A condition for one subject in one mode. `unseen`: the subject stands for those that may exist besides."""

    finding: str
    code: str
    subject: F.Subject
    mode: str
    unseen: bool = False


@dataclass(frozen=True, slots=True)
class RowAnswer:
    """The answer for one row. `truths` has a number for each cell: -1 met, 0 not met, -2 not asked, above 0 open."""

    rows: Rows
    truths: tuple[int, ...]

    @property
    def verdicts(self) -> list[str]:
        """The verdict of each cell: met, unmet, not-applicable or undetermined."""
        return [_VERDICTS.get(truth, F.UNDETERMINED) for truth in self.truths]

    def missing(self, cell: int) -> tuple[Missing, ...]:
        """What is missing for the cell with a number, sorted; nothing for one that is decided."""
        return self.rows.graph.missing(self.truths[cell])

    @property
    def verdict(self) -> str:
        """What the cells come to, as for an opening that is checked; what may exist besides may leave it open."""
        return self.rows.overall(self.truths)


class Rows:
    """Answers rows that are like one opening of a project, with columns of these names.

    With `only`, no other findings are answered. A permission that was never verified excuses nothing unless
    `accept_memory`.

    Raises:
        ClausewayError: for a column that says nothing of the opening, or has a unit that it cannot have.
    """

    def __init__(
        self,
        rulebook: Rulebook,
        project: Project,
        opening: str,
        names: Sequence[str],
        *,
        accept_memory: bool = False,
        only: Collection[tuple[str, F.Subject]] | None = None,
    ) -> None:
        self.columns = Columns(project, opening, rulebook.vocabulary, names)
        known = fact_names(project, opening, rulebook.vocabulary)
        unread = [name for name in names if name not in self.columns.by_name]
        if unread:
            raise ClausewayError([unknown_column(name, sorted(known), project.file) for name in unread])
        self._facts = {key: name for name, (key, _) in known.items()}
        self._texts: dict[int, str] = {}
        self.rulebook = rulebook
        parts = Parts()
        self.graph = parts.graph
        cells: list[RowCell] = []
        wanted: list[tuple[int, int]] = []
        single = alone(project, opening, self.columns.all, rulebook)
        for mode in modes_of(rulebook, single):
            decider = Decider(rulebook, single, mode, accept_memory=accept_memory)
            terms = RowTerms(decider, self.columns, parts)
            for cell, truth, skipped in _cells(terms, member_path("", "openings", opening)):
                if only is None or (cell.finding, cell.subject) in only:
                    cells.append(cell)
                    wanted.append((truth, skipped))
        self.cells = tuple(cells)
        self._run = compiled(parts, self.columns, wanted)
        self._names = tuple(self.columns.by_name)
        # With a single name, it would give the value by itself.
        several = len(self._names) > 1
        self._values: Callable[[Mapping[str, object]], Sequence[object]] = (
            itemgetter(*self._names) if several else _none
        )

    def answer(self, row: Mapping[str, object]) -> RowAnswer:
        """The answer for a row: values by the names of columns, as they stand in a file, a plain number where a column
        has a unit; a column that is left out is blank.

        Raises:
            ClausewayError: for a name that is no column, and a value that a fact cannot have.
        """
        try:
            values: Sequence[object] | None = self._values(row)
        except KeyError:
            values = None
        if values is None or len(values) != len(row):
            # Something is left out, or is no column.
            wrong = [name for name in row if name not in self.columns.by_name]
            if wrong:
                raise ClausewayError([unknown_column(str(name), self._names, "row") for name in wrong])
            values = [row.get(name) for name in self._names]
        return RowAnswer(self, self._run(values))

    def number(self, finding: str, subject: F.Subject, mode: str = "") -> int:
        """The number of a cell.

        Raises:
            KeyError: if there is none.
        """
        return self._numbers[finding, subject, mode]

    def missing_text(self, truth: int) -> str:
        """What is missing for a truth, by the names that columns have, or would have."""
        known = self._texts.get(truth)
        if known is None:
            if len(self._texts) >= MOST:
                self._texts.clear()
            known = self._texts[truth] = "; ".join(self._named(each) for each in self.graph.missing(truth))
        return known

    def _named(self, missing: Missing) -> str:
        if missing.kind in UNASKABLE:
            return f"{missing.kind} {missing.name}"
        name = self._facts.get((missing.path, missing.name), f"{missing.path or 'building'}/{missing.name}")
        return f"whether {name} are all" if missing.whole else name

    @cached_property
    def _numbers(self) -> dict[tuple[str, F.Subject, str], int]:
        return {(cell.finding, cell.subject, cell.mode): number for number, cell in enumerate(self.cells)}

    @cached_property
    def _guidance(self) -> frozenset[str]:
        return frozenset(code.code for code in self.rulebook.codes if code.force == F.GUIDANCE)

    def overall(self, truths: Iterable[int]) -> str:
        """The verdict that the truths of the cells come to."""
        found = F.COMPLIES if self.cells else F.UNDETERMINED
        for cell, truth in zip(self.cells, truths, strict=True):
            if truth == 0 and not cell.unseen:
                verdict = F.NEEDS_APPROVAL if cell.code in self._guidance else F.FAILS
            elif truth >= 0:
                # What may exist besides matters where it could fail: then the list is not known to be whole.
                verdict = F.UNDETERMINED
            else:
                continue
            found = max(found, verdict, key=_WORST.index)
        return found


def _none(_row: Mapping[str, object]) -> Sequence[object]:
    raise KeyError


def _cells(terms: RowTerms, path: str) -> Iterator[tuple[RowCell, int, int]]:
    """Each cell with its truth and whether it is not asked at all."""
    decider, graph = terms.decider, terms.graph
    rulebook, mode, opening = decider.rulebook, decider.mode, decider.project.things[path]
    descriptions = {code.code for code in rulebook.codes if code.force == DESCRIPTION}
    never = graph.certain(False)
    for provision, condition, bound in conditions_on(decider, opening):
        truth = terms.truth(guarded_in(rulebook, provision, condition.truth), bound.env)
        skipped = terms.not_asked(provision, condition, bound.env)
        if provision.code in descriptions:
            # The checker tells no finding on a description that agrees or may.
            fails = graph.every([graph.surely(graph.inverse(truth)), graph.inverse(skipped)])
            truth, skipped = graph.inverse(fails), never
        name = f"{provision.name}/{condition.label}"
        yield RowCell(name, provision.code, bound.subject, mode, is_unseen(bound)), truth, skipped
    for derivation, part in derivations_on(decider, opening):
        key = (part.path, derivation.fact.partition(".")[2])
        own = frozenset((key,)) & terms.columns.all.keys()
        if not own and decider.project.given(*key, mode) is None:
            continue
        read = terms.dependence.derived(part, derivation.name) | own
        differs = terms.asked(
            read, partial(_differs, derivation, part), (derivation.name, key), of=key if own else None
        )
        subject = F.Subject(part.kind, part.path)
        yield RowCell(f"described.{derivation.id}/agrees", "described", subject, mode), graph.inverse(differs), never


def _differs(derivation: Derivation, part: Thing, decider: Decider) -> tuple[Truth, Gaps]:
    return disagrees(decider, derivation, part), NO_GAPS
