"""Reads or writes one IFC file by ifcopenshell, in a process of its own that a broken file may take down with it.

`python -m clauseway_schedules.ifc_child read MODEL` prints the doors as JSON. `... write MODEL OUT` takes what to write
as JSON from standard input.
"""

from __future__ import annotations

import json
import sys
import uuid
from typing import Any

_SPACE = uuid.UUID("0b1d5f0e-59a1-5a70-8f3d-0f6d5e1f7b21")
ANSWERS = "Clauseway_Answer"
_MOST_TEXT = 4_000


def doors(model: Any) -> list[dict[str, Any]]:
    """What a model says of each door, in the order of their GlobalIds."""
    import ifcopenshell.util.element as element
    from ifcopenshell.util.unit import calculate_unit_scale

    scale = calculate_unit_scale(model)
    beside: dict[int, list[str]] = {}
    for boundary in model.by_type("IfcRelSpaceBoundary"):
        space, at = boundary.RelatingSpace, boundary.RelatedBuildingElement
        if space is not None and at is not None and at.is_a("IfcDoor"):
            name = str(space.Name or space.GlobalId)
            names = beside.setdefault(at.id(), [])
            if name not in names:
                names.append(name)
    found = []
    for door in model.by_type("IfcDoor"):
        container = element.get_container(door)
        while container is not None and not _is_storey(container):
            container = element.get_aggregate(container)
        kind = element.get_type(door)
        operation = getattr(door, "OperationType", None) or getattr(kind, "OperationType", None)
        found.append(
            {
                "guid": door.GlobalId,
                "name": str(door.Name or ""),
                "tag": str(door.Tag or ""),
                "operation": str(operation or ""),
                "storey": str(container.Name or container.GlobalId) if container is not None else "",
                "spaces": sorted(beside.get(door.id(), [])),
                "width": door.OverallWidth * scale if door.OverallWidth else None,
                "height": door.OverallHeight * scale if door.OverallHeight else None,
                "properties": _properties(element.get_psets(door, psets_only=True)),
            }
        )
    return sorted(found, key=lambda each: str(each["guid"]))


def _is_storey(container: Any) -> bool:
    return bool(container.is_a("IfcBuildingStorey"))


def _properties(sets: dict[str, dict[str, Any]]) -> dict[str, dict[str, str]]:
    return {
        name: {key: _text(value) for key, value in properties.items() if key != "id" and value is not None}
        for name, properties in sets.items()
        if name in ("Pset_DoorCommon", "Clauseway_Opening")
    }


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return f"{value:.10g}"
    if isinstance(value, (list, tuple)):
        return ", ".join(_text(each) for each in value)
    return str(value)[:_MOST_TEXT]


def write(model: Any, answers: dict[str, dict[str, str]]) -> int:
    """Put a property set with texts on each door that is named by its GlobalId; an older one of the name goes."""
    written = 0
    for guid, texts in sorted(answers.items()):
        try:
            door = model.by_guid(guid)
        except RuntimeError:
            continue
        for relation in list(door.IsDefinedBy):
            if relation.is_a("IfcRelDefinesByProperties") and relation.RelatingPropertyDefinition.Name == ANSWERS:
                old = relation.RelatingPropertyDefinition
                model.remove(relation)
                for each in old.HasProperties:
                    model.remove(each)
                model.remove(old)
        properties = [
            model.create_entity(
                "IfcPropertySingleValue", Name=name, NominalValue=model.create_entity("IfcText", text[:_MOST_TEXT])
            )
            for name, text in texts.items()
        ]
        values = {"OwnerHistory": door.OwnerHistory}
        made = model.create_entity(
            "IfcPropertySet", GlobalId=_guid(guid, "set"), Name=ANSWERS, HasProperties=properties, **values
        )
        model.create_entity(
            "IfcRelDefinesByProperties", GlobalId=_guid(guid, "relation"), RelatedObjects=[door],
            RelatingPropertyDefinition=made, **values,
        )  # fmt: skip
        written += 1
    return written


def _guid(door: str, what: str) -> str:
    import ifcopenshell.guid

    return str(ifcopenshell.guid.compress(uuid.uuid5(_SPACE, f"{door}\n{what}").hex))


def main(arguments: list[str]) -> int:
    """Read or write, and say on standard error what is wrong."""
    import ifcopenshell

    try:
        model = ifcopenshell.open(arguments[1])
        if arguments[0] == "read":
            json.dump({"schema": str(model.schema), "doors": doors(model)}, sys.stdout)
            return 0
        number = write(model, json.load(sys.stdin))
        model.write(arguments[2])
        json.dump({"written": number}, sys.stdout)
        return 0
    except Exception as error:  # whatever a hostile model makes the library stumble over
        print(f"{type(error).__name__}: {error}"[:200].splitlines()[0], file=sys.stderr)
        return 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
