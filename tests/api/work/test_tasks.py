"""Work is taken by one worker at a time, kept once, and taken up when its worker is gone."""

from __future__ import annotations

import json
import threading
import time
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from api.store.database import Database
from api.store.task_tables import Task
from api.store.tasks import (
    MOST_ATTEMPTS,
    Taken,
    finish_task,
    free_tasks,
    give_back,
    moment_of,
    renew_lease,
    take_task,
    tasks_by_state,
)
from api.work.kinds import Place
from api.work.one_task import work_on
from api.work.ordering import order
from api.work.shared_queue import tell_of_the_untold
from shared.errors import OutputBusy, SoundEmpty, StoreBusy, TaskLost
from shared.settings import Settings

_OVER_S = -1.0
"""A lease that is over when it begins."""


def take(database: Database, worker: str = "one", lease_s: float = 60.0) -> Taken | None:
    with database.writing() as session:
        return take_task(session, worker=worker, lease_s=lease_s)


def ordered(database: Database, key: str = "k", **payload: Any) -> int:
    with database.writing() as session:
        return order(session, "test", payload, key=key).id


def row(database: Database) -> Task:
    with database.reading() as session:
        return session.scalars(select(Task)).one()


def test_the_same_work_is_ordered_once(database: Database) -> None:
    assert ordered(database, number=1) == ordered(database, number=2)
    assert row(database).payload == {"number": 1}


def test_what_is_taken_is_nobody_elses(database: Database) -> None:
    ordered(database)
    assert take(database) is not None
    assert take(database, "another") is None


def test_a_lease_that_is_over_passes_the_work_on_and_the_slow_one_keeps_nothing(database: Database) -> None:
    ordered(database)
    slow = take(database, lease_s=_OVER_S)
    quick = take(database, "another")
    assert slow is not None
    assert quick is not None
    assert quick.fence > slow.fence

    def keep(taken: Taken, name: str) -> None:
        with database.writing() as session:
            session.execute(
                text("insert into gauges (id, kind, made_at) values (:name, 'feeler', 'x')"), {"name": name}
            )
            finish_task(session, taken, {"by": name})

    keep(quick, "quick")
    with pytest.raises(TaskLost, match="another worker took this work up"):
        keep(slow, "slow")
    with database.reading() as session:
        assert session.scalars(text("select id from gauges")).all() == ["quick"]
    assert (row(database).state, row(database).result) == ("done", {"by": "quick"})


def test_a_clock_set_back_keeps_no_work_from_being_taken_up(database: Database) -> None:
    ordered(database)
    # Taken by a clock that was a day ahead, by a worker that is gone.
    assert take(database, lease_s=86_400.0) is not None
    assert take(database, "another") is not None
    assert take(database) is None


@pytest.mark.parametrize("ahead", [timedelta(minutes=40), timedelta(seconds=30)])
def test_a_clock_set_back_a_little_delays_nothing_either(
    database: Database, monkeypatch: pytest.MonkeyPatch, ahead: timedelta
) -> None:
    ordered(database)
    with monkeypatch.context() as patch:
        patch.setattr("api.store.tasks.moment_of", lambda session: moment_of(session) + ahead)
        assert take(database) is not None
    assert take(database, "another") is not None
    assert take(database) is None


def test_each_wait_for_what_passes_is_longer_than_the_last(database: Database, tmp_path: Path) -> None:
    ordered(database)

    def fail(place: Place, payload: dict[str, Any]) -> Any:
        raise StoreBusy("another process holds the database")

    waits = []
    for _ in range(MOST_ATTEMPTS - 1):
        taken = take(database)
        assert taken is not None
        work_on(database, Place(tmp_path, Settings()), taken, fail)
        with database.writing() as session:
            found = session.scalars(select(Task)).one()
            assert found.state == "waiting"
            assert found.lease_until is not None
            assert found.leased_at is not None
            waits.append((found.lease_until - found.leased_at).total_seconds())
            found.lease_until = None
    assert waits == pytest.approx([5, 30, 180, 1080])


def test_a_lease_put_off_holds(database: Database) -> None:
    ordered(database)
    taken = take(database, lease_s=_OVER_S)
    assert taken is not None
    with database.writing() as session:
        renew_lease(session, taken, lease_s=60.0)
    assert take(database, "another") is None


