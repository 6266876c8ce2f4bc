"""The process that does one task: told on standard input which, it does it, keeps it, and ends.

While it works it puts off the end of its lease. Where it has lost the task, or the worker that started it is
gone, it ends at once and keeps nothing.
"""

from __future__ import annotations

import json
import logging
import os
import sys
import threading
from pathlib import Path
from types import TracebackType

from api.operation.log_lines import write_json_lines
from api.store.database import Database, database_url
from api.store.tasks import Taken, fail_task, finish_task, give_back, renew_lease
from api.work.kinds import Place, TaskFunction, task_function
from shared.errors import OutputBusy, RebuildError, StoreBusy, StoreUnusable, TaskLost
from shared.settings import load_settings

#: What passes: another process holds the folder or the database, or the database is being started again.
_PASSING = (OutputBusy, StoreBusy, StoreUnusable)
_LOST = 4


def work_on(
    database: Database, place: Place, taken: Taken, function: TaskFunction, *, parent: int | None = None
) -> None:
    """Do a task that was taken and keep what came of it, or why it could not be done.

    Args:
        database: of the shop.
        place: where it is done.
        taken: the task.
        function: what does it.
        parent: process whose end ends the work; None: nobody's.

    Raises:
        TaskLost: another worker took it up meanwhile; nothing was kept.
    """
    try:
        with _Renewal(database, taken, place.settings.task_lease_s, parent):
            keep = function(place, taken.payload)
        with database.writing() as session:
            finish_task(session, taken, keep(session))
    except TaskLost:
        raise
    except _PASSING as exc:
        with database.writing() as session:
            give_back(session, taken, why=f"{exc} [{exc.code}]", after_s=taken.again_s)
    except RebuildError as exc:
        with database.writing() as session:
            fail_task(session, taken, f"{exc} [{exc.code}]")
    except Exception as exc:
        # The last door, as for a command: the line is kept, the place goes to standard error without the
        # message, which may hold what somebody said.
        logging.getLogger(__name__).exception("task_stopped")
        with database.writing() as session:
            fail_task(session, taken, f"a bug in witnessmark: {type(exc).__name__}")


class _Renewal:
    """Puts off the end of a lease while the work goes on."""

    def __init__(self, database: Database, taken: Taken, lease_s: float, parent: int | None) -> None:
        self._database, self._taken, self._lease_s, self._parent = database, taken, lease_s, parent
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._go_on, name="lease", daemon=True)

    def __enter__(self) -> None:
        self._thread.start()

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        self._over.set()
        self._thread.join()

    def _go_on(self) -> None:
        every_s, since_s = 0.5, 0.0
        while not self._over.wait(every_s):
            if self._parent is not None and os.getppid() != self._parent:
                os._exit(_LOST)  # whoever started us is gone, and with him whoever would end us
            since_s += every_s
            if since_s < self._lease_s / 4:
                continue
            since_s = 0.0
            try:
                with self._database.writing() as session:
                    renew_lease(session, self._taken, lease_s=self._lease_s)
            except TaskLost:
                os._exit(_LOST)
            except RebuildError:
                continue  # the lease is longer than one try; the next may reach the database


def main() -> None:
    """Do the task that standard input tells."""
    order = json.load(sys.stdin)
    settings, folder = load_settings(), Path(order["folder"])
    write_json_lines(settings.log_level)
    taken = Taken(order["id"], order["fence"], order["kind"], order["payload"], order["attempt"])
    database = Database(database_url(folder, settings.database_url))
    try:
        work_on(database, Place(folder, settings), taken, task_function(taken.kind), parent=order["parent"])
    except TaskLost:
        sys.exit(_LOST)
    finally:
        database.close()


if __name__ == "__main__":
    main()
