"""A worker: on SQLite it looks at the rows, on PostgreSQL the queue tells it; both do the same tasks."""

from __future__ import annotations

import asyncio
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from api.store.database import Database
from api.store.tasks import tasks_by_state
from api.work.hands import Hands
from shared.settings import Settings

#: Seconds between two looks at the rows.
_LOOK_S = 0.5

#: Asked now and then whether there is any reason to go on.
Wanted = Callable[[], bool]


def work(database: Database, folder: Path, settings: Settings, *, count: int, wanted: Wanted) -> None:
    """Do tasks until nobody wants more, or until a signal ends it; what is at work then is given back.

    Args:
        database: of the shop.
        folder: data folder of this machine.
        settings: of the shop.
        count: tasks at once.
        wanted: asked now and then whether to go on.
    """
    hands = Hands(database, folder, settings)
    if database.on_postgresql:
        asyncio.run(_work_shared(database, hands, settings.task_lease_s, count, wanted))
    else:
        _work_local(hands, count, wanted)


def until_stopped() -> bool:
    """Go on for ever."""
    return True


def while_any_is_open(database: Database) -> Wanted:
    """Go on while any task waits or is at work, with whichever worker."""

    def wanted() -> bool:
        with database.reading() as session:
            counts = tasks_by_state(session)
        return bool(counts.get("waiting") or counts.get("doing"))

    return wanted


def _work_local(hands: Hands, count: int, wanted: Wanted) -> None:
    over = threading.Event()
    failures: list[BaseException] = []

    def go_on() -> None:
        try:
            while not over.is_set():
                if not hands.do_one():
                    over.wait(_LOOK_S)
        except BaseException as exc:
            failures.append(exc)
            over.set()

    threads = [threading.Thread(target=go_on, name=f"hand-{n}") for n in range(count)]
    with _ended_by_signal(over):
        for thread in threads:
            thread.start()
        while not over.is_set() and wanted():
            time.sleep(_LOOK_S)
        over.set()
        hands.stop()
        for thread in threads:
            thread.join()
    if failures:
        raise failures[0]


async def _work_shared(database: Database, hands: Hands, lease_s: float, count: int, wanted: Wanted) -> None:
    from api.work.shared_queue import run_shared

    over = asyncio.Event()
    loop = asyncio.get_running_loop()
    for one in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(one, over.set)

    async def ask() -> None:
        while not over.is_set() and await asyncio.to_thread(wanted):
            await asyncio.sleep(_LOOK_S)
        over.set()

    asking = asyncio.ensure_future(ask())
    try:
        await run_shared(database, hands, count=count, lease_s=lease_s, over=over)
    finally:
        over.set()
        await asking


@contextmanager
def _ended_by_signal(over: threading.Event) -> Iterator[None]:
    """Let the signals that end a program end the work first; only the first thread can hear them."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = [(one, signal.signal(one, lambda *_: over.set())) for one in (signal.SIGINT, signal.SIGTERM)]
    try:
        yield
    finally:
        for one, handler in before:
            signal.signal(one, handler)
