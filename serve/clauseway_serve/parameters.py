"""The parameters of each question, as options of the command of the same name: an unknown one is an error."""

from __future__ import annotations

from typing import Annotated, Literal

from annotated_types import Len
from pydantic import BaseModel, ConfigDict, Field

_NAME = r"^[^\x00-\x1f\x7f]*$"
_DAY = r"^([0-9]{4}-[0-9]{2}-[0-9]{2})?$"
_CODE = r"^[a-z0-9]+(-[a-z0-9]+)*@[0-9]{4}[0-9A-Za-z.+:-]*$"

Name = Annotated[str, Field(max_length=200, pattern=_NAME)]
Edition = Annotated[str, Field(max_length=60, pattern=_CODE)]


class Asked(BaseModel):
    """The base of all parameters."""

    model_config = ConfigDict(extra="forbid", populate_by_name=False)


class Rules(Asked):
    """Which codes are asked."""

    code: Annotated[list[Edition], Len(0, 12)] = Field(
        default=[], description="A code and edition, such as ibc@2021; may be repeated.", examples=[["ibc@2021"]]
    )
    layer: Annotated[list[Name], Len(0, 24)] = Field(
        default=[], description="A layer of amendments by name; may be repeated, applied in order."
    )


class Placed(Rules):
    """Which law governs a file of openings; it may say so itself."""

    in_: Annotated[str, Field(max_length=40, pattern=_NAME)] = Field(
        default="", alias="in", description="The jurisdiction whose law governs, such as US-CA; not beside `code`."
    )
    on: Annotated[str, Field(pattern=_DAY)] = Field(
        default="", description="The date of the check; it stands for dates of the project that are not given."
    )
    known: Annotated[str, Field(pattern=_DAY)] = Field(default="", description="The law as it was known on this day.")
    choose: Name = Field(default="", description="The adoption that the applicant chooses, where one may.")
    authority: Annotated[list[Name], Len(0, 24)] = Field(
        default=[], description="An authority that governs the building; may be repeated."
    )
    name: Name = Field(
        default="openings.yaml", min_length=1, description="What the file is called, in places and in the report."
    )


class Governed(Placed):
    """The same, and what counts that nobody has verified."""

    accept_memory: bool = Field(default=False, description="Let permissions excuse that nobody has verified.")


class Check(Governed):
    """Parameters of a check."""

    opening: Annotated[list[Name], Len(0, 200)] = Field(default=[], description="Only this opening; may be repeated.")
    strict: bool = Field(default=False, description="Decide nothing that rests on memory: all of it is open.")


class Needs(Governed):
    """Parameters of the question what an opening needs."""

    opening: Annotated[list[Name], Len(0, 200)] = Field(default=[], description="Only this opening; may be repeated.")
    arrangement: Name = Field(default="", description="Only this arrangement, such as sensor-release.")


class Repair(Governed):
    """Parameters of the question for the least change."""

    opening: Annotated[list[Name], Len(0, 200)] = Field(default=[], description="Only this opening; may be repeated.")
    most: int = Field(default=3, ge=1, le=9, description="How many designs are given.")


class Trace(Governed):
    """Parameters of a trace."""

    opening: Name = Field(min_length=1, description="The opening, room or other thing that the finding is about.")
    finding: Name = Field(min_length=1, description="The id of the finding, such as ibc.free-egress/always-free.")
    subject: Name = Field(default="", description="The lock, leaf or passage, where several have this finding.")
    depth: int = Field(default=0, ge=0, le=60, description="How many levels are given; 0 gives all.")


class Handover(Governed):
    """Parameters of what an installer takes away."""

    opening: Name = Field(min_length=1, description="The opening.")
    arrangement: Name = Field(default="", description="Meant for locks that are not meant as anything yet.")


class Interview(Placed):
    """Parameters of the next question."""

    opening: Name = Field(min_length=1, description="The opening that is asked about.")
    question: Name = Field(default="", description="The id of the question that `answer` is for.")
    answer: Annotated[str, Field(max_length=400, pattern=_NAME)] = Field(
        default="", description="The answer, as a person would type it."
    )
    left: Annotated[list[Name], Len(0, 200)] = Field(
        default=[], description="The id of a question that nobody can answer; may be repeated."
    )


class Waivers(Placed):
    """Parameters of a look at waivers."""


