"""Issues for building models in the BIM Collaboration Format (buildingSMART BCF-XML 2.1 and 3.0).

One topic for each door that does not comply, waits for an approval or is not decided. The same reports give the same
bytes; ids follow from the names of project and door.
"""

from __future__ import annotations

import io
import uuid
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from clauseway.answers.report import CAUTION
from clauseway.text.problems import NOWHERE, ClausewayError, Problem
from clauseway_reports.words import VERDICTS, clause_of

VERSIONS = ("2.1", "3.0")
AUTHOR = "clauseway"
_SPACE = uuid.UUID("6f0c2f0a-0d55-5b1e-9c55-1c9a5c1f4a51")
_PRIORITIES = {"does-not-comply": "High", "needs-approval": "Normal", "undetermined": "Normal"}
_TYPES = {"does-not-comply": "Does not comply", "needs-approval": "Needs approval", "undetermined": "Not decided"}
_STATUS = "Open"
_EARLIEST = (1980, 1, 1, 0, 0, 0)
_MOST_LINES = 40


@dataclass(frozen=True, slots=True)
class Topic:
    """One issue: the files that it takes in an archive, and its labels."""

    files: Mapping[str, bytes]
    labels: tuple[str, ...]


def bcf(reports: Sequence[Mapping[str, Any]], model_ids: Mapping[str, str], version: str, on: str) -> bytes:
    """The archive of all topics; `model_ids` are the IFC GlobalIds of openings, `on` the date that topics bear.

    Raises:
        ClausewayError: for a version that is not written, or without a date.
    """
    check_asked(version, on)
    topics = [
        topic_of(door, (report["project"], report["file"]), model_ids.get(door["id"], ""), version, on)
        for report in reports
        for door in report["openings"]
    ]
    return archive([topic for topic in topics if topic is not None], version)


def check_asked(version: str, on: str) -> None:
    """Refuse what cannot be written, before anything is checked.

    Raises:
        ClausewayError: for a version that is not written, or without a date.
    """
    if version not in VERSIONS:
        raise ClausewayError(Problem(NOWHERE, f"BCF {version}", " or ".join(VERSIONS)))
    if not on:
        raise ClausewayError(Problem(NOWHERE, "issues without a date", "--on, the date that they bear"))


def topic_of(door: Mapping[str, Any], source: tuple[str, str], model_id: str, version: str, on: str) -> Topic | None:
    """The issue on one door of a project and file; none where there is nothing to do."""
    if door["verdict"] not in _TYPES:
        return None
    name = str(uuid.uuid5(_SPACE, "\n".join((*source, door["id"]))))
    return Topic(_topic(door, name, model_id, version, on), tuple(_labels(door)))


def archive(topics: Iterable[Topic], version: str) -> bytes:
    """The archive of some issues; the same ones give the same bytes."""
    files: dict[str, bytes] = {"bcf.version": _version(version)}
    labels: set[str] = set()
    for topic in topics:
        files |= topic.files
        labels |= {*topic.labels}
    if version == "3.0":
        files["extensions.xml"] = _extensions(sorted(labels))
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for path, data in sorted(files.items()):
            packed.writestr(zipfile.ZipInfo(path, _EARLIEST), data, zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _written(root: Element) -> bytes:
    indent(root)
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode").encode() + b"\n"


def _text(parent: Element, name: str, text: str) -> Element:
    element = SubElement(parent, name)
    element.text = "".join(character for character in text if character >= " " or character in "\n\t")
    return element


def _version(version: str) -> bytes:
    root = Element("Version", VersionId=version)
    if version == "2.1":
        _text(root, "DetailedVersion", version)
    return _written(root)


def _extensions(labels: Sequence[str]) -> bytes:
    """The words that topics use, which version 3.0 asks to be listed."""
    root = Element("Extensions")
    lists = (
        ("TopicTypes", "TopicType", list(_TYPES.values())),
        ("TopicStatuses", "TopicStatus", [_STATUS, "Closed"]),
        ("Priorities", "Priority", list(dict.fromkeys(_PRIORITIES.values()))),
        ("TopicLabels", "TopicLabel", list(labels)),
        ("Users", "User", [AUTHOR]),
    )
    for outer, inner, words in lists:
        parent = SubElement(root, outer)
        for word in words:
            _text(parent, inner, word)
    return _written(root)


def _labels(door: Mapping[str, Any]) -> list[str]:
    unmet = [f for f in door["findings"] if f["verdict"] == "unmet" and f["of"] == "requirement"]
    return list(dict.fromkeys(clause_of(c) for finding in unmet for c in finding["citations"] if c["section"]))


def _topic(door: Mapping[str, Any], name: str, model_id: str, version: str, on: str) -> dict[str, bytes]:
    new = version == "3.0"
    root = Element("Markup")
    topic = SubElement(root, "Topic", Guid=name, TopicType=_TYPES[door["verdict"]], TopicStatus=_STATUS)
    place = f", {door['location']}" if door["location"] else ""
    _text(topic, "Title", f"{door['id']}{place}: {VERDICTS[door['verdict']]}")
    _text(topic, "Priority", _PRIORITIES[door["verdict"]])
    labels = _labels(door)
    if new and labels:
        outer = SubElement(topic, "Labels")
        for label in labels:
            _text(outer, "Label", label)
    elif labels:
        for label in labels:
            _text(topic, "Labels", label)
    _text(topic, "CreationDate", f"{on}T00:00:00Z")
    _text(topic, "CreationAuthor", AUTHOR)
    _text(topic, "Description", _description(door))
    if not model_id:
        return {f"{name}/markup.bcf": _written(root)}
    view = str(uuid.uuid5(_SPACE, f"{name}\nview"))
    file = "viewpoint.bcfv"
    if new:
        point = SubElement(SubElement(topic, "Viewpoints"), "ViewPoint", Guid=view)
    else:
        point = SubElement(root, "Viewpoints", Guid=view)
    _text(point, "Viewpoint", file)
    return {f"{name}/markup.bcf": _written(root), f"{name}/{file}": _view(view, model_id)}


def _description(door: Mapping[str, Any]) -> str:
    """What is not met, what must be approved and what is open, with clauses; the caution last."""
    lines: list[str] = []
    for verdict, heading in (("unmet", "Not met"), ("needs-approval", "To approve"), ("undetermined", "Open")):
        found = [f for f in door["findings"] if f["verdict"] == verdict and f["of"] == "requirement"]
        for finding in found:
            clause = clause_of(finding["citations"][0]) if finding["citations"] else finding["id"]
            memory = "; from memory" if finding["memory"] else ""
            todo = f" {finding['remedy']}" if finding["remedy"] else ""
            lines.append(f"{heading}: {finding['says']}{todo} ({clause}{memory})")
    if len(lines) > _MOST_LINES:
        lines = [*lines[:_MOST_LINES], f"and {len(lines) - _MOST_LINES} more"]
    return "\n".join([*lines, CAUTION])


def _view(name: str, model_id: str) -> bytes:
    root = Element("VisualizationInfo", Guid=name)
    components = SubElement(root, "Components")
    SubElement(SubElement(components, "Selection"), "Component", IfcGuid=model_id)
    SubElement(components, "Visibility", DefaultVisibility="true")
    return _written(root)
