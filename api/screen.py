"""The summary on the screen: what a mechanic wants to know before the pump is closed.

Words and signs carry everything; colour only repeats them, and only on a terminal.
"""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TextIO

import click

from api.report.view import Highlight, ReadingGroup, ReportView

_COLOURS = {"✓": "green", "✗": "red", "?": "yellow"}
_SIGN = re.compile(r"(?<!\S)[✓✗?](?= \w)")
#: For a terminal that cannot print them.
_PLAIN = str.maketrans(
    {"✓": "+", "✗": "x", "○": "o", "–": "-", "·": "-", "µ": "u", "±": "+/-", "“": '"', "”": '"', "°": "deg "}
)
_WIDTH = 100


def print_summary(view: ReportView, stream: TextIO | None = None) -> None:
    """Print the summary of a record."""
    stream = stream or sys.stdout
    coloured = stream.isatty()
    for line in summary_lines(view):
        shown = printable(line, stream.encoding)
        print(_SIGN.sub(_painted, shown) if coloured else shown, file=stream)


def _painted(sign: re.Match[str]) -> str:
    return click.style(sign[0], fg=_COLOURS[sign[0]], bold=True)


def printable(text: str, encoding: str | None) -> str:
    """Return text that a stream of this encoding can print."""
    try:
        text.encode(encoding or "utf-8")
    except UnicodeEncodeError:
        return text.translate(_PLAIN).encode(encoding or "ascii", "replace").decode(encoding or "ascii")
    return text


def summary_lines(view: ReportView) -> list[str]:
    """Return the summary line by line, without colour."""
    facts = {fact.label: fact.value for fact in view.job}
    job = [
        f"{label.lower()} {facts[label]}"
        for label in ("Work order", "Pump tag", "Serial number", "Technician")
    ]
    lines = [f"{view.title}: {view.subtitle}", " · ".join(job), ""]
    lines += _wrapped(f"{'✓' if view.ready else '?'} {view.standing.upper()}. {view.standing_text}")
    lines += _section("Readings as found", _reading_rows(view.found))
    lines += _section("Readings as left", _reading_rows(view.left))
    decided = [row for row in view.parts if row.decision != "not said"]
    lines += _section(
        "Part decisions",
        [
            (row.part, row.decision, f"sheet: {row.policy}" if row.policy else "", row.heard.when)
            for row in decided
        ],
    )
    lines += _section("Deviations", [(f"✗ {d.kind}", d.text, d.when) for d in view.deviations])
    lines += _section("Questions", [(f"? {q.text}", q.heard.when) for q in view.questions])
    lines += _section("Never said", _highlight_rows(view.missing))
    lines += _section("Recording", _highlight_rows(h for h in view.highlights if h.symbol == "!"))
    lines += ["", "CAUTIONS", *(line for text in view.cautions for line in _wrapped(text, indent="  "))]
    lines += ["", *_wrapped(view.closing)]
    return lines


def _reading_rows(groups: Iterable[ReadingGroup]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for group in groups:
        for n, row in enumerate(group.rows):
            name = group.name if n == 0 else ""
            limits = group.limits if n == 0 else ""
            verdict = f"{row.symbol} {row.verdict_word}"
            rows.append((name, row.position, row.value, verdict, limits, row.heard.when))
    return rows


def _highlight_rows(highlights: Iterable[Highlight]) -> list[tuple[str, ...]]:
    return [(f"{h.symbol} {h.kind}", h.text, h.when) for h in highlights]


def _section(title: str, rows: Sequence[tuple[str, ...]]) -> list[str]:
    return ["", title.upper(), *_columns(rows)] if rows else []


def _columns(rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    """Yield rows with their cells under one another; the widest column wraps where a line is too long."""
    widths = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    widest = widths.index(max(widths))
    spare = _WIDTH - 2 - 2 * (len(widths) - 1) - sum(w for n, w in enumerate(widths) if n != widest)
    widths[widest] = min(widths[widest], max(20, spare))
    for row in rows:
        pieces = [
            textwrap.wrap(cell, widths[n]) or [""] if n == widest else [cell] for n, cell in enumerate(row)
        ]
        for line in range(len(pieces[widest])):
            cells = [piece[line] if line < len(piece) else "" for piece in pieces]
            yield (
                "  "
                + "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()
            )


def _wrapped(text: str, *, indent: str = "") -> list[str]:
    return textwrap.wrap(text, _WIDTH, initial_indent=indent, subsequent_indent=indent) or [""]
