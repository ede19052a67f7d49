"""The options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Codes = Annotated[
    list[str] | None, typer.Option("--code", help="A code and edition, such as ibc@2021; may be repeated.")
]
Rules = Annotated[
    list[Path] | None, typer.Option("--rules", help="A folder of your own rules, on top of the shipped ones.")
]
Layers = Annotated[
    list[str] | None, typer.Option("--layer", help="A layer of amendments by name; may be repeated, applied in order.")
]
Strict = Annotated[bool, typer.Option("--strict", help="Decide nothing that rests on memory: all of it is open.")]
Memory = Annotated[bool, typer.Option("--accept-memory", help="Let permissions excuse that nobody has verified.")]
In = Annotated[
    str, typer.Option("--in", help="The jurisdiction whose law governs, such as US-CA.", metavar="JURISDICTION")
]
On = Annotated[
    str,
    typer.Option(
        "--on",
        help="The date of the check; it stands for dates of the project that are not given.",
        metavar="YYYY-MM-DD",
    ),
]
Known = Annotated[str, typer.Option("--known", help="The law as it was known on this day.", metavar="YYYY-MM-DD")]
Choose = Annotated[str, typer.Option("--choose", help="The adoption that the applicant chooses, where one may.")]
Authorities = Annotated[
    list[str] | None, typer.Option("--authority", help="An authority that governs the building; may be repeated.")
]