class Affects(Placed):
    """Parameters of the question what rests on something, in the rules and in described openings."""

    id: Name = Field(min_length=1, description="A clause, provision, parameter, fact, computation or layer.")


class RulesAffected(Rules):
    """Parameters of the question what rests on something, in the rules alone."""

    id: Name = Field(min_length=1, description="A clause, provision, parameter, fact, computation or layer.")
    in_: Annotated[str, Field(max_length=40, pattern=_NAME)] = Field(
        default="", alias="in", description="The jurisdiction whose law is asked, such as US-CA; not beside `code`."
    )
    on: Annotated[str, Field(pattern=_DAY)] = Field(default="", description="The day whose law is asked.")
    choose: Name = Field(default="", description="The adoption that the applicant chooses, where one may.")


class Record(Rules):
    """Parameters of a record; a file that names its place is judged by the law of that place."""

    on: Annotated[str, Field(pattern=_DAY)] = Field(default="", description="The date of the answer, recorded in it.")
    name: Name = Field(default="openings.yaml", min_length=1, description="What the file is called in the record.")
    accept_memory: bool = Field(default=False, description="Let permissions excuse that nobody has verified.")
    strict: bool = Field(default=False, description="Decide nothing that rests on memory: all of it is open.")


class Verify(Asked):
    """Parameters of a verification."""

    name: Name = Field(default="record.json", min_length=1, description="What the record is called in the answer.")
    inside: bool = Field(default=False, description="Do not decide by the rules of this server as well.")


class Sheet(Asked):
    """Parameters of a calculation sheet of a whole file."""

    name: Name = Field(default="openings.yaml", min_length=1, description="What the file is called in the sheet.")
    opening: Annotated[list[Name], Len(0, 200)] = Field(default=[], description="Only this opening; may be repeated.")


class Laws(Asked):
    """Parameters of a comparison of two laws."""

    a: Annotated[str, Field(max_length=400, pattern=_NAME)] = Field(
        min_length=1,
        description="What is compared: ibc@2021, ibc@2021,ada@2010, US-CA@2024-05-01; each with +LAYER for a draft.",
    )
    b: Annotated[str, Field(max_length=400, pattern=_NAME)] = Field(
        min_length=1, description="What it is compared with, written alike."
    )
    only: Name = Field(default="", description="Only what belongs to this provision.")


class Compare(Laws):
    """Parameters of a comparison of two laws for a file of openings."""

    name: Name = Field(default="openings.yaml", min_length=1, description="What the file is called in the answer.")
    accept_memory: bool = Field(default=False, description="Let permissions excuse that nobody has verified.")


class Explain(Rules):
    """Parameters of an explanation."""

    id: Name = Field(
        min_length=1,
        description="A provision, condition, parameter, fact, kind of thing, section or computation.",
        examples=["ibc.sensor-release", "lock.kind", "IBC 2021 1010.2.12"],
    )


class Cite(Asked):
    """Parameters of a look at citations."""

    text: Annotated[str, Field(max_length=2000)] = Field(
        min_length=1, description="One or more citations, alone or in a text.", examples=["IBC 2021 1010.2.11"]
    )


class Facts(Asked):
    """Parameters of a list of facts."""

    search: Name = Field(default="", description="Only facts that have this in their name or meaning.")
    chosen_by: Literal["", "given", "designer"] = Field(default="", description="Whose choice the facts are.")
    code: Annotated[list[Edition], Len(0, 12)] = Field(default=[], description="A code and edition; may be repeated.")


class Clauses(Asked):
    """Parameters of the tables of clauses."""

    code: Annotated[list[Name], Len(0, 12)] = Field(
        default=[],
        description="A code and edition, or a code for all its editions; may be repeated. None: the counts of all.",
        examples=[["ibc@2021"]],
    )
    standing: Annotated[list[Literal["encoded", "partly", "needs-human", "out-of-scope"]], Len(0, 4)] = Field(
        default=[], description="Only clauses of this standing; may be repeated."
    )
    layer: Annotated[list[Name], Len(0, 24)] = Field(default=[], description="A layer of amendments by name.")


class Computations(Asked):
    """Parameters of a list of computations."""

    search: Name = Field(default="", description="Only those that have this in their name, title or result.")


class Nothing(Asked):
    """No parameters."""
