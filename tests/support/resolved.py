"""What the rules resolve to, frozen as text: ids and values, one a line, so that a change is seen and reviewed.

`tests/resolved/codes/<code>.txt` has every value, condition, cell and derivation of a code with the editions in which
it stands; `tests/resolved/<place>.txt` has the adoptions of a place and how each differs from its model code. A
condition has the digest of what it asks. Run as a program, it writes them anew:
`.venv/bin/python tests/support/resolved.py`.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from clauseway.answers.footing import files_of, first_day
from clauseway.language.core import Node
from clauseway.language.possible import Choice, Interval, Value
from clauseway.law import codec
from clauseway.law.adoption import Asked, stacked
from clauseway.law.jurisdictions import text
from clauseway.law.laying import Terms
from clauseway.law.library import Library, load
from clauseway.law.meaning import bare
from clauseway.law.resolve import resolve
from clauseway.law.rulebook import Rulebook
from clauseway.model.jurisdiction import ADOPTED, TODAY, Adoption, Jurisdiction
from clauseway.model.provision import Citation, Condition

FOLDER = Path(__file__).parents[1] / "resolved"
ADDED, REMOVED, CHANGED = "added", "removed", "changed"


@cache
def shipped() -> Library:
    """The rules that come with the package, read once."""
    return load()


def entries(rulebook: Rulebook, code: str) -> dict[str, str]:
    """What a code comes to in a rulebook: the short form of each part by its id."""
    found: dict[str, str] = {}
    for provision in rulebook.provisions.values():
        if provision.code == code:
            scope = _digest(provision.applies, provision.recognised, *(each.node for each in provision.assumptions))
            found[provision.id] = f"{provision.kind} {provision.citation.section} {scope}"
            for condition in provision.permitted:
                found[f"{provision.id}/{condition.label}"] = f"permits{_item(condition)}"
            for condition in provision.conditions:
                found[f"{provision.id}/{condition.label}"] = f"asks{_item(condition)}"
    for derivation in rulebook.derivations.values():
        if derivation.code == code:
            found[derivation.id] = f"gives {derivation.fact} {_digest(derivation.node)}"
    for key, parameter in rulebook.parameters.items():
        if key.startswith(f"{code}."):
            found[key.partition(".")[2]] = f"= {' | '.join(parameter.printed)}{_cited(parameter.citation)}"
    for table in rulebook.tables.values():
        if table.code == code:
            names = [column.name for column in table.columns]
            for row, cells in table.rows.items():
                for name, cell in zip(names, cells, strict=True):
                    found[f"{table.id.partition('.')[2]}/{row}/{name}"] = f"= {_cell(cell)}"
    return dict(sorted(found.items()))


def _cell(cell: Value) -> str:
    """A cell of a table: its words, or its number in the unit in which it is kept (metres, seconds, newtons)."""
    if isinstance(cell, Interval):
        return f"{cell.low:.7g}"
    return " | ".join(sorted(cell.options)) if isinstance(cell, Choice) else codec.to_json(cell)


def _item(condition: Condition) -> str:
    return f"{_cited(condition.line.citation)} {_digest(condition.own)}"


def _cited(citation: Citation) -> str:
    return f" ({citation.item})" if citation.item else ""


def _digest(*terms: Node) -> str:
    return codec.digest(codec.to_json(tuple(bare(term) for term in terms))).partition(":")[2][:8]


@cache
def _edition(code: str, edition: str) -> Mapping[str, str]:
    return entries(resolve(shipped(), [f"{code}@{edition}"]), code)


def code_text(code: str) -> str:
    """A code in all its editions: each id with what it comes to, and the editions in which it does."""
    editions = shipped().codes[code].editions
    lines: dict[tuple[str, str], list[str]] = {}
    for edition in editions:
        for key, value in _edition(code, edition).items():
            lines.setdefault((key, value), []).append(edition)
    head = f"{code} {' '.join(editions)}"
    return (
        "\n".join([head, *(f"{key} {value} @ {' '.join(where)}" for (key, value), where in sorted(lines.items()))])
        + "\n"
    )


def place_text(jurisdiction: Jurisdiction) -> str:
    """A jurisdiction: each adoption with its dates, and how it differs from its model code."""
    below = f", below {jurisdiction.parent}" if jurisdiction.parent else ""
    return "\n".join([f"{jurisdiction.id} {jurisdiction.name}{below}", *_adoptions(jurisdiction)]) + "\n"


def _adoptions(jurisdiction: Jurisdiction) -> Iterator[str]:
    for adoption in sorted(jurisdiction.adoptions.values(), key=lambda each: each.id):
        known = "; ".join(
            f"{term.since} to {term.until or 'today'}" + (f" (known {term.known})" if term.known else "")
            for term in adoption.terms
        )
        choice = f", or {' '.join(adoption.choice)}" if adoption.choice else ""
        yield ""
        if adoption.status != ADOPTED:
            yield f"{adoption.id}: {adoption.status}, {adoption.code}@{adoption.edition} [{adoption.basis}]"
            continue
        code, edition, layers, book = _resolved(adoption)
        laid = "".join(f" + {name}" for name in layers)
        yield f"{adoption.id}: {code}@{edition}{laid}, {known}, by {adoption.decided_by}{choice} [{adoption.basis}]"
        if layers:
            yield from (f"  {line}" for line in told(changes(_edition(code, edition), entries(book, code))))


def _resolved(adoption: Adoption) -> tuple[str, str, list[str], Rulebook]:
    day = adoption.terms[-1].since
    ((code, edition, layers),) = stacked(shipped(), adoption, Asked({TODAY: day}))
    files = [file for name, _ in layers for file in files_of(shipped(), name)]
    site = next((text(file, "site") for file in files if file.get("site") is not None), "")
    terms = Terms({TODAY: first_day(files, day)}, dict(layers), site=site)
    return (
        code,
        edition,
        [name for name, _ in layers],
        resolve(shipped(), [f"{code}@{edition}"], [n for n, _ in layers], terms),
    )


def changes(old: Mapping[str, str], new: Mapping[str, str]) -> list[tuple[str, str, str, str]]:
    """What became of each id: added, removed or changed, with what stood there and what stands there now."""
    found = []
    for key in sorted({*old, *new}):
        if key not in old:
            found.append((ADDED, key, "", new[key]))
        elif key not in new:
            found.append((REMOVED, key, old[key], ""))
        elif old[key] != new[key]:
            found.append((CHANGED, key, old[key], new[key]))
    return found


def told(found: list[tuple[str, str, str, str]]) -> list[str]:
    """Changes as lines."""
    return [f"{what} {key}: {' -> '.join(filter(None, (old, new)))}" for what, key, old, new in found]


def by_line(written: str) -> dict[str, str]:
    """The lines of a frozen file by what they speak of, for `changes`."""
    found: dict[str, str] = {}
    under = ""
    for line in written.splitlines()[1:]:
        if line and not line.startswith(" ") and " @ " not in line:
            under, _, rest = line.partition(": ")
            found[under] = rest
        elif line.startswith("  "):
            what, key, rest = line.strip().split(" ", 2)
            found[f"{under}: {what} {key}"] = rest
        elif line:
            key, _, rest = line.partition(" ")
            value, _, editions = rest.rpartition(" @ ")
            found |= {f"{key} @ {edition}": value for edition in editions.split()}
    return found


@cache
def texts() -> dict[Path, str]:
    """Every frozen file as it should be."""
    library = shipped()
    wanted = {FOLDER / "codes" / f"{code}.txt": code_text(code) for code in library.codes}
    wanted |= {FOLDER / f"{each.id}.txt": place_text(each) for each in library.jurisdictions.values()}
    return wanted


def write() -> None:
    """Write the frozen files, and take away those of what is gone."""
    wanted = texts()
    for path in FOLDER.rglob("*.txt"):
        if path not in wanted:
            path.unlink()
    for path, content in wanted.items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")


if __name__ == "__main__":
    write()
    sys.stdout.write(f"{len(texts())} files in {FOLDER} are written\n")
