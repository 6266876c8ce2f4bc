"""What stands at the moment when somebody asks: jobs, benches at work, sound that waits, room on the disk."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Iterator

from prometheus_client.core import GaugeMetricFamily
from prometheus_client.registry import Collector
from sqlalchemy import func, select

from api.live.desk import Desk
from api.store.database import FILE
from api.store.jobs import TURNS
from api.store.tables import BenchJob, Recording
from api.store.tasks import tasks_by_state
from api.web.shop import Shop
from shared.errors import StoreError


class ShopGauges(Collector):
    """Looks when it is asked; a database that does not answer is told as such.

    Args:
        shop: whose.
        desk: its benches.
    """

    def __init__(self, shop: Shop, desk: Desk) -> None:
        self._shop, self._desk = shop, desk

    def describe(self) -> Iterable[GaugeMetricFamily]:
        """Name nothing beforehand: looking costs a query."""
        return ()

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Yield what stands now."""
        yield from self._of_database()
        at_work, waiting_s, failed = self._desk.load()
        yield _gauge("benches_at_work", "Recordings that are being made or heard.", at_work)
        yield _gauge("sound_waiting_seconds", "Sound that came in and no ear has taken yet.", waiting_s)
        yield _gauge("ears_given_up", "Recordings whose ear gave up and that nobody had heard again.", failed)
        yield _gauge(
            "disk_free_bytes", "Room where the data folder lies.", shutil.disk_usage(self._shop.folder).free
        )
        file = self._shop.folder / FILE
        if file.exists():
            yield _gauge("database_bytes", "Size of the SQLite database.", file.stat().st_size)

    def _of_database(self) -> Iterator[GaugeMetricFamily]:
        try:
            with self._shop.database.reading() as session:
                states = select(BenchJob.state, func.count()).group_by(BenchJob.state)
                found = {str(state): int(count) for state, count in session.execute(states)}
                running = select(func.count()).where(Recording.ended_at.is_(None))
                unended = session.scalar(running.select_from(Recording)) or 0
                waiting = tasks_by_state(session)
        except StoreError:
            yield _gauge("database_up", "1 while the database answers.", 0)
            return
        yield _gauge("database_up", "1 while the database answers.", 1)
        jobs = GaugeMetricFamily("witnessmark_jobs", "Jobs by state.", labels=("state",))
        for state in TURNS:
            jobs.add_metric([state], found.get(state, 0))
        yield jobs
        tasks = GaugeMetricFamily("witnessmark_tasks", "Work for workers, by state.", labels=("state",))
        for stage in ("waiting", "doing", "done", "failed"):
            tasks.add_metric([stage], waiting.get(stage, 0))
        yield tasks
        yield _gauge("recordings_unended", "Recordings that are not heard to their end.", unended)


def _gauge(name: str, said: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(f"witnessmark_{name}", said, value=value)
