"""What every test may use. ``fixtures/`` at the top of the tree is data; these are pytest fixtures."""

from __future__ import annotations

import os
import shutil
import urllib.request
from collections.abc import Generator, Iterator
from itertools import count
from pathlib import Path

import pytest

from api.store.database import Database
from api.store.migrating import migrate
from bench.own_postgresql import OwnPostgresql, own_postgresql, postgresql_programs
from tests.archive_writes import UNTOLD, watch_archive_writes

watch_archive_writes()

NO_SKIPS = "NO_SKIPS"
"""Environment switch of ``.ci/run``: there a skip means a missing installation and fails."""


def need_program(name: str) -> str:
    """Return the path of a system program, or skip by its name (``.ci/run`` installs them all)."""
    found = shutil.which(name)
    if found is None:
        pytest.skip(f"needs the system program {name}")
    return found


@pytest.fixture(autouse=True)
def _every_write_to_the_archive_names_its_state() -> Iterator[None]:
    """Figures are kept in the process by that name: a write that keeps the old one would make them wrong."""
    yield
    untold = list(UNTOLD)
    UNTOLD.clear()
    assert untold == []


@pytest.fixture(scope="session")
def postgresql() -> Iterator[OwnPostgresql]:
    """A real PostgreSQL, started once a run where a test needs it."""
    programs = postgresql_programs()
    if programs is None:
        pytest.skip("needs the system program postgresql")
    with own_postgresql(programs) as server:
        yield server


@pytest.fixture(scope="session")
def postgresql_shape(postgresql: OwnPostgresql) -> str:
    """A database of the present shape, to be copied: migrating costs more than a copy."""
    name = "present_shape"
    made = Database(postgresql.make(name))
    migrate(made)
    made.close()
    return name


_NUMBERS = count(1)


@pytest.fixture
def postgresql_url(postgresql: OwnPostgresql, postgresql_shape: str) -> Iterator[str]:
    """A migrated database on PostgreSQL that is the test's own."""
    name = f"test_{next(_NUMBERS)}"
    yield postgresql.make(name, like=postgresql_shape)
    postgresql.drop(name)


@pytest.fixture(scope="session")
def s3_url() -> Iterator[str]:
    """A bucket of an S3 server that is spoken to over HTTP, and the right to use it."""
    from moto.server import ThreadedMotoServer

    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0)
    server.start()
    host, port = server.get_host_and_port()
    address = f"http://{host}:{port}"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AWS_ACCESS_KEY_ID", "witnessmark")
        patch.setenv("AWS_SECRET_ACCESS_KEY", "not much of a secret")
        request = urllib.request.Request(f"{address}/shop", method="PUT")
        with urllib.request.urlopen(request):
            yield f"s3://shop/media?endpoint={address}&region=us-east-1"
    server.stop()


ON_POSTGRESQL = "TEST_ON_POSTGRESQL"
"""Environment switch of ``.ci/run``: the shop's pages are tried on PostgreSQL, not on SQLite."""


@pytest.fixture
def shop_database_url(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str | None:
    """Which database a shop is set to: none, so its own file, unless the switch is set."""
    if not os.environ.get(ON_POSTGRESQL):
        return None
    url: str = request.getfixturevalue("postgresql_url")
    # Commands that a test runs are of the same shop.
    monkeypatch.setenv("WITNESSMARK_DATABASE_URL", url)
    return url


def qif_schemas() -> Path | None:
    """Return where the published QIF 3.0 schemas lie: ``shared/qif-3.0`` beside the tree, not committed."""
    above = (folder / "shared" / "qif-3.0" for folder in Path(__file__).parents[1].parents)
    return next((folder for folder in above if (folder / "QIFDocument.xsd").is_file()), None)


#: Nothing to check against is no failure of ours; it is told at the end of the run.
collect_ignore = [] if qif_schemas() else ["published/test_qif_schema.py"]


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    for name in collect_ignore:
        terminalreporter.write_line(f"not run: tests/{name}, for want of ../shared/qif-3.0 (QIF 3.0 schemas)")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    _fail_a_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    report = yield
    _fail_a_skip(report)
    return report


def _fail_a_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    if report.outcome == "skipped" and os.environ.get(NO_SKIPS) and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        report.longrepr = f"{NO_SKIPS} is set and this was skipped: {reason}"
