"""Two workers share the work; one that is killed in the middle loses nothing and repeats nothing."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import select

from api.past.bringing_in import Reading, order_all
from api.past.finding import find_recordings
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database
from api.store.task_tables import Task
from api.work.hands import Hands
from api.work.ordering import order
from capture.sound import RATE_HZ
from shared.job_sheet import load_job_sheet
from shared.settings import Settings
from tests.api.processing import RECORDING, SCRIPT, SHEET, write_wav
from tests.recorded_sound import recorded_sound

LEASE_S = 4
TREE = Path(__file__).parents[3]

Worker = Callable[..., "subprocess.Popen[bytes]"]


@pytest.fixture
def start_worker(shop_url: str, tmp_path: Path) -> Iterator[Worker]:
    """Start ``witnessmark worker`` as a machine of its own: what kills it kills all that it started."""
    started: list[subprocess.Popen[bytes]] = []

    def start(machine: str, *more: str) -> subprocess.Popen[bytes]:
        environment = {
            **os.environ, "WITNESSMARK_TASK_LEASE_S": str(LEASE_S), "WITNESSMARK_DATABASE_URL": shop_url,
        }  # fmt: skip
        command = [sys.executable, "-m", "api", "worker", "--data", str(tmp_path / machine), *more]
        started.append(
            subprocess.Popen(
                command, cwd=TREE, env=environment, start_new_session=True, stdout=subprocess.PIPE
            )
        )
        return started[-1]

    yield start
    for one in started:
        if one.poll() is None:
            os.killpg(one.pid, signal.SIGKILL)
        one.communicate()


def brought_in(database: Database, tmp_path: Path, count: int, length_s: float) -> None:
    """Order recordings that a worker is at for a while, heard by the scripted engine."""
    sound = recorded_sound(RECORDING)
    folder = tmp_path / "archive"
    folder.mkdir()
    for number in range(count):
        # Each begins elsewhere: another content.
        turned = np.roll(sound, -number * RATE_HZ)
        repeated = np.tile(turned, int(length_s * RATE_HZ // len(sound)) + 1)[: int(length_s * RATE_HZ)]
        write_wav(folder / f"{number}.wav", repeated)
    script = tmp_path / "script.json"
    script.write_text(json.dumps(SCRIPT))
    reading = Reading(load_job_sheet(SHEET), "scripted", str(script))
    order_all(database, Settings(), find_recordings([folder]), reading)


def tasks(database: Database) -> list[Task]:
    with database.reading() as session:
        return list(session.scalars(select(Task).order_by(Task.id)))


def wait_for(what: Callable[[], bool], within_s: float) -> float:
    began = time.monotonic()
    while not what():
        assert time.monotonic() - began < within_s, "it did not come"
        time.sleep(0.1)
    return time.monotonic() - began


@pytest.mark.long
def test_a_killed_workers_job_is_taken_up_within_a_minute_and_done_once(
    database: Database, tmp_path: Path, start_worker: Worker
) -> None:
    brought_in(database, tmp_path, count=3, length_s=240.0)
    first = start_worker("one")
    wait_for(lambda: any(one.state == "doing" for one in tasks(database)), 120)
    (at_work,) = [one for one in tasks(database) if one.state == "doing"]
    wait_for(lambda: any((tmp_path / "one").rglob("heard.journal")), 120)
    assert tasks(database)[at_work.id - 1].state == "doing", "it was done before it could be killed"
    os.killpg(first.pid, signal.SIGKILL)
    second = start_worker("two", "--until-done", "--json")
    wait_for(lambda: tasks(database)[at_work.id - 1].fence > at_work.fence, 60)
    out, _ = second.communicate(timeout=180)
    assert (second.returncode, json.loads(out)) == (0, {"done": 3})
    ended = tasks(database)
    assert [one.state for one in ended] == ["done"] * 3
    assert ended[at_work.id - 1].attempt == 2
    with database.reading() as session:
        filed = list(session.scalars(select(ArchivedRecord)))
    # Done once: one version of each.
    assert sorted(one.version for one in filed) == [1, 1, 1]
    assert len({one.source for one in filed}) == 3


@pytest.mark.long
def test_a_worker_that_is_told_to_stop_gives_back_what_it_was_at(
    database: Database, tmp_path: Path, start_worker: Worker
) -> None:
    brought_in(database, tmp_path, count=1, length_s=240.0)
    worker = start_worker("one")
    wait_for(lambda: any((tmp_path / "one").rglob("heard.journal")), 120)
    worker.send_signal(signal.SIGTERM)
    worker.communicate(timeout=60)
    assert worker.returncode == 0
    (given_back,) = tasks(database)
    assert (given_back.state, given_back.attempt, given_back.failure) == ("waiting", 0, None)


def test_work_whose_process_lives_stays_its_own_however_long_it_is_not_heard_of(
    database: Database, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stand-in for one that a decoder lets do nothing else: it never puts off the end of its lease."""
    silent = tmp_path / "silent"
    silent.write_text("#!/bin/sh\nexec sleep 60\n")
    silent.chmod(0o755)
    monkeypatch.setattr("api.work.hands.sys.executable", str(silent))
    with database.writing() as session:
        order(session, "process_recording", {}, key="one")
    hands, others = (Hands(database, tmp_path, Settings(task_lease_s=2)) for _ in range(2))
    thread = threading.Thread(target=hands.do_one)
    thread.start()
    wait_for(lambda: tasks(database)[0].state == "doing", 30)
    first = tasks(database)[0].lease_until
    assert first is not None
    # The lease that it was given is over, and the work still its own.
    wait_for(lambda: (tasks(database)[0].lease_until or first) > first + timedelta(seconds=2), 30)
    assert not others.do_one()
    assert (tasks(database)[0].fence, tasks(database)[0].attempt) == (1, 1)
    hands.stop()
    thread.join(30)
    # Ended by whoever started it, it is given back as if it had not been begun.
    assert (tasks(database)[0].state, tasks(database)[0].attempt) == ("waiting", 0)
