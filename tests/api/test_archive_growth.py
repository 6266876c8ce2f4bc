"""How the times of the archive grow is drawn from what was measured, and the docs show that drawing."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from bench.archive_growth import Grown, draw_beside, grown_of, growth_drawing, main

DOCS = Path(__file__).parents[2] / "docs" / "operation"
KEPT = DOCS / "archive-growth.json"
CURVE = [
    {"rebuilds": 2500, "search_p95_ms": 53.0, "lessons_p95_ms": 27.0},
    {"rebuilds": 5000, "search_p95_ms": 91.4, "lessons_p95_ms": 31.0},
]
REPORT = {
    "commit": "abc",
    "command": "a command",
    "archive": {"sqlite": {"curve": CURVE}, "postgresql": "left out"},
}


def written(drawing: str) -> list[str]:
    tree = etree.fromstring(drawing.encode())
    return [text.strip() for text in tree.itertext() if text.strip()]


def test_every_figure_stands_in_the_drawing_and_the_line_to_keep_below() -> None:
    (grown,) = grown_of(REPORT)
    assert (grown.database, grown.rebuilds, grown.search_p95_ms) == ("SQLite", [2500, 5000], [53.0, 91.4])
    words = written(growth_drawing([grown]))
    for figure in (
        "53",
        "91",
        "27",
        "31",
        "2 500",
        "5 000",
        "SQLite",
        "to reach: 200 ms",
        "to reach: 300 ms",
    ):
        assert figure in words
    assert "PostgreSQL" not in words


def test_the_bench_draws_beside_its_report_where_it_measured_the_archive(tmp_path: Path) -> None:
    assert draw_beside(tmp_path / "now.json", {"speech": {}}) is None
    drawn = draw_beside(tmp_path / "now.json", REPORT)
    assert drawn == tmp_path / "now-archive-growth.svg"
    assert drawn.read_text("utf-8") == growth_drawing(grown_of(REPORT))


def test_figures_of_several_reports_are_drawn_together_and_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    one, other, out, keep = (tmp_path / name for name in ("one.json", "other.json", "out.svg", "keep.json"))
    one.write_text(json.dumps(REPORT))
    other.write_text(json.dumps({"commit": "def", "command": "b", "archive_kept": {"curve": CURVE}}))
    assert main([str(one), str(other), "--out", str(out), "--keep", str(keep)]) == 0
    assert {"SQLite", "PostgreSQL"} <= set(written(out.read_text("utf-8")))
    assert main([str(keep), "--out", str(tmp_path / "again.svg")]) == 0
    assert (tmp_path / "again.svg").read_bytes() == out.read_bytes()
    one.write_text("{}")
    assert main([str(one), "--out", str(out)]) == 2
    assert "no archive was measured" in capsys.readouterr().err


def test_the_docs_show_what_was_measured() -> None:
    curves = [Grown(**one) for one in json.loads(KEPT.read_text("utf-8"))]
    assert (DOCS / "archive-growth.svg").read_text("utf-8") == growth_drawing(curves)
    shown = (DOCS / "README.md").read_text("utf-8")
    assert "](archive-growth.svg)" in shown
    for one in curves:
        assert one.commit[:7] in shown
        assert one.command in shown
