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


#: Source: Compose Specification, schema/compose-spec.json at commit 00655e2 (read 27 November 2026): of a
#: project, of a service, of what it is built from; those of a health check as the page "Services" names them.
OF_PROJECT = {"name", "services", "networks", "volumes", "secrets", "configs", "include", "models", "version"}
OF_SERVICE = {
    "build", "cap_add", "cap_drop", "command", "configs", "container_name", "depends_on", "devices",
    "entrypoint", "env_file", "environment", "expose", "healthcheck", "hostname", "image", "init", "logging",
    "mem_limit", "network_mode", "networks", "pids_limit", "ports", "profiles", "pull_policy", "read_only",
    "restart", "secrets", "security_opt", "shm_size", "stop_grace_period", "stop_signal", "tmpfs", "ulimits",
    "user", "volumes", "working_dir",
}  # fmt: skip
OF_BUILD = {"context", "dockerfile", "dockerfile_inline", "args", "target", "labels", "tags", "platforms"}
OF_CHECK = {"test", "interval", "timeout", "retries", "start_period", "start_interval", "disable"}
CONDITIONS = {"service_started", "service_healthy", "service_completed_successfully"}
RESTARTS = {"no", "always", "on-failure", "unless-stopped"}
#: Source: the same, "Specifying durations": a number with a unit, several of them one behind the other.
DURATION = re.compile(r"(\d+(us|ms|s|m|h))+")


def test_the_containers_file_says_only_what_its_specification_knows() -> None:
    assert set(COMPOSE) <= OF_PROJECT
    services = COMPOSE["services"]
    for name, service in services.items():
        assert set(service) <= OF_SERVICE, name
        assert set(service.get("build", {})) <= OF_BUILD
        assert service.get("restart", "no") in RESTARTS
        for other, how in service.get("depends_on", {}).items():
            assert set(how) <= {"condition", "restart", "required"}
            assert how["condition"] in CONDITIONS
            # Whoever waits until another is well needs it to tell.
            assert how["condition"] != "service_healthy" or "healthcheck" in services[other]
        check = service.get("healthcheck", {"test": ["NONE"]})
        assert set(check) <= OF_CHECK
        assert check["test"][0] in ("NONE", "CMD", "CMD-SHELL")
        for time in (*(check.get(key) for key in ("interval", "timeout", "start_period")),
                     service.get("stop_grace_period")):  # fmt: skip
            assert time is None or DURATION.fullmatch(time)
        for mounted in service["volumes"]:
            source, target = mounted.rsplit(":", 1)
            assert target.startswith("/")
            assert source in COMPOSE["volumes"] or source.startswith("${")
    built = {service["build"]["dockerfile"] for service in services.values() if "build" in service}
    assert all((HERE / "../.." / one).is_file() for one in built)


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
