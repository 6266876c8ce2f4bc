"""Documentation is tested: every command, option, setting and error code stands in README.md."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from api.cli import COMMANDS, cli
from shared.errors import RebuildError
from shared.settings import Settings

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def every_command() -> Iterator[tuple[str, click.Command]]:
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)
        assert command is not None
        if isinstance(command, click.Group):
            yield from ((f"{name} {below}", each) for below, each in command.commands.items())
        else:
            yield name, command


OPTIONS = [
    (name, option.opts[0])
    for name, command in every_command()
    for option in command.params
    if isinstance(option, click.Option)
]


def leaves(error: type[RebuildError] = RebuildError) -> Iterator[type[RebuildError]]:
    below = error.__subclasses__()
    if not below:
        yield error
    for each in below:
        yield from leaves(each)


def section(title: str) -> str:
    match = re.search(rf"^## {title}$(.*?)(?=^## |\Z)", README, re.MULTILINE | re.DOTALL)
    assert match, f"README.md has no section {title}"
    return match[1]


@pytest.mark.parametrize("name", [name for name, _ in every_command()])
def test_every_command_is_documented(name: str) -> None:
    assert f"witnessmark {name}" in section("Commands")


@pytest.mark.parametrize(("name", "option"), OPTIONS)
def test_every_option_is_documented(name: str, option: str) -> None:
    assert f"`{option}" in section("Commands") or f" {option}" in section("Commands")


@pytest.mark.parametrize("name", list(Settings.model_fields))
def test_every_setting_is_documented_with_its_default(name: str) -> None:
    row = next(
        (line for line in section("Settings").splitlines() if f"`WITNESSMARK_{name.upper()}`" in line), None
    )
    assert row is not None
    default = Settings.model_fields[name].default
    if isinstance(default, Path):
        shown = str(default).replace(str(Path.home()), "~")
    elif isinstance(default, bool):
        shown = str(int(default))
    else:
        shown = "none" if default is None else str(default)
    assert f"| {shown} |" in row


def test_no_setting_is_documented_that_does_not_exist() -> None:
    named = set(re.findall(r"WITNESSMARK_([A-Z_]+)", README + DEVELOPERS)) - {""}
    assert named <= {name.upper() for name in Settings.model_fields}


@pytest.mark.parametrize("error", list(leaves()), ids=lambda error: error.code)
def test_every_error_code_is_documented(error: type[RebuildError]) -> None:
    assert f"`{error.code}`" in section("When it cannot be done")


def test_no_error_code_is_documented_that_does_not_exist() -> None:
    named = set(re.findall(r"^\| `([a-z-]+)` \|", section("When it cannot be done"), re.MULTILINE))
    assert named == {error.code for error in leaves()}


def test_the_map_names_every_module_of_the_command_line() -> None:
    """What a newcomer meets first; the other rooms name theirs by noun."""
    for path in sorted((ROOT / "api").glob("*.py")):
        if path.stem not in ("__init__", "__main__", "version"):
            assert path.name in DEVELOPERS, path.name


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_files_that_are_named_exist(text: str) -> None:
    for name in re.findall(r"`((?:api|capture|extract|shared|tests|fixtures|bench)/[\w./-]*[\w/])`", text):
        assert (ROOT / name).exists(), name
