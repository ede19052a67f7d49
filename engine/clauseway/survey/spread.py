"""A survey over the machines of a Dask cluster: parts of a Parquet file, each counted where a worker takes it up.

A part is a pure function of the rulebook, the openings that rows are like, and its rows. A worker that dies takes
nothing with it: its parts are done again elsewhere, and each is counted once.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from clauseway.case.open import project_from_data
from clauseway.law.rulebook import Rulebook, from_json
from clauseway.survey.block import at_once
from clauseway.survey.datasets import DataSet, Groups, parquet_batches, parts_of
from clauseway.survey.table import Asked, Progress, Surveyor
from clauseway.text.problems import ClausewayError, Place, Problem

if TYPE_CHECKING:
    from clauseway.survey.run import Totals

RETRIES = 3


def spread(
    rulebook: Rulebook, openings: str, data: DataSet, asked: Asked, address: str, progress: Progress | None = None
) -> Totals:
    """Survey a Parquet file on a cluster; `openings` is the text of the openings that rows are like, as JSON.

    Every worker reads the file under the same path, and has this version of Clauseway with the extra `survey`.

    Raises:
        ClausewayError: for another kind of file, no such cluster, and all that a survey here would raise.
    """
    from clauseway.survey.run import Totals

    if data.path.suffix != ".parquet":
        raise ClausewayError(Problem(Place(str(data.path)), "not a Parquet file", "one, whose parts workers can read"))
    try:
        from distributed import Client, as_completed
    except ImportError:
        expected = "pip install 'clauseway[spread]'"
        raise ClausewayError(Problem(Place(address), "a cluster needs Dask", expected)) from None
    try:
        client = Client(address, timeout="30s")
    except (OSError, ValueError) as error:
        raise ClausewayError(Problem(Place(address), f"no cluster answers: {error}", "a Dask scheduler")) from None
    totals = Totals()
    with client:
        setup = client.scatter((rulebook.json, openings, data.names, asked), broadcast=True)
        parts = list(parts_of(data.path))
        futures = client.map(
            counted, [groups for groups, _ in parts], [first for _, first in parts],
            setup=setup, path=str(data.path), retries=RETRIES, pure=False,
        )  # fmt: skip
        for future in as_completed(futures):
            totals.add(future.result())
            if progress is not None:
                progress(totals.rows, data.rows)
    return totals


def counted(groups: Groups, first: int, setup: tuple[str, str, tuple[str, ...], Asked], path: str) -> Totals:
    """What one part counts; runs on a worker."""

    from clauseway.survey.run import Totals

    surveyor = _surveyor(*setup, path)
    totals = Totals()
    names = surveyor.needed or list(setup[2][:1])
    for batch in parquet_batches(Path(path), names, at_once(len(names)), groups):
        for _, _, answered in surveyor.answer(batch, first, frozenset()):
            totals.add(answered.totals)
        first += batch.num_rows
    return totals


@lru_cache(maxsize=2)
def _surveyor(rules: str, openings: str, names: tuple[str, ...], asked: Asked, path: str) -> Surveyor:
    import json

    rulebook = from_json(rules)
    return Surveyor(rulebook, project_from_data(json.loads(openings), rulebook), names, asked, path)
