"""A survey of a data set: each row is like one of the described openings, with its own values in the columns."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clauseway.answers import finding as F
from clauseway.case.things import Project
from clauseway.law.rulebook import Rulebook
from clauseway.survey.ahead import ahead
from clauseway.survey.shared import Crew, processes
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem

if TYPE_CHECKING:
    from clauseway.survey.datasets import DataSet, Groups, Output
    from clauseway.survey.plan import Cell
    from clauseway.survey.rows import RowAnswer, Rows
    from clauseway.survey.run import Answered, Survey, Totals

LIKE, ID = "like", "id"
Progress = Callable[[int, int | None], None]


@dataclass(frozen=True)
class Asked:
    """What is asked of a survey.

    `identity` and `like` are the columns with a row's own name and with the opening that it is like; `ignored` columns
    say nothing of an opening. `failing` and `findings` are tables to write.
    """

    identity: str = ID
    like: str = LIKE
    ignored: tuple[str, ...] = ()
    accept_memory: bool = False
    settle: bool = False
    failing: Path | None = None
    findings: Path | None = None
    verdicts: frozenset[str] = field(default=frozenset((F.UNMET,)))
    """The verdicts of the findings that are written."""


class Surveyor:
    """Answers batches of rows; one of it may serve any number of batches of the same data set.

    Raises:
        ClausewayError: for columns that say nothing of any opening, and rows that are like none.
    """

    def __init__(self, rulebook: Rulebook, project: Project, names: Sequence[str], asked: Asked, file: str) -> None:
        from clauseway.survey.columns import fact_names, unknown_column

        self.rulebook, self.project, self.asked, self.file = rulebook, project, asked, file
        self.types = [thing.id for thing in project.of_kind("opening")]
        self.has_types = asked.like in names
        if not self.has_types and len(self.types) != 1:
            found = f"no column {asked.like}, and {len(self.types)} openings that a row may be like"
            raise ClausewayError(Problem(Place(file), found, f"a column {asked.like}, or one opening in the file"))
        for name in asked.ignored:
            if name not in names:
                near = nearest(name, names) or ""
                raise ClausewayError(Problem(Place(file), f"no column {name} to ignore", one_of(names, 12), near))
        self.names = [name for name in names if name not in (asked.like, asked.identity, *asked.ignored)]
        known = {name for each in self.types for name in fact_names(project, each, rulebook.vocabulary)}
        wrong = [name for name in self.names if name not in known and name.partition(" [")[0] not in known]
        if wrong:
            raise ClausewayError([unknown_column(name, sorted(known), file) for name in wrong])
        self._surveys: dict[str, Survey] = {}
        self._rows: dict[str, Rows] = {}

    @property
    def needed(self) -> list[str]:
        """The columns that are read."""
        return [*self.names, *([self.asked.like] if self.has_types else [])]

    def survey(self, kind: str) -> Survey:
        """The survey of the rows that are like one opening."""
        from clauseway.survey.plan import made_plan
        from clauseway.survey.run import Survey

        if kind not in self._surveys:
            plan = made_plan(self.rulebook, self.project, kind, self.names, self.asked.accept_memory)
            self._surveys[kind] = Survey(plan, settle=self.asked.settle)
        return self._surveys[kind]

    def rows(self, kind: str) -> Rows:
        """What answers the rows that are like one opening one by one."""
        from clauseway.survey.rows import Rows

        if kind not in self._rows:
            names, accepts = list(self.survey(kind).plan.columns.by_name), self.asked.accept_memory
            self._rows[kind] = Rows(self.rulebook, self.project, kind, names, accept_memory=accepts)
        return self._rows[kind]

    def answer(self, batch: Any, first: int, details: frozenset[str]) -> Iterator[tuple[str, Any, Answered]]:
        """For each opening that rows are like: its name, the numbers of the rows in the batch, and what came out.

        `first` is the number of the batch's first row in the data set.
        """
        import numpy as np

        from clauseway.survey.datasets import prepared

        for kind, rows in self._parts(batch, first):
            part = batch if len(rows) == batch.num_rows else batch.take(rows)
            survey = self.survey(kind)
            columns = survey.plan.columns
            self._nothing_unread(part, kind, [name for name in self.names if name not in columns.by_name])
            numbers = np.asarray(rows)
            for start in range(0, part.num_rows, survey.rows):
                some = part.slice(start, survey.rows)
                block = columns.block(prepared(columns, some), some.num_rows)
                yield kind, numbers[start : start + some.num_rows], survey.block(block, details=details)

    def _parts(self, batch: Any, first: int) -> Iterator[tuple[str, Any]]:
        import numpy as np
        import pyarrow as pa

        if not self.has_types:
            yield self.types[0], np.arange(batch.num_rows)
            return
        column = batch.column(self.asked.like)
        coded = column if pa.types.is_dictionary(column.type) else column.cast(pa.string()).dictionary_encode()
        numbers = coded.indices.fill_null(-1).to_numpy(zero_copy_only=False)
        words = coded.dictionary.to_pylist()
        for number in np.unique(numbers):
            rows = np.flatnonzero(numbers == number)
            kind = words[number] if number >= 0 else ""
            if kind not in self.types:
                found = f"row {first + int(rows[0]) + 1} is like {kind or 'nothing'}"
                near = nearest(kind, self.types) or ""
                raise ClausewayError(Problem(Place(self.file), found, one_of(self.types, 12), near))
            yield kind, rows

    def _nothing_unread(self, part: Any, kind: str, names: Sequence[str]) -> None:
        """What a row says of a thing that its opening has not would go unread: it is refused."""
        import pyarrow as pa
        import pyarrow.compute as pc

        for name in names:
            values = part.column(name)
            if values.null_count == part.num_rows:
                continue
            distinct = values if pa.types.is_nested(values.type) else pc.unique(values)
            said = [each for each in distinct.to_pylist() if each not in (None, "")]
            if said:
                found = f"{name} is {said[0]} in a row that is like {kind}, which has no such thing"
                raise ClausewayError(Problem(Place(self.file), found, "a blank there"))


def survey_data(
    rulebook: Rulebook, project: Project, data: DataSet, asked: Asked, progress: Progress | None = None
) -> Totals:
    """Survey a data set, block by block.

    Raises:
        ClausewayError: for a data set that cannot be read as rows of openings; nothing is left out silently.
    """
    from clauseway.survey.datasets import Output
    from clauseway.survey.run import Totals

    surveyor = Surveyor(rulebook, project, data.names, asked, str(data.path))
    parts = data.parts() if asked.failing is asked.findings is None and processes() > 1 else []
    if len(parts) > 1:
        return _shared_out(surveyor, data, parts, progress)
    totals = Totals()
    with ExitStack() as stack:
        failing = stack.enter_context(Output(asked.failing)) if asked.failing is not None else None
        findings = stack.enter_context(Output(asked.findings)) if asked.findings is not None else None
        identity = asked.identity if asked.identity in data.names else ""
        names = list(data.names) if failing is not None else surveyor.needed
        if findings is not None and identity and identity not in names:
            names.append(identity)
        details = asked.verdicts if findings is not None else frozenset[str]()
        # A data set without any column still has rows.
        batches = _numbered(data.batches(names or data.names[:1]))

        def work(block: tuple[int, Any]) -> list[tuple[str, Any, Answered]]:
            first, batch = block
            return list(surveyor.answer(batch, first, details))

        for (first, batch), answers in ahead(work, batches):
            for kind, rows, answered in answers:
                totals.add(answered.totals)
                if failing is not None:
                    _write_failing(failing, batch, first, rows, answered)
                if findings is not None:
                    gaps = _Gaps(surveyor, kind, batch)
                    _write_findings(findings, batch, first, rows, answered, identity, kind, gaps)
            if progress is not None:
                progress(first + batch.num_rows, data.rows)
    return totals


def _shared_out(
    surveyor: Surveyor, data: DataSet, parts: Sequence[tuple[Groups, int]], progress: Progress | None
) -> Totals:
    """Count parts of a data set in several processes."""
    from clauseway.survey.run import Totals

    names = surveyor.needed or data.names[:1]

    def work(part: tuple[Groups, int]) -> Totals:
        groups, first = part
        counted = Totals()
        for batch in data.batches(names, groups):
            for _, _, answered in surveyor.answer(batch, first, frozenset()):
                counted.add(answered.totals)
            first += batch.num_rows
            # It is not kept while the next one is read.
            del batch
        return counted

    totals = Totals()
    with Crew(work, parts, processes()) as crew:
        for counted in crew.answers():
            totals.add(counted)
            if progress is not None:
                progress(totals.rows, data.rows)
    return totals


def _numbered(batches: Iterable[Any]) -> Iterator[tuple[int, Any]]:
    """Batches with the number of their first row."""
    first = 0
    for batch in batches:
        yield first, batch
        first += batch.num_rows


def _write_failing(table: Output, batch: Any, first: int, rows: Any, answered: Answered) -> None:
    import numpy as np
    import pyarrow as pa

    from clauseway.survey.run import VERDICTS

    fails = rows[np.flatnonzero(answered.verdicts == VERDICTS.index(F.FAILS))]
    if not len(fails):
        return
    taken = pa.Table.from_batches([batch.take(fails)])
    plain = [
        values.cast(values.type.value_type) if pa.types.is_dictionary(values.type) else values
        for values in taken.columns
    ]
    arrays = {"row": pa.array(first + fails + 1), **dict(zip(taken.column_names, plain, strict=True))}
    table.write(pa.table(arrays))


class _Gaps:
    """What is missing for what is undetermined in the rows of a batch; each row is answered once."""

    def __init__(self, surveyor: Surveyor, kind: str, batch: Any) -> None:
        self.surveyor, self.kind, self.batch = surveyor, kind, batch
        self.told: dict[int, RowAnswer] = {}

    def of(self, cell: Cell, rows: Any) -> list[str]:
        """For each row the names of what is missing for a cell."""
        from clauseway.survey.datasets import prepared

        answers = self.surveyor.rows(self.kind)
        number = answers.number(cell.finding, cell.subject, cell.mode)
        new = [row for row in rows.tolist() if row not in self.told]
        if new:
            part = prepared(answers.columns, self.batch.take(new))
            columns = [part[name].to_pylist() for name in answers.columns.by_name]
            names = list(answers.columns.by_name)
            for row, *values in zip(new, *columns, strict=True):
                self.told[row] = answers.answer(dict(zip(names, values, strict=True)))
        return [answers.missing_text(self.told[row].truths[number]) for row in rows.tolist()]


def _write_findings(
    table: Output, batch: Any, first: int, rows: Any, answered: Answered, identity: str, kind: str, gaps: _Gaps
) -> None:
    import pyarrow as pa

    for found in answered.found:
        at = rows[found.rows]
        subject = found.cell.subject
        many = len(at)
        ids = batch.column(identity).take(pa.array(at)).cast(pa.string()) if identity else pa.nulls(many, pa.string())
        words = {
            "like": kind,
            "finding": found.cell.finding,
            "verdict": found.verdict,
            "subject": subject.path,
            "passage": subject.passage,
            "mode": found.cell.mode,
        }
        repeated = {name: pa.repeat(pa.scalar(word, pa.string()), many) for name, word in words.items()}
        is_open = found.verdict == F.UNDETERMINED
        missing = pa.array(gaps.of(found.cell, at)) if is_open else pa.repeat(pa.scalar(""), many)
        table.write(pa.table({"row": pa.array(first + at + 1), "id": ids, **repeated, "missing": missing}))
