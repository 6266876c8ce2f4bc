"""How the time of a search and of a lessons page grows with the number of rebuilds, as a drawing.

``python -m bench.archive_growth FIGURES.json … --out growth.svg`` draws what ``python -m bench archive`` and
``python -m bench.archive_kept`` measured; both draw their own by themselves. ``--keep FILE.json`` writes the
few figures that the drawing is made of, with commit and command, so that it can be drawn again.
"""

from __future__ import annotations

import argparse
import io
import json
import sys
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import matplotlib
from matplotlib.figure import Figure

#: Milliseconds, 95 of 100, to reach.
SEARCH_MS, PAGE_MS = 200, 300
_PANELS = (("search_p95_ms", "searches", SEARCH_MS), ("lessons_p95_ms", "pages of lessons", PAGE_MS))
_MARKS = {"SQLite": ("o", "-"), "PostgreSQL": ("s", "--")}
_INK, _GREY, _RED = "#1a1a1a", "#5a5a5a", "#a3001b"


@dataclass(frozen=True)
class Grown:
    """One kind of database at several sizes."""

    database: str
    commit: str
    command: str
    rebuilds: list[int]
    search_p95_ms: list[float]
    lessons_p95_ms: list[float]


def grown_of(report: dict[str, Any]) -> list[Grown]:
    """Return the curves that a report of the bench holds; none where it measured no archive.

    Args:
        report: as it was written.
    """
    archive = report.get("archive", {})
    curves = {
        "SQLite": archive.get("sqlite"),
        "PostgreSQL": report.get("archive_kept") or archive.get("postgresql"),
    }
    return [
        Grown(
            database, report.get("commit", ""), report.get("command", ""),
            [one["rebuilds"] for one in found["curve"]], [one["search_p95_ms"] for one in found["curve"]],
            [one["lessons_p95_ms"] for one in found["curve"]],
        )
        for database, found in curves.items()
        if isinstance(found, dict)
    ]  # fmt: skip


def growth_drawing(curves: Sequence[Grown]) -> str:
    """Return the drawing (SVG): milliseconds over rebuilds, and the line that is to be kept below.

    The same figures give the same bytes: no date, and names that depend on nothing else.

    Args:
        curves: at least one; of each kind of database one.
    """
    with matplotlib.rc_context(
        {"svg.fonttype": "none", "svg.hashsalt": "growth", "font.family": "sans-serif"}
    ):
        drawing = Figure(figsize=(9, 3.6), layout="constrained")
        for place, (name, shown, reach) in enumerate(_PANELS, 1):
            axes = drawing.add_subplot(1, len(_PANELS), place)
            for one in curves:
                mark, line = _MARKS[one.database]
                times = getattr(one, name)
                axes.plot(one.rebuilds, times, marker=mark, linestyle=line, color=_INK, label=one.database)
                for x, y in zip(one.rebuilds, times, strict=True):
                    axes.annotate(
                        f"{y:.0f}", (x, y), (0, 7), textcoords="offset points", ha="center", fontsize=9
                    )
            axes.axhline(reach, color=_RED, linewidth=1.5)
            axes.text(0.02, reach - 6, f"to reach: {reach} ms", color=_RED, va="top", fontsize=9,
                      transform=axes.get_yaxis_transform())  # fmt: skip
            sizes = sorted({size for one in curves for size in one.rebuilds})
            axes.set_xscale("log")
            axes.set_xticks(sizes, [f"{size:,}".replace(",", " ") for size in sizes], rotation=35, fontsize=9)
            axes.set_xticks([], minor=True)
            axes.set_ylim(0, max(reach, *(max(getattr(one, name)) for one in curves)) * 1.12)
            axes.set_title(f"95 of 100 {shown}, ms", fontsize=11)
            axes.set_xlabel("rebuilds in the archive", color=_GREY)
            axes.spines[["top", "right"]].set_visible(False)
            axes.legend(frameon=False, fontsize=9)
        written = io.StringIO()
        drawing.savefig(written, format="svg", metadata={"Date": None, "Title": "Growth with the archive"})
    return "\n".join(line.rstrip() for line in written.getvalue().splitlines()) + "\n"


def draw_beside(path: Path, report: dict[str, Any]) -> Path | None:
    """Draw the growth that a report holds beside it; return where, or None where it holds none.

    Args:
        path: of the report.
        report: as it was written there.
    """
    curves = grown_of(report)
    if not curves:
        return None
    drawing = path.with_name(f"{path.stem}-archive-growth.svg")
    drawing.write_text(growth_drawing(curves), encoding="utf-8")
    return drawing


def main(arguments: list[str]) -> int:
    """Draw as the command line says; return an exit status."""
    parser = argparse.ArgumentParser(prog="python -m bench.archive_growth", description=__doc__)
    parser.add_argument("figures", type=Path, nargs="+", help="written by the bench, or by --keep")
    parser.add_argument("--out", type=Path, required=True, help="the drawing")
    parser.add_argument("--keep", type=Path, help="the figures it is made of")
    wanted = parser.parse_args(arguments)
    found: dict[str, Grown] = {}
    for path in wanted.figures:
        report = json.loads(path.read_text("utf-8"))
        curves = [Grown(**one) for one in report] if isinstance(report, list) else grown_of(report)
        found |= {one.database: one for one in curves}
    if not found:
        print("bench: no archive was measured in these; run python -m bench archive", file=sys.stderr)
        return 2
    curves = [found[name] for name in _MARKS if name in found]
    wanted.out.write_text(growth_drawing(curves), encoding="utf-8")
    if wanted.keep:
        wanted.keep.write_text(json.dumps([asdict(one) for one in curves], indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
