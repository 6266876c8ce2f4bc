"""What docs/operation tells is true: units, containers, command lines, settings, measures."""

from __future__ import annotations

import re
import shlex
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest
import yaml

from api.cli import cli
from api.operation.health import LITTLE_BYTES, TOO_LITTLE_BYTES
from api.web.app import make_app
from api.web.serving import open_shop
from shared.settings import Settings
from tests.conftest import need_program

HERE = Path(__file__).parents[3] / "docs" / "operation"
UNITS = sorted([*HERE.glob("*.service"), *HERE.glob("*.timer")])
PAGE = (HERE / "README.md").read_text("utf-8")
COMPOSE: dict[str, Any] = yaml.safe_load((HERE / "compose.yaml").read_text("utf-8"))


def commands() -> Iterator[list[str]]:
    """Every command line that units, containers and the page name, after the program's name."""
    for unit in UNITS:
        for line in re.findall(r"^ExecStart=\S*witnessmark (.*)$", unit.read_text("utf-8"), re.MULTILINE):
            yield shlex.split(line)
    for service in COMPOSE["services"].values():
        if service["image"].startswith("witnessmark"):
            yield service["command"]
    for line in re.findall(r"^(?:\S*/)?witnessmark ((?:backup|restore) .*)$", PAGE, re.MULTILINE):
        yield shlex.split(line, comments=True)


@pytest.mark.parametrize("line", list(commands()), ids=" ".join)
def test_every_command_line_is_one_that_the_program_takes(line: list[str]) -> None:
    command = cli.get_command(click.Context(cli), line[0])  # type: ignore[attr-defined]
    assert command is not None
    command.make_context(line[0], list(line[1:]))


def test_systemd_takes_the_units(tmp_path: Path) -> None:
    program = need_program("systemd-analyze")
    assert [unit.name for unit in UNITS] == [
        "witnessmark-backup.service", "witnessmark-backup.timer", "witnessmark-worker.service",
        "witnessmark.service",
    ]  # fmt: skip
    for unit in UNITS:
        # The program is not installed where the tests run; everything else is looked at as it stands.
        text = unit.read_text("utf-8").replace("/opt/witnessmark/bin/witnessmark", "/bin/true")
        (tmp_path / unit.name).write_text(text)
    files = [str(path) for path in sorted(tmp_path.iterdir())]
    done = subprocess.run([program, "verify", *files], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")


def test_containers_keep_what_must_last_and_may_do_little() -> None:
    services = COMPOSE["services"]
    assert services["server"]["depends_on"]["database"]["condition"] == "service_healthy"
    for name in ("server", "worker", "backup"):
        assert services[name]["cap_drop"] == ["ALL"]
        assert services[name]["read_only"]
        assert "data:/data" in services[name]["volumes"]
    # No password stands in the file, and none is taken for granted.
    text = (HERE / "compose.yaml").read_text("utf-8")
    assert "${DATABASE_PASSWORD:?}" in text
    assert re.findall(r"PASSWORD: (?!\$\{DATABASE_PASSWORD:\?\})", text) == []


@pytest.mark.parametrize("path", [*sorted(HERE.iterdir())], ids=lambda path: path.name)
def test_settings_that_are_named_exist(path: Path) -> None:
    named = set(re.findall(r"WITNESSMARK_([A-Z_]+)", path.read_text("utf-8")))
    assert named <= {name.upper() for name in Settings.model_fields}


def test_measures_and_limits_that_the_page_names_are_those_of_the_server(tmp_path: Path) -> None:
    shop = open_shop(Settings(), tmp_path)
    app = make_app(shop)
    known = {family.name for family in shop.measures.registry.collect()}
    known |= {f"{name}_total" for name in known}
    named = set(re.findall(r"witnessmark_[a-z0-9_]+[a-z0-9]", PAGE))
    assert len(named) > 10
    assert named <= known, named - known
    assert f"{LITTLE_BYTES // 10**6} MB" in PAGE
    assert f"{TOO_LITTLE_BYTES // 10**6} MB" in PAGE
    app.state.orders.close()
    shop.database.close()
