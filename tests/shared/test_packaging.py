"""Everything the program needs is in the wheel: nothing that only works in the source tree."""

from __future__ import annotations

import tomllib
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SETUPTOOLS = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["setuptools"]
#: What the shipped program takes from elsewhere in the tree.
MAPPED: dict[str, str] = SETUPTOOLS["package-dir"]
FOLDERS = sorted(
    folder
    for room in ("shared", "capture", "extract", "api")
    for folder in [ROOT / room, *(ROOT / room).rglob("*/")]
    if folder.is_dir() and folder.name != "__pycache__" and any(path.is_file() for path in folder.iterdir())
)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_folder_is_a_listed_package(folder: Path) -> None:
    assert ".".join(folder.relative_to(ROOT).parts) in SETUPTOOLS["packages"]


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: str(path.relative_to(ROOT)))
def test_every_data_file_of_a_package_is_taken_along(folder: Path) -> None:
    for path in folder.iterdir():
        if path.is_file() and path.suffix not in (".py", ".md"):
            assert any(fnmatch(path.name, pattern) for pattern in SETUPTOOLS["package-data"]["*"]), path


def test_every_listed_package_exists() -> None:
    for name in SETUPTOOLS["packages"]:
        assert (ROOT / MAPPED.get(name, name.replace(".", "/"))).is_dir(), name


@pytest.mark.parametrize("name", list(MAPPED))
def test_what_is_mapped_into_the_wheel_holds_what_it_should(name: str) -> None:
    files = list((ROOT / MAPPED[name]).iterdir())
    for pattern in SETUPTOOLS["package-data"][name]:
        assert any(fnmatch(path.name, pattern) for path in files), pattern
