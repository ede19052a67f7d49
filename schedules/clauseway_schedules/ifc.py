"""Building models (IFC4 and IFC2X3): doors in, answers out; reading and writing happen in a process with limits."""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from clauseway.model.vocabulary import Kind, Vocabulary
from clauseway.text.problems import ClausewayError, Place, Problem
from clauseway.text.source import node_from_data
from clauseway_schedules.cell_value import CellTrouble, name_of, values_of
from clauseway_schedules.mapping import Column
from clauseway_schedules.openings import without_unused_sets
from clauseway_schedules.targets import target

LARGEST = 512 * 1024 * 1024
LONGEST_SECONDS = 600
_MOST_MEMORY = 6 * 1024**3
_START = b"ISO-10303-21;"
OWN = "Clauseway_Opening"
"""The property set of our own: its property names are facts as in a mapping (`locks/lock.kind`), its values text."""
COMMON = "Pset_DoorCommon"

_KINDS = {
    "SWING": "swinging",
    "SLIDING": "sliding",
    "FOLDING": "folding",
    "REVOLVING": "revolving",
    "ROLLINGUP": "overhead",
}
_KNOWN_COMMON = {"FireRating": "fire_rating", "SelfClosing": "leaves/leaf.self_closing"}
Data = dict[str, Any]


@dataclass(frozen=True, slots=True, order=True)
class Unread:
    """Something of a door in a model that was not understood."""

    door: str
    what: str
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class FromModel:
    """A file of openings out of a model, the schema it was in, and what was not understood."""

    data: Data
    schema: str
    doors: int
    unread: tuple[Unread, ...]


def read_model(path: Path, base: Mapping[str, Any], vocabulary: Vocabulary) -> FromModel:
    """The doors of a model as openings, laid over a base. What a model does not say stays unknown.

    Raises:
        ClausewayError: for a file that is no IFC model, or is too large or broken.
    """
    told = _child(path, ["read", str(path)])
    data: Data = copy.deepcopy(dict(base))
    kind = vocabulary.kinds["opening"]
    unread: list[Unread] = []
    openings: Data = data.setdefault("openings", {})
    for door in told["doors"]:
        name = _free_name(door, openings)
        if not name.startswith(name_of(door["tag"] or door["name"]) or "\0"):
            unread.append(
                Unread(name, "Tag", door["tag"] or door["name"], "no name can be made of it: its GlobalId is")
            )
        opening: Data = openings.setdefault(name, {})
        _set(opening, "model_id", {"value": door["guid"], "note": "GlobalId"})
        if door["name"]:
            _set(opening, "location", {"value": door["name"], "note": "Name"})
        _operation(opening, door["operation"])
        _places(data, opening, door)
        _common(opening, door["properties"].get(COMMON, {}), name, kind, vocabulary, unread)
        _own(opening, door["properties"].get(OWN, {}), name, kind, vocabulary, unread)
    without_unused_sets(data)
    return FromModel(data, told["schema"], len(told["doors"]), tuple(sorted(unread)))


def write_answers(path: Path, out: Path, answers: Mapping[str, Mapping[str, str]]) -> int:
    """A copy of a model with answers on its doors, by GlobalId; how many doors bear one.

    Raises:
        ClausewayError: for a model that cannot be read.
    """
    return int(_child(path, ["write", str(path), str(out)], json.dumps(answers))["written"])


