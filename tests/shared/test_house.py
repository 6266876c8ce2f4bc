"""The house rules that can be read off the source."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = {
    "shared": set(),
    "capture": {"shared"},
    "extract": {"shared"},
    "api": {"shared", "capture", "extract"},
}
FILES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


def imported_rooms(source: str) -> set[str]:
    """Names of the rooms that a module imports, at any depth of nesting."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found & set(ROOMS)


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_run_one_way(path: Path) -> None:
    room = path.relative_to(ROOT).parts[0]
    assert imported_rooms(path.read_text("utf-8")) <= ROOMS[room] | {room}


@pytest.mark.parametrize(
    ("source", "rooms"),
    [
        ("import capture.sound", {"capture"}),
        ("def f():\n    from extract import numbers", {"extract"}),
        ("from . import api", set()),
        ("import numpy", set()),
    ],
)
def test_imported_rooms_sees_every_form_of_import(source: str, rooms: set[str]) -> None:
    assert imported_rooms(source) == rooms


@pytest.mark.parametrize(
    "path", [p for p in FILES if p.is_relative_to(ROOT / "extract") and p.parent.name != "shop"],
    ids=lambda p: str(p.relative_to(ROOT)),
)  # fmt: skip
def test_reading_knows_nothing_of_shop_calculations(path: Path) -> None:
    # The hash of the rules of reading leaves them out (api/reading_rules.py): they may decide nothing there.
    assert "extract.shop" not in path.read_text("utf-8")


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_holds_one_noun(path: Path) -> None:
    """Over 400 lines means two nouns; and nobody finds anything in a utils.py."""
    assert path.name not in {"utils.py", "util.py", "helpers.py", "misc.py"}
    assert path.read_text("utf-8").count("\n") <= 400


def test_no_file_names_a_package_registry() -> None:
    # Written apart so that this file does not hold what it looks for.
    hosts = ["pypi" + ".org", "python" + "hosted.org", "npm" + "js.org", "registry." + "npm"]
    for path in [*FILES, *ROOT.glob("*.txt"), *ROOT.glob("*.md"), *ROOT.glob("*.toml"), ROOT / "Makefile"]:
        if path.is_file():
            text = path.read_text("utf-8")
            assert not [host for host in hosts if host in text], path
