"""The summary on the screen: what a mechanic wants to know before the pump is closed.

Words and signs carry everything; colour only repeats them, and only on a terminal.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TextIO

import click

from api.report.view import Highlight, PartRow, ReadingGroup, ReportView
from api.report.wording import NOT_SAID
from shared.units import SYMBOLS

_COLOURS = {"✓": "green", "✗": "red", "?": "yellow"}
_SIGN = re.compile(r"(?<!\S)[✓✗?](?= \w)")
#: For a terminal that cannot print them.
_PLAIN = str.maketrans(
    {"✓": "+", "✗": "x", "○": "o", "–": "-", "·": "-", "µ": "u", "±": "+/-", "“": '"', "”": '"', "°": "deg "}
)
_WIDTH = 100
"""Columns where nobody knows how wide the reader's screen is: into a file or another program."""
_NARROWEST, _WIDEST = 72, 120
"""Columns; a line longer than the latter is hard to follow with the eye."""
_CELL_LEAST = 8
#: A number and its unit stay on one line.
_BEFORE_UNIT = re.compile(
    r"(?<=\d) (?=(?:{})(?!\w))".format("|".join(re.escape(symbol) for symbol in SYMBOLS.values() if symbol))
)
_UNBROKEN = "\u00a0"


def print_summary(view: ReportView, stream: TextIO | None = None) -> None:
    """Print the summary of a record."""
    stream = stream or sys.stdout
    coloured = _takes_colour(stream)
    width = shutil.get_terminal_size().columns if stream.isatty() else _WIDTH
    for line in summary_lines(view, max(_NARROWEST, min(width, _WIDEST))):
        shown = printable(line, stream.encoding)
        print(_SIGN.sub(_painted, shown) if coloured else shown, file=stream)


def _takes_colour(stream: TextIO) -> bool:
    # https://no-color.org: present and not empty, whatever its value.
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _painted(sign: re.Match[str]) -> str:
    return click.style(sign[0], fg=_COLOURS[sign[0]], bold=True)


def printable(text: str, encoding: str | None) -> str:
    """Return text that a stream of this encoding can print."""
    try:
        text.encode(encoding or "utf-8")
    except UnicodeEncodeError:
        return text.translate(_PLAIN).encode(encoding or "ascii", "replace").decode(encoding or "ascii")
    return text


def summary_lines(view: ReportView, width: int = _WIDTH) -> list[str]:
    """Return the summary line by line, without colour.

    Args:
        view: what to show.
        width: of the screen, columns.
    """
    facts = {fact.label: fact.value for fact in view.job}
    job = " · ".join(
        f"{label.lower()} {facts[label]}"
        for label in ("Work order", "Pump tag", "Serial number", "Technician")
    )
    lines = [*wrapped(f"{view.title}: {view.subtitle}", width), *wrapped(job, width), ""]
    lines += wrapped(f"{'✓' if view.ready else '?'} {view.standing.upper()}. {view.standing_text}", width)
    for title, rows in _sections(view):
        lines += ["", title.upper(), *columns(rows, width)] if rows else []
    lines += ["", "CAUTIONS"]
    lines += [line for text in view.cautions for line in wrapped(text, width, indent="  ")]
    return [*lines, "", *wrapped(view.closing, width)]


def _sections(view: ReportView) -> Iterator[tuple[str, Sequence[tuple[str, ...]]]]:
    yield "Readings as found", _reading_rows(view.found)
    yield "Readings as left", _reading_rows(view.left)
    yield "Part decisions", [_part_row(row) for row in view.parts if row.decision != NOT_SAID]
    yield "Deviations", [(f"✗ {d.kind}", d.text, d.when) for d in view.deviations]
    yield "Questions", [(f"? {q.text}", q.heard.when) for q in view.questions]
    yield "Never said", _highlight_rows(view.missing)
    told = [highlight for highlight in view.highlights if highlight.symbol == "!"]
    yield "Shop calculations", _highlight_rows(h for h in told if h.kind == "advice")
    yield "Recording and pictures", _highlight_rows(h for h in told if h.kind != "advice")


def _reading_rows(groups: Iterable[ReadingGroup]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    # What was not said at all stands under "never said".
    for group in (group for group in groups if group.said):
        for n, row in enumerate(group.rows):
            name = group.name if n == 0 else ""
            limits = group.limits if n == 0 else ""
            verdict = f"{row.symbol} {row.verdict_word}"
            rows.append((name, row.position, row.value, verdict, limits, row.heard.when))
    return rows


def _part_row(row: PartRow) -> tuple[str, ...]:
    decision = f"{row.decision}, {row.undecided}" if row.undecided else row.decision
    return (row.part, decision, f"sheet: {row.policy}" if row.policy else "", row.heard.when)


def _highlight_rows(highlights: Iterable[Highlight]) -> list[tuple[str, ...]]:
    return [(f"{h.symbol} {h.kind}", h.text, h.when) for h in highlights]


def columns(rows: Sequence[tuple[str, ...]], width: int) -> Iterator[str]:
    """Yield rows with their cells under one another; the widest columns wrap where a line is too long."""
    widths = _fitting([max(len(row[n]) for row in rows) for n in range(len(rows[0]))], width - 2)
    for row in rows:
        pieces = [_cut(cell, max(1, widths[n])) for n, cell in enumerate(row)]
        for line in range(max(1, *(len(piece) for piece in pieces))):
            cells = [piece[line] if line < len(piece) else "" for piece in pieces]
            shown = (cell.ljust(wide) for cell, wide in zip(cells, widths, strict=True) if wide)
            yield ("  " + "  ".join(shown)).rstrip()


def _fitting(widths: list[int], room: int) -> list[int]:
    """Return column widths that fit, taken off the widest ones; empty columns take no place."""
    spare = room - 2 * (sum(wide > 0 for wide in widths) - 1)
    fitting = list(widths)
    while sum(fitting) > spare and max(fitting) > _CELL_LEAST:
        fitting[fitting.index(max(fitting))] -= 1
    return fitting


def wrapped(text: str, width: int, *, indent: str = "") -> list[str]:
    """Return text in lines of at most so many columns, a number and its unit unparted."""
    return [indent + line for line in _cut(text, width - len(indent))] or [""]


def _cut(text: str, width: int) -> list[str]:
    lines = textwrap.wrap(_BEFORE_UNIT.sub(_UNBROKEN, text), width, break_on_hyphens=False)
    return [line.replace(_UNBROKEN, " ") for line in lines]