def _child(path: Path, arguments: list[str], given: str = "") -> Any:
    def refuse(found: str, expected: str = "an IFC model (STEP text)") -> ClausewayError:
        return ClausewayError(Problem(Place(str(path)), found, expected))

    try:
        if path.stat().st_size > LARGEST:
            raise refuse(f"larger than {LARGEST // 1024 // 1024} MiB")
        with path.open("rb") as stream:
            if not stream.read(64).lstrip().startswith(_START):
                raise refuse("this is no IFC model")
    except OSError as error:
        raise refuse(f"this file cannot be read: {error.strerror}") from None
    try:
        import ifcopenshell  # noqa: F401
    except ImportError:
        raise refuse("models need ifcopenshell", "pip install 'clauseway[models]'") from None
    roots = [entry for entry in sys.path if entry]
    try:
        done = subprocess.run(
            [sys.executable, "-c", _LIMITED, *arguments],
            input=json.dumps(roots) + "\n" + given,
            capture_output=True,
            text=True,
            timeout=LONGEST_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise refuse(f"not read within {LONGEST_SECONDS} s") from None
    if done.returncode:
        said = done.stderr.strip().splitlines()
        raise refuse(f"this model cannot be read: {said[-1] if said else 'the reader broke down'}"[:200])
    try:
        return json.loads(done.stdout)
    except ValueError:
        raise refuse("this model cannot be read: the reader broke down") from None


_LIMITED = f"""
import json, sys
try:
    import resource
    resource.setrlimit(resource.RLIMIT_AS, ({_MOST_MEMORY}, {_MOST_MEMORY}))
except (ImportError, ValueError, OSError):
    pass
sys.path[:0] = json.loads(sys.stdin.readline())
from clauseway_schedules.ifc_child import main
raise SystemExit(main(sys.argv[1:]))
"""


def _free_name(door: Mapping[str, Any], openings: Data) -> str:
    """The tag, else the name, else the GlobalId; what is taken already gets the GlobalId behind it."""
    own = name_of(door["tag"] or door["name"])
    guid = name_of(door["guid"].replace("$", "_"))
    if not own or own == "none":
        return f"door-{guid}"
    return own if own not in openings else f"{own}.{guid}"


def _set(thing: Data, name: str, value: Any) -> None:
    thing.setdefault(name, value)


def _operation(opening: Data, operation: str) -> None:
    """What the operation says: a double swing is a leaf that swings both ways, a double door is a pair."""
    note = f"OperationType {operation}"
    found = next((kind for word, kind in _KINDS.items() if word in operation), "")
    if not found:
        return
    _set(opening, "kind", {"value": found, "note": note})
    if operation.startswith("SWING_FIXED"):
        return
    pair = operation.startswith("DOUBLE_DOOR")
    _set(opening, "is_pair", {"value": str(pair).lower(), "note": note})
    acting = {"SINGLE_SWING": "single-acting", "DOUBLE_SWING": "double-acting"}.get(operation.rpartition("_")[0])
    if acting and not pair:
        opening.setdefault("leaves", {}).setdefault("leaf", {})["swing"] = {"value": acting, "note": note}


def _places(data: Data, opening: Data, door: Mapping[str, Any]) -> None:
    """The spaces on the two sides and their storey; three or more spaces say nothing of which is where."""
    storey = name_of(door["storey"])
    if storey:
        data.setdefault("storeys", {}).setdefault(storey, {})
    spaces = [name for name in (name_of(each) for each in door["spaces"]) if name]
    if not 0 < len(spaces) <= 2:
        return
    for number, space in enumerate(spaces, 1):
        room: Data = data.setdefault("rooms", {}).setdefault(space, {})
        if storey:
            room.setdefault("storey", storey)
        opening.setdefault("sides", {}).setdefault(f"side-{number}", {}).setdefault("space", space)


def _common(
    opening: Data, properties: Mapping[str, str], name: str, kind: Kind, vocabulary: Vocabulary, unread: list[Unread]
) -> None:
    pair = opening.get("is_pair", {}).get("value") != "false"
    for key, text in sorted(properties.items()):
        if key in _KNOWN_COMMON and not (pair and _KNOWN_COMMON[key].startswith("leaves")):
            _fact(opening, _KNOWN_COMMON[key], f"{COMMON}.{key}", text, name, kind, vocabulary, unread)


def _own(
    opening: Data, properties: Mapping[str, str], name: str, kind: Kind, vocabulary: Vocabulary, unread: list[Unread]
) -> None:
    for key, text in sorted(properties.items()):
        _fact(opening, key, f"{OWN}.{key}", text, name, kind, vocabulary, unread)


def _fact(
    opening: Data,
    written: str,
    source: str,
    text: str,
    name: str,
    kind: Kind,
    vocabulary: Vocabulary,
    unread: list[Unread],
) -> None:
    node = node_from_data("", source)
    try:
        to = target(written, kind, vocabulary, node)
        (said,) = values_of(text, Column(source, (written,), "", (), "", True, node), (to,), vocabulary)
    except (ClausewayError, CellTrouble) as error:
        why = error.problems[0].found if isinstance(error, ClausewayError) else str(error)
        unread.append(Unread(name, source, text, why))
        return
    if said.value is None:
        return
    at = opening
    for step in to.steps[:-1]:
        at = at.setdefault(step, {})
    at.setdefault(to.steps[-1], {"value": said.value, "note": source} if to.fact is not None else said.value)
