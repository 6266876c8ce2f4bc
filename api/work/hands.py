"""A worker's hands: each task in a process of its own, which a decoder needs and a crash may take."""

from __future__ import annotations

import contextlib
import json
import os
import platform
import subprocess
import sys
import threading
from dataclasses import asdict
from pathlib import Path

from api.store.database import Database
from api.store.tasks import Taken, give_back, renew_lease, take_task
from shared.errors import RebuildError, TaskLost
from shared.settings import Settings


class Hands:
    """Takes tasks and has them done.

    Args:
        database: of the shop.
        folder: data folder of this machine.
        settings: of the shop.
    """

    def __init__(self, database: Database, folder: Path, settings: Settings) -> None:
        self._database, self._folder, self._settings = database, folder, settings
        self._worker = f"{platform.node()} {os.getpid()}"[:128]
        self._lock = threading.Lock()
        self._at_work: dict[int, tuple[subprocess.Popen[bytes], Taken]] = {}
        self._stopped = False

    def do_one(self, task_id: int | None = None) -> bool:
        """Take a task and have it done; return whether there was one.

        Args:
            task_id: this one alone; None: the oldest that is free.
        """
        if self._stopped:
            return False
        with self._database.writing() as session:
            taken = take_task(
                session, worker=self._worker, lease_s=self._settings.task_lease_s, task_id=task_id
            )
        if taken is None:
            return False
        child = self._start(taken)
        order = {**asdict(taken), "folder": str(self._folder), "parent": os.getpid()}
        self._wait(child, taken, json.dumps(order).encode())
        with self._lock:
            self._at_work.pop(child.pid, None)
        # It tells what became of the work by itself; one that was ended could not.
        if child.returncode:
            self._give_back(
                taken, f"its process ended with status {child.returncode}", counts=not self._stopped
            )
        return True

    def _wait(self, child: subprocess.Popen[bytes], taken: Taken, order: bytes | None) -> None:
        """Tell a process its work and wait for its end; as long as it lives nobody else takes the work.

        It puts off the end of its lease by itself, too, but not while a decoder or a model that is read lets
        no other thread of it run: on a machine with much else to do that is longer than a lease.
        """
        while True:
            try:
                child.communicate(order, timeout=self._settings.task_lease_s / 4)
            except subprocess.TimeoutExpired:
                order = None
                # Lost, it is told so by its own try; the database may be back at the next.
                with contextlib.suppress(RebuildError), self._database.writing() as session:
                    renew_lease(session, taken, lease_s=self._settings.task_lease_s)
            else:
                return

    def stop(self) -> None:
        """End what is at work and give it back; it is taken up where it stopped."""
        self._stopped = True
        with self._lock:
            for child, _ in self._at_work.values():
                child.terminate()

    def _start(self, taken: Taken) -> subprocess.Popen[bytes]:
        child = subprocess.Popen(
            [sys.executable, "-m", "api.work.one_task"], stdin=subprocess.PIPE, stdout=subprocess.DEVNULL
        )
        with self._lock:
            self._at_work[child.pid] = child, taken
            if self._stopped:
                child.terminate()
        return child

    def _give_back(self, taken: Taken, why: str, *, counts: bool) -> None:
        with contextlib.suppress(TaskLost), self._database.writing() as session:
            give_back(session, taken, why=why, after_s=taken.again_s if counts else 0.0, counts=counts)
