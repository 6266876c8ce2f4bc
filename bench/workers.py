"""Recordings from before read by one worker and by two, and how soon the job of a killed one is taken up.

Real speech, heard by pocketsphinx, on a PostgreSQL server of its own that writes to disk as a shop's does;
each worker is a process group as on a machine of its own. What else the machine does at the time stands
beside the figures (load before): they mean little on one that is busy.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import select

from api.office.clips import wav_bytes
from api.past.bringing_in import Reading, order_all
from api.past.finding import find_recordings
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database
from api.store.migrating import migrate
from api.store.task_tables import Task
from bench.own_postgresql import OwnPostgresql, own_postgresql, postgresql_programs
from capture.sound import RATE_HZ, read_sound
from shared.job_sheet import load_job_sheet
from shared.settings import Settings

_SHEET = "wash-water-end-suction"
_RECORDING = Path(__file__).parents[1] / "fixtures" / "recordings" / f"{_SHEET}.ogg"
#: Asked for: from one worker to two, and of a killed worker's job.
SCALING_LEAST, TAKEN_UP_S_MOST = 1.8, 60.0


def measure(recordings: int = 4, length_s: float = 60.0) -> dict[str, Any]:
    """Measure with so many recordings of so many seconds each: less than five minutes on two free cores."""
    programs = postgresql_programs()
    if programs is None:
        return {"not_measured": "needs the system program postgresql"}
    with own_postgresql(programs, safe=True) as server, tempfile.TemporaryDirectory() as folder:
        archive = _archive(Path(folder) / "archive", recordings, length_s)
        # Once without a clock: whoever comes first reads programs and models from the disk for all others.
        with _shop(server, Path(folder), "first", _archive(Path(folder) / "one", 1, 10.0)) as shop:
            shop.read_all(1)
        found: dict[str, Any] = {
            "recordings": recordings,
            "seconds_of_each": length_s,
        }
        for workers in (1, 2):
            found[f"load_before_{workers}"] = round(os.getloadavg()[0], 1)
            with _shop(server, Path(folder), f"with_{workers}", archive) as shop:
                found[f"seconds_with_{workers}"] = round(shop.read_all(workers), 1)
        found["scaling_one_to_two"] = round(found["seconds_with_1"] / found["seconds_with_2"], 2)
        found["scaling_wanted"] = SCALING_LEAST
        with _shop(server, Path(folder), "killed", archive) as shop:
            found |= shop.read_with_one_killed()
    return found | {"taken_up_s_most": TAKEN_UP_S_MOST}


def _archive(archive: Path, count: int, length_s: float) -> Path:
    sound = np.concatenate(list(read_sound(_RECORDING)))
    archive.mkdir()
    for number in range(count):
        # Each begins a little later: another content, about the same work.
        piece = np.roll(sound, -number * 3 * RATE_HZ)[: int(length_s * RATE_HZ)]
        (archive / f"{number}.wav").write_bytes(wav_bytes(piece))
    return archive


@contextmanager
def _shop(server: OwnPostgresql, folder: Path, name: str, archive: Path) -> Iterator[_Shop]:
    shop = _Shop(server, folder, name, archive)
    try:
        yield shop
    finally:
        # Broken off, nothing goes on by itself.
        for one in shop.started:
            if one.poll() is None:
                os.killpg(one.pid, signal.SIGKILL)
                one.wait()
        shop.database.close()


class _Shop:
    """A database of its own with everything ordered, and the workers at it."""

    def __init__(self, server: OwnPostgresql, folder: Path, name: str, archive: Path) -> None:
        self._url, self._folder = server.make(name), folder / name
        self.database = Database(self._url)
        self.started: list[subprocess.Popen[bytes]] = []
        migrate(self.database)
        reading = Reading(load_job_sheet(_SHEET), "pocketsphinx")
        order_all(self.database, Settings(), find_recordings([archive]), reading)

    def read_all(self, workers: int) -> float:
        began = time.monotonic()
        started = [self._start(f"machine-{number}") for number in range(workers)]
        for one in started:
            one.wait()
        assert all(task.state == "done" for task in self._tasks())
        return time.monotonic() - began

    def read_with_one_killed(self) -> dict[str, Any]:
        first = self._start("machine-0")
        self._wait(lambda: any(self._folder.rglob("heard.journal")))
        (held,) = [task for task in self._tasks() if task.state == "doing"]
        second = self._start("machine-1")
        self._wait(lambda: sum(task.state == "doing" for task in self._tasks()) == 2)
        os.killpg(first.pid, signal.SIGKILL)
        first.wait()
        began = time.monotonic()
        self._wait(lambda: any(task.id == held.id and task.fence > held.fence for task in self._tasks()))
        taken_up_s = time.monotonic() - began
        second.wait()
        with self.database.reading() as session:
            versions = [one.version for one in session.scalars(select(ArchivedRecord))]
        return {
            "killed_job_taken_up_after_s": round(taken_up_s, 1),
            "killed_all_done": all(task.state == "done" for task in self._tasks()),
            "killed_records_filed_twice": sum(version > 1 for version in versions),
        }

    def _start(self, machine: str) -> subprocess.Popen[bytes]:
        command = [
            sys.executable,
            "-m",
            "api",
            "worker",
            "--until-done",
            "--data",
            str(self._folder / machine),
        ]
        one = subprocess.Popen(
            command, env={**os.environ, "WITNESSMARK_DATABASE_URL": self._url}, start_new_session=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self.started.append(one)
        return one

    def _tasks(self) -> list[Task]:
        with self.database.reading() as session:
            return list(session.scalars(select(Task).order_by(Task.id)))

    def _wait(self, what: Callable[[], bool], within_s: float = 600.0) -> None:
        began = time.monotonic()
        while not what():
            if time.monotonic() - began > within_s:
                raise TimeoutError("the workers did not get on")
            time.sleep(0.1)


if __name__ == "__main__":
    print(json.dumps(measure(), indent=2))
