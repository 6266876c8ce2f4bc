"""kill -9 of the server amid narration and writing: what was acknowledged is there, the record the same."""

from __future__ import annotations

import contextlib
import json
import signal
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread
from typing import Any

import httpx
import numpy as np
import pytest
from websockets.sync.client import ClientConnection, connect

from api.listening import SOUND_JOURNAL
from api.live.frames import Frame, frame_bytes
from api.people.notice import present_notice
from api.signing.chain import first_break
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.store.database import Database, database_url
from api.store.drafts import newest_draft, record_of
from api.store.job_events import chain_of
from api.store.jobs import job_of
from capture.sound_blocks import Samples
from capture.sound_journal import read_sound_journal
from shared.record import RebuildRecord
from shared.settings import load_settings
from tests.api.live.bench_sound import SCRIPT, frames, script_file, spoken
from tests.api.web.conftest import SECRET
from tests.api.web.test_killed_pictures import bench_at, opened
from tests.browser.conftest import Server, start_server

#: So many frames are sent when the power goes, amid the second of four phrases; so many at least are safe.
_SENT, _SAFE = 50, 45
#: A busy machine takes long to begin.
_SOON_S = 120.0


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    """A real server, with somebody at its bench who agreed to be recorded."""
    monkeypatch.setenv("WITNESSMARK_ENGINE", "scripted")
    monkeypatch.setenv("WITNESSMARK_MODEL", str(script_file(tmp_path)))
    server = start_server(tmp_path / "shop")
    try:
        with stored(server) as database, database.writing() as session:
            now = datetime.now(UTC)
            account = make_account(
                session, name="technician", shown_name="Odd", roles=["technician"], secret=SECRET, now=now
            )
            notice = present_notice(server.folder, load_settings())
            keep_answer(session, account, notice=notice.text, agreed=True, now=now)
        yield server
        server.process.send_signal(signal.SIGINT)
        server.process.wait(_SOON_S)
    finally:
        server.kill()
        assert server.process.stdout is not None
        server.process.stdout.close()


@pytest.mark.real_time
@pytest.mark.long
def test_a_server_killed_amid_narration_and_writing_comes_to_the_same_record(shop: Server) -> None:
    some = list(frames(spoken(len(SCRIPT))))
    bench = bench_at(shop)
    job = opened(bench, "killed")
    with listening(shop, bench, job) as line:
        until(line, "recording")
        send(line, some[:_SENT])
        while (safe := int(until(line, "safe")["next"])) < _SAFE:
            pass
        shop.kill()
    assert np.array_equal(sound_of(shop, job)[: safe * 1600], joined(some[:safe]))
    restarted(shop)
    with listening(shop, bench, job) as line:
        begins = int(until(line, "recording")["next"])
        assert safe <= begins <= _SENT < len(some)
        send(line, some[begins:])
        all_safe(line, len(some))
    # No more sound comes: the last words are heard and the record is made.
    killed_while_handing_over(shop, bench, job, lambda: sound_is_closed(shop, job))
    assert draft_of(shop, job) is None
    # The record was just written; whether the job is with the office already is the machine's affair.
    killed_while_handing_over(shop, bench, job, lambda: draft_of(shop, job) is not None)
    if state_of(shop, job) == "open":
        handed_over(bench, job)
    assert state_of(shop, job) == "handed_over"

    unharmed = opened(bench, "unharmed")
    with listening(shop, bench, unharmed) as line:
        until(line, "recording")
        send(line, some)
        all_safe(line, len(some))
    handed_over(bench, unharmed)
    bench.close()
    assert np.array_equal(sound_of(shop, job), joined(some))
    assert values(shop, job) == ["0.018", "0.06"]
    assert entries_of(shop, job) == entries_of(shop, unharmed)


def killed_while_handing_over(
    server: Server, bench: httpx.Client, job: str, amid: Callable[[], bool]
) -> None:
    """Hand over, kill the server as soon as something is so, and start it again."""
    gone: list[Exception] = []

    def ask() -> None:
        try:
            bench.post(f"/bench/{job}/hand-over")
        except httpx.HTTPError as exc:
            gone.append(exc)

    asking = Thread(target=ask)
    asking.start()
    wait_until(amid)
    server.kill()
    asking.join(_SOON_S)
    restarted(server)


def wait_until(so: Callable[[], bool]) -> None:
    until_s = time.monotonic() + _SOON_S
    while not so():
        assert time.monotonic() < until_s
        time.sleep(0.002)


@contextlib.contextmanager
def stored(server: Server) -> Iterator[Database]:
    database = Database(database_url(server.folder, None))
    yield database
    database.close()


def restarted(server: Server) -> None:
    assert server.process.stdout is not None
    server.process.stdout.close()
    server.process = start_server(server.folder, server.port, first=False).process


@contextlib.contextmanager
def listening(server: Server, bench: httpx.Client, job: str) -> Iterator[ClientConnection]:
    cookie = "; ".join(f"{one.name}={one.value}" for one in bench.cookies.jar)
    address = f"ws://localhost:{server.port}/bench/{job}/listen"
    with connect(address, additional_headers={"cookie": cookie}) as line:
        line.send(json.dumps({"type": "start", "settings": {}}))
        yield line


def until(line: ClientConnection, kind: str) -> dict[str, Any]:
    while True:
        message: dict[str, Any] = json.loads(line.recv(timeout=_SOON_S))
        if message["type"] == kind:
            return message


def send(line: ClientConnection, some: list[Frame]) -> None:
    for frame in some:
        line.send(frame_bytes(frame.number, frame.samples))


def all_safe(line: ClientConnection, count: int) -> None:
    line.send("flush")
    while until(line, "safe")["next"] < count:
        pass


def handed_over(bench: httpx.Client, job: str) -> None:
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303


def joined(some: list[Frame]) -> Samples:
    return np.concatenate([frame.samples for frame in some])


def sound_of(server: Server, job: str) -> Samples:
    return np.concatenate(list(read_sound_journal(_journal(server, job)).blocks()))


def sound_is_closed(server: Server, job: str) -> bool:
    reader = read_sound_journal(_journal(server, job))
    for _ in reader:
        pass
    return reader.tail.closed


def _journal(server: Server, job: str) -> Path:
    (path,) = (server.folder / "jobs" / job).rglob(SOUND_JOURNAL)
    return path


def draft_of(server: Server, job: str) -> RebuildRecord | None:
    with stored(server) as database, database.reading() as session:
        assert first_break(chain_of(session, job)) is None
        draft = newest_draft(session, job)
        return None if draft is None else record_of(draft)


def state_of(server: Server, job: str) -> str:
    with stored(server) as database, database.reading() as session:
        return job_of(session, job).state


def entries_of(server: Server, job: str) -> list[dict[str, Any]]:
    record = draft_of(server, job)
    assert record is not None
    return [entry.model_dump(mode="json") for entry in record.entries()]


def values(server: Server, job: str) -> list[str | None]:
    record = draft_of(server, job)
    assert record is not None
    return [reading.value_exact for reading in record.readings]
