"""The queue on PostgreSQL: Procrastinate, in the shop's own database.

It tells workers on any machine at once that there is work, in the transaction that ordered it. What it
knows is a hint: the row in ``tasks`` decides who has the work and whether it is done. Every few seconds one
of the workers looks for what was left lying: jobs of workers that are not heard of any more, and rows whose
lease is over.
"""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from procrastinate import App, PsycopgConnector
from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from api.store.database import Database
from api.store.tasks import free_tasks
from api.work.hands import Hands

_WORK, _UPKEEP = "work", "upkeep"
#: Seconds between two looks at what was left lying, as the sixth field of its schedule (cron).
_EVERY_S = 5

#: Rows that a worker could take, of which no job tells any more.
_TOLD = text(
    "SELECT (args->>'task_id')::int FROM procrastinate_jobs"
    " WHERE task_name = 'work' AND status IN ('todo', 'doing')"
)


def tell_queue(session: Session, task_id: int) -> None:
    """Tell the queue of a row, in the row's own transaction."""
    connection = session.connection().connection.driver_connection
    _teller().configure_task(_WORK, queue=_WORK, connection=connection).defer(task_id=task_id)


def tell_of_the_untold(session: Session) -> int:
    """Tell the queue of rows that are free though no job tells of them; return how many."""
    told = set(session.scalars(_TOLD))
    untold = [task_id for task_id in free_tasks(session) if task_id not in told]
    for task_id in untold:
        tell_queue(session, task_id)
    return len(untold)


async def run_shared(
    database: Database, hands: Hands, *, count: int, lease_s: float, over: asyncio.Event
) -> None:
    """Do what the queue tells of until told to stop.

    Args:
        database: of the shop, on PostgreSQL.
        hands: do the work.
        count: tasks at once.
        lease_s: seconds after which a worker that is not heard of counts as gone.
        over: set when to stop.
    """
    with ThreadPoolExecutor(count + 1) as threads:
        app = _app(database, hands, threads, lease_s)
        async with app.open_async():
            beat_s = lease_s / 4
            rest: dict[str, Any] = {
                "install_signal_handlers": False, "update_heartbeat_interval": beat_s,
                "stalled_worker_timeout": lease_s, "delete_jobs": "always",
            }  # fmt: skip
            jobs = [
                asyncio.ensure_future(app.run_worker_async(queues=[_WORK], concurrency=count, **rest)),
                asyncio.ensure_future(app.run_worker_async(queues=[_UPKEEP], **rest)),
            ]
            waiting = asyncio.ensure_future(over.wait())
            await asyncio.wait([waiting, *jobs], return_when=asyncio.FIRST_COMPLETED)
            hands.stop()
            for job in (waiting, *jobs):
                job.cancel()
            for ended in await asyncio.gather(*jobs, return_exceptions=True):
                if isinstance(ended, Exception):
                    raise ended


def _app(database: Database, hands: Hands, threads: ThreadPoolExecutor, lease_s: float) -> App:
    app = App(connector=PsycopgConnector(conninfo=_conninfo(database.engine), min_size=1, max_size=4))

    @app.task(name=_WORK, queue=_WORK)
    async def _work(task_id: int) -> None:
        await asyncio.get_running_loop().run_in_executor(threads, hands.do_one, task_id)

    @app.periodic(cron=f"* * * * * */{_EVERY_S}")
    @app.task(name=_UPKEEP, queue=_UPKEEP)
    async def _upkeep(timestamp: int) -> None:
        for job in await app.job_manager.get_stalled_jobs(seconds_since_heartbeat=lease_s):
            await app.job_manager.retry_job(job)

        def tell() -> None:
            with database.writing() as session:
                tell_of_the_untold(session)

        await asyncio.get_running_loop().run_in_executor(threads, tell)

    return app


def _teller() -> App:
    """Return a queue that tells on connections that it is given and opens none."""
    return App(connector=PsycopgConnector())


def _conninfo(engine: Engine) -> str:
    return engine.url.set(drivername="postgresql").render_as_string(hide_password=False)