def test_work_that_ends_its_workers_is_given_up_with_the_reason(database: Database) -> None:
    ordered(database)
    for _ in range(MOST_ATTEMPTS):
        assert take(database, lease_s=_OVER_S) is not None
    assert take(database) is None
    found = row(database)
    assert (found.state, found.failure) == ("failed", f"given up: {MOST_ATTEMPTS} workers ended while at it")
    # Ordered again, it is tried again.
    ordered(database)
    assert take(database) is not None


def test_a_worker_that_is_stopped_takes_no_attempt_from_the_work(database: Database) -> None:
    ordered(database)
    for _ in range(MOST_ATTEMPTS + 1):
        taken = take(database)
        assert taken is not None
        with database.writing() as session:
            give_back(session, taken, why="stopped", after_s=-1.0, counts=False)
    assert row(database).attempt == 0


def test_many_at_once_do_each_task_once(database: Database) -> None:
    for number in range(30):
        ordered(database, f"k{number}")
    done: list[int] = []

    def worker() -> None:
        while (taken := take(database)) is not None:
            with database.writing() as session:
                finish_task(session, taken, {})
            done.append(taken.id)

    threads = [threading.Thread(target=worker) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(done) == sorted(set(done))
    with database.reading() as session:
        assert tasks_by_state(session) == {"done": 30}


@pytest.mark.parametrize(
    ("raised", "state", "told"),
    [
        (SoundEmpty("nothing in it", where="a.wav"), "failed", "a.wav: nothing in it [sound-empty]"),
        (OutputBusy("another process is working in this folder"), "waiting", "[output-busy]"),
        (ZeroDivisionError("secret words"), "failed", "a bug in witnessmark: ZeroDivisionError"),
    ],
)
def test_what_stands_in_the_way_is_kept_in_one_line(
    database: Database, tmp_path: Path, raised: Exception, state: str, told: str, lines: Any,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    ordered(database)
    taken = take(database)
    assert taken is not None

    def fail(place: Place, payload: dict[str, Any]) -> Any:
        raise raised

    work_on(database, Place(tmp_path, Settings()), taken, fail)
    found = row(database)
    assert found.state == state
    assert found.failure is not None
    assert told in found.failure
    assert "secret words" not in found.failure
    # Nor is it where the worker writes of itself.
    assert "secret words" not in json.dumps(lines()) + "".join(capsys.readouterr())
    events = [line.get("event") for line in lines()]
    assert ("task_stopped" in events) == isinstance(raised, ZeroDivisionError)


def test_while_work_goes_on_its_lease_is_put_off(database: Database, tmp_path: Path) -> None:
    ordered(database)
    taken = take(database, lease_s=6.0)
    assert taken is not None
    ends = [row(database).lease_until]

    def long(place: Place, payload: dict[str, Any]) -> Any:
        give_up = time.monotonic() + 60
        while len(ends) < 3:
            assert time.monotonic() < give_up, "its lease was not put off for a minute"
            time.sleep(0.1)
            now = row(database)
            with database.reading() as session:
                assert not free_tasks(session)
            if now.lease_until != ends[-1]:
                # Before it ended: at no time between could another have taken the work.
                assert now.leased_at < ends[-1] < now.lease_until
                ends.append(now.lease_until)
        return lambda session: {}

    work_on(database, Place(tmp_path, Settings(task_lease_s=6)), taken, long)
    assert (row(database).state, row(database).fence) == ("done", taken.fence)


def test_the_queue_is_told_in_the_transaction_that_orders(postgresql_url: str) -> None:
    database = Database(postgresql_url)

    def told() -> int | None:
        with database.reading() as session:
            return session.scalar(text("select count(*) from procrastinate_jobs"))

    def order_and_fail() -> None:
        with database.writing() as session:
            order(session, "test", {}, key="k")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        order_and_fail()
    assert told() == 0
    ordered(database)
    assert told() == 1
    # A queue that lost its hint is told again from the row, once.
    with database.writing() as session:
        session.execute(text("delete from procrastinate_events"))
        session.execute(text("delete from procrastinate_jobs"))
    for expected in (1, 0):
        with database.writing() as session:
            assert tell_of_the_untold(session) == expected
    assert told() == 1
    database.close()
