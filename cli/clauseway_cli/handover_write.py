"""A page as Markdown or as HTML in one file without scripts or outside requests; and the form to fill in, as CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from html import escape

from clauseway.handover.results_in import COLUMNS
from clauseway.handover.sheet import Handover, Step
from clauseway.text.spreadsheet import FORMULA
from clauseway_cli.handover_page import Block, Bullets, Heading, Paragraph, accepted, instrument, what_and_how

_STYLE = """
body { font: 14px/1.45 system-ui, sans-serif; color: #1b1b1b; max-width: 76rem; margin: 2rem auto; padding: 0 1rem; }
h1 { font-size: 1.6rem; } h2 { font-size: 1.2rem; margin-top: 2.2rem; border-bottom: 2px solid #1b1b1b; }
h3 { font-size: 1rem; margin: 1.4rem 0 .4rem; }
ul { padding-left: 1.2rem; }
table { border-collapse: collapse; width: calc(100% - 2px); margin: .4rem 0 1rem; }
th, td { border: 1px solid #777; padding: .25rem .4rem; text-align: left; vertical-align: top; }
th, td { overflow-wrap: break-word; } td code { overflow-wrap: anywhere; }
th { background: #eee; } td:empty { min-width: 4.5rem; }
code { font-size: .85em; }
@page { size: landscape; margin: 12mm; }
@media print {
  body { font-size: 9.5px; max-width: none; margin: 0; padding: 0; }
  thead { display: table-header-group; } tr { break-inside: avoid; } h2, h3 { break-after: avoid; }
}
"""
_MARKED = re.compile(r"([\\`*_\[\]|])")
_SPACE = re.compile(r"\s+")
_CODE = re.compile(r"`([^`]*)`")


# --- Markdown -------------------------------------------------------------------------------------------


def markdown(blocks: Sequence[Block]) -> str:
    """The page as Markdown; what was typed stays text."""
    return "\n\n".join("\n".join(_markdown(block)) for block in blocks) + "\n"


def _markdown(block: Block) -> Iterator[str]:
    if isinstance(block, Heading):
        yield f"{'#' * block.level} {_plain(block.text)}"
    elif isinstance(block, Paragraph):
        yield "`".join(_pieces(block.text)) if block.marked else _plain(block.text)
    elif isinstance(block, Bullets):
        yield from (f"- {_plain(item)}" for item in block.items)
    else:
        yield f"| {' | '.join(_plain(cell) for cell in block.head)} |"
        yield f"|{' --- |' * len(block.head)}"
        for row in block.rows:
            yield f"| {' | '.join(_cell(cell, at in block.codes) for at, cell in enumerate(row))} |"


def _pieces(text: str) -> Iterator[str]:
    """The parts of a text between backquotes: every second one is code and stays as it is."""
    for at, part in enumerate(text.split("`")):
        yield part if at % 2 else _plain(part)


def _cell(text: str, code: bool) -> str:
    return f"`{text}`" if code and text and not set(text) & set("`|\n") else _plain(text)


def _plain(text: str) -> str:
    return _MARKED.sub(r"\\\1", _SPACE.sub(" ", escape(text, quote=False)))


# --- HTML -----------------------------------------------------------------------------------------------


def html(blocks: Sequence[Block]) -> str:
    """The page as one HTML file that prints on landscape paper."""
    title = next((block.text for block in blocks if isinstance(block, Heading)), "Handover")
    body = "\n".join("\n".join(_html(block)) for block in blocks)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n{body}\n</body>\n</html>\n"
    )


def _html(block: Block) -> Iterator[str]:
    if isinstance(block, Heading):
        yield f"<h{block.level}>{escape(block.text)}</h{block.level}>"
    elif isinstance(block, Paragraph):
        said = escape(block.text)
        said = _CODE.sub(r"<code>\1</code>", said) if block.marked else said
        yield f"<p>{said}</p>"
    elif isinstance(block, Bullets):
        yield "<ul>"
        yield from (f"<li>{escape(item)}</li>" for item in block.items)
        yield "</ul>"
    else:
        yield "<table>\n<thead><tr>" + "".join(f'<th scope="col">{escape(cell)}</th>' for cell in block.head)
        yield "</tr></thead>\n<tbody>"
        for row in block.rows:
            cells = [f"<code>{escape(c)}</code>" if at in block.codes else escape(c) for at, c in enumerate(row)]
            yield "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"
        yield "</tbody>\n</table>"


# --- the form -------------------------------------------------------------------------------------------


def form(found: Handover) -> str:
    """The steps of the acceptance test as CSV, with columns to fill in."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for step in found.acceptance:
        writer.writerow([_safe(cell) for cell in _line(found, step)])
    return stream.getvalue()


def _line(found: Handover, step: Step) -> tuple[str, ...]:
    words = (what_and_how(step), instrument(step), accepted(step))
    return (found.opening, step.id, step.phase, step.question, words[0], words[1], step.to, words[2], "", "", "")


def _safe(cell: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{cell}" if cell.startswith(FORMULA) else cell
