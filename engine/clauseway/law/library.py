"""Loading folders of rules: everything is read and its shape checked, nothing is resolved yet."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path

from clauseway.law.aliases import aliases_of, wrong_aliases
from clauseway.law.clauses import ClauseFile, read_clauses
from clauseway.law.folders import entries_of, shipped_rules, yaml_files
from clauseway.law.jurisdictions import read_jurisdictions
from clauseway.law.local import check_local
from clauseway.law.parameters import Sources
from clauseway.law.read_vocabulary import read_vocabulary
from clauseway.law.rulebook import DESCRIPTION, PRACTICE
from clauseway.law.shape import check_shape
from clauseway.model.clause import Clauses
from clauseway.model.jurisdiction import Jurisdiction
from clauseway.model.vocabulary import Vocabulary
from clauseway.text.nearest import nearest, one_of
from clauseway.text.problems import NOWHERE, ClausewayError, Place, Problem
from clauseway.text.source import Node, parse_yaml, read_text

ALWAYS = (DESCRIPTION, PRACTICE)
"""The standing of what speaks in every rulebook and is no code."""


@dataclass(frozen=True)
class Code:
    """A code as its folder describes it; `provisions` are by id, as written, for all editions.

    `clauses` lists what the code holds beyond them; `cited_as` are further names by which people cite it.
    """

    id: str
    title: str
    publisher: str
    force: str
    about: str
    editions: tuple[str, ...]
    sources: Sources
    provisions: Mapping[str, Node]
    node: Node
    clauses: Clauses = field(default=Clauses())
    cited_as: tuple[str, ...] = ()

    @property
    def always(self) -> bool:
        """Whether it speaks in every rulebook: our own checks of what was described, and of whether it works."""
        return self.force in ALWAYS

    @property
    def aliases(self) -> dict[str, str]:
        """The former ids of its provisions, each with the id of today."""
        return aliases_of(self.provisions)

    @property
    def names(self) -> tuple[str, ...]:
        """What people call it besides its id: its title, the parts of that before and behind a colon, further names."""
        before, colon, behind = self.title.partition(":")
        return tuple(dict.fromkeys([self.title, *((before.strip(), behind.strip()) if colon else ()), *self.cited_as]))


@dataclass(frozen=True)
class Library:
    """All rules of one or more folders.

    `layers` are the files of amendments, `inserted` the whole provisions that layers bring.
    """

    vocabulary: Vocabulary
    codes: Mapping[str, Code]
    folders: tuple[Path, ...]
    layers: tuple[Node, ...] = field(default=())
    inserted: tuple[Node, ...] = field(default=())
    jurisdictions: Mapping[str, Jurisdiction] = field(default_factory=dict)

    @property
    def aliases(self) -> dict[str, str]:
        """The former ids of all provisions with their code, such as `ibc.old`, each with the id of today."""
        return {f"{c.id}.{old}": f"{c.id}.{new}" for c in self.codes.values() for old, new in c.aliases.items()}

    def code(self, name: str, place: Place = NOWHERE) -> Code:
        """The code called `name`.

        Raises:
            ClausewayError: when there is none, with the nearest.
        """
        if name not in self.codes:
            known = [code for code in self.codes if not self.codes[code].always]
            raise ClausewayError(Problem(place, f"no code {name}", one_of(known, 20), nearest(name, known) or ""))
        return self.codes[name]


def load(extra: Sequence[Path] = (), shipped: Path | None = None) -> Library:
    """Read the shipped rules and, on top of them, a person's own folders.

    Raises:
        ClausewayError: with all the problems of all files whose shape is wrong.
    """
    root = shipped or shipped_rules()
    reader = _Reader(root / "schemas")
    roots = [(root, "rules")]
    for folder in extra:
        # A name that is no text in UTF-8 could not be printed.
        label = str(folder).encode("utf-8", "backslashreplace").decode()
        if not os.path.isdir(folder):
            raise ClausewayError(Problem(Place(label), "no such folder", "a folder of rules"))
        if not any(
            path.name in ("codes", "facts", "jurisdictions") and os.path.isdir(path) for path in entries_of(folder)
        ):
            expected = "a folder with codes, facts or jurisdictions in it"
            raise ClausewayError(Problem(Place(label), "not a folder of rules", expected))
        roots.append((folder, label))
    lists: list[Node] = []
    kinds: list[Node] = []
    codes: dict[str, _CodeFiles] = {}
    local = _LocalFiles()
    for folder, label in roots:
        for path in yaml_files(folder / "facts"):
            named = f"{label}/facts/{path.name}"
            if path.stem == "lists":
                lists.extend(reader.read(path, named, "lists"))
            else:
                kinds.extend(reader.read(path, named, "facts"))
        for code_folder in _folders(folder / "codes"):
            files = codes.setdefault(code_folder.name, _CodeFiles())
            _read_code(reader, code_folder, f"{label}/codes/{code_folder.name}", files)
        for place in _folders(folder / "jurisdictions"):
            _read_local(reader, place, f"{label}/jurisdictions/{place.name}", local)
    reader.finish()
    vocabulary = read_vocabulary(lists, kinds)
    made = {name: _code(name, files, reader) for name, files in sorted(codes.items())}
    reader.finish()
    found = {name: code for name, code in made.items() if code is not None}
    library = Library(
        vocabulary,
        found,
        tuple(folder for folder, _ in roots),
        tuple(local.layers),
        tuple(local.inserted),
        read_jurisdictions(local.adoptions),
    )
    check_local(library)
    return library


def with_layers(library: Library, layers: Sequence[Node]) -> Library:
    """The library with further files of amendments, as they were read; they are laid only where they are named.

    Raises:
        ClausewayError: for a layer whose shape is wrong, that is called like one which is there, or that may not do
            what it does where it stands.
    """
    schemas = library.folders[0] / "schemas"
    problems = [problem for layer in layers for problem in check_shape(layer, "layer", schemas)]
    if problems:
        raise ClausewayError(problems)
    known = {name.text: layer.place for layer in library.layers if (name := layer.get("layer")) is not None}
    for layer in layers:
        name = layer.get("layer")
        if name is not None and name.text in known:
            expected = "a name of its own"
            found = f"the layer {name.text} is there already: {known[name.text]}"
            raise ClausewayError(Problem(name.place, found, expected))
    made = replace(library, layers=(*library.layers, *layers))
    check_local(made)
    return made


@lru_cache(maxsize=4096)
def _parsed(text: str, name: str, schema: str, schemas: Path) -> tuple[Node, tuple[Problem, ...]]:
    """A file with what is wrong with its shape; the same text of the same file is not looked at twice."""
    node = parse_yaml(text, name)
    return node, tuple(check_shape(node, schema, schemas))


class _Reader:
    """Reads files and collects what is wrong with them."""

    def __init__(self, schemas: Path) -> None:
        self.schemas = schemas
        self.problems: list[Problem] = []

    def read(self, path: Path, name: str, schema: str) -> Iterable[Node]:
        try:
            node, problems = _parsed(read_text(path, name=name), name, schema, self.schemas)
        except ClausewayError as error:
            self.problems.extend(error.problems)
            return []
        self.problems.extend(problems)
        return [] if problems else [node]

    def finish(self) -> None:
        if self.problems:
            raise ClausewayError(self.problems)


@dataclass
class _CodeFiles:
    code: Node | None = None
    sources: dict[str, Mapping[str, str]] = field(default_factory=dict)
    provisions: dict[str, Node] = field(default_factory=dict)
    clauses: list[ClauseFile] = field(default_factory=list)


@dataclass
class _LocalFiles:
    adoptions: list[Node] = field(default_factory=list)
    layers: list[Node] = field(default_factory=list)
    inserted: list[Node] = field(default_factory=list)


def _read_local(reader: _Reader, folder: Path, label: str, files: _LocalFiles) -> None:
    """The files of one jurisdiction; what is not understood is refused, so that no law is left out unseen."""
    for path in entries_of(folder):
        if path.is_dir() and path.name == "provisions":
            for file in yaml_files(path):
                files.inserted.extend(reader.read(file, f"{label}/provisions/{file.name}", "provision"))
        elif path.suffix == ".yaml" and path.is_file():
            kind = "adoptions" if path.stem == "adoptions" else "layer"
            found = files.adoptions if kind == "adoptions" else files.layers
            found.extend(reader.read(path, f"{label}/{path.name}", kind))
        elif path.suffix != ".md":
            expected = "adoptions.yaml, layers that end in .yaml, notes that end in .md, and a folder provisions"
            near = f"{path.stem}.yaml" if path.suffix == ".yml" else ("provisions" if path.is_dir() else "")
            reader.problems.append(Problem(Place(f"{label}/{path.name}"), "this is not read", expected, near))


def _folders(parent: Path) -> list[Path]:
    return [path for path in entries_of(parent) if path.is_dir() and not path.name.startswith("_")]


def _read_code(reader: _Reader, folder: Path, label: str, files: _CodeFiles) -> None:
    for path in yaml_files(folder):
        named = f"{label}/{path.name}"
        if path.stem == "code":
            for node in reader.read(path, named, "code"):
                if files.code is not None:
                    reader.problems.append(Problem(node.place, "this code is described twice", "one code.yaml"))
                files.code = node
        elif path.stem == "sources":
            for node in reader.read(path, named, "sources"):
                inner = node.get("sources")
                for source, entry in inner.items() if inner is not None else ():
                    files.sources[source] = {key: value.text or "" for key, value in entry.items()}
        elif path.stem == "clauses":
            files.clauses += [ClauseFile(node, folder.name) for node in reader.read(path, named, "clauses")]
        elif path.stem != "mutants":
            for node in reader.read(path, named, "provision"):
                _add_provision(reader, files, node, path.stem, folder.name)


def _add_provision(reader: _Reader, files: _CodeFiles, node: Node, stem: str, code: str) -> None:
    identity = node.get("id")
    written = identity.text if identity is not None else None
    if identity is None or written != stem:
        reader.problems.append(Problem(node.place, f"the id is {written}, the file is called {stem}", "the same name"))
        return
    named = node.get("code")
    if named is None or named.text != code:
        reader.problems.append(Problem((named or node).place, f"code {named.text if named else 'missing'}", code))
    if stem in files.provisions:
        first = files.provisions[stem].place
        reader.problems.append(
            Problem(
                identity.place, f"the provision {stem} is there already: {first}", "a new id, or a layer that amends it"
            )
        )
        return
    files.provisions[stem] = node


def _code(name: str, files: _CodeFiles, reader: _Reader) -> Code | None:
    node = files.code
    if node is None:
        place = next(iter(files.provisions.values())).place if files.provisions else Place(name)
        reader.problems.append(Problem(place, f"the code {name} has no code.yaml", "code.yaml beside its provisions"))
        return None

    def text(key: str) -> str:
        inner = node.get(key) if node is not None else None
        return inner.text or "" if inner is not None else ""

    editions = node.get("editions")
    labels = tuple(e.text or "" for e in editions.elements()) if editions is not None else ()
    for provision in files.provisions.values():
        sections = provision.get("sections")
        for label, where in sections.items() if sections is not None else ():
            if label not in labels:
                reader.problems.append(
                    Problem(
                        where.key_place or where.place,
                        f"{name} has no edition {label}",
                        one_of(labels, 20),
                        nearest(label, labels) or "",
                    )
                )
    sources = Sources(files.sources)
    clauses, wrong = read_clauses(files.clauses, labels, sources, files.provisions)
    reader.problems += wrong
    reader.problems += wrong_aliases(files.provisions)
    spellings = node.get("cited_as")
    return Code(
        name,
        text("title"),
        text("publisher"),
        text("force"),
        text("about"),
        labels,
        sources,
        files.provisions,
        node,
        clauses,
        tuple(each.text or "" for each in spellings.elements()) if spellings is not None else (),
    )
