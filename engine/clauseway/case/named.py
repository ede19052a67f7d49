"""The openings of a project that somebody asks for by name."""

from __future__ import annotations

from collections.abc import Sequence

from clauseway.case.things import Project, Thing
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import ClausewayError, Place, Problem


def openings_named(project: Project, names: Sequence[str] = (), place: Place | None = None) -> list[Thing]:
    """The openings with these ids in the order of the file, all of them where none is named.

    Raises:
        ClausewayError: for each name that no opening has, with the nearest; its place is `place`, or the file.
    """
    openings = project.of_kind("opening")
    known = [thing.id for thing in openings]
    strange = [name for name in names if name not in known]
    if strange:
        where = place or Place(project.file)
        raise ClausewayError(
            Problem(where, f"no opening {name}", one_of(known, 12), nearest(name, known) or "") for name in strange
        )
    return [thing for thing in openings if not names or thing.id in names]
