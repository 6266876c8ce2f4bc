"""kill -9 of the server while pictures come in: what was answered is there, what is sent again is one."""

from __future__ import annotations

import re
import signal
from datetime import UTC, datetime
from pathlib import Path
from threading import Thread
from typing import Any

import cv2
import httpx
import numpy as np
import pytest

from api.signing.chain import first_break
from api.store.accounts import make_account
from api.store.database import Database, database_url
from api.store.drafts import newest_draft, record_of
from api.store.job_events import chain_of
from tests.api.web.conftest import SECRET
from tests.api.web.test_pictures import FACE, SHARP
from tests.browser.conftest import Server, start_server

JSON = {"accept": "application/json"}


def bench_at(server: Server) -> httpx.Client:
    client = httpx.Client(base_url=server.address, timeout=60, headers={"accept": "text/html"})
    answer = client.post("/sign-in", data={"name": "technician", "secret": SECRET})
    assert answer.status_code == 303
    token = re.search(r'name="form_token" value="([^"]+)"', client.get("/").text)
    assert token
    client.headers["x-form-token"] = token[1]
    return client


def closed(server: Server, client: httpx.Client) -> None:
    client.close()
    assert server.process.stdout is not None
    server.process.stdout.close()


def opened(client: httpx.Client, work_order: str) -> str:
    fields = {"work_order": work_order, "sheet": "wash-water-end-suction"}
    return str(client.post("/bench/jobs", data=fields).headers["location"]).rpartition("/")[2]


def pictures() -> list[tuple[bytes, str]]:
    """Three that differ, and of what each is."""
    whole = cv2.imdecode(np.frombuffer(SHARP, np.uint8), cv2.IMREAD_COLOR)
    assert whole is not None
    turned = [np.rot90(whole, quarter) for quarter in range(2)]
    encoded = [cv2.imencode(".png", np.ascontiguousarray(one))[1].tobytes() for one in turned]
    return [(FACE, "stationary_seat"), *((one, "impeller") for one in encoded)]


def post(client: httpx.Client, job: str, picture: tuple[bytes, str]) -> httpx.Response:
    data, of = picture
    return client.post(
        f"/bench/{job}/pictures", data={"of": of}, files=[("burst", ("0.jpg", data))], headers=JSON
    )


def photos(server: Server, job: str) -> list[dict[str, Any]]:
    database = Database(database_url(server.folder, None))
    try:
        with database.reading() as session:
            assert first_break(chain_of(session, job)) is None
            draft = newest_draft(session, job)
            assert draft is not None
            return [photo.model_dump(mode="json") for photo in record_of(draft).photos]
    finally:
        database.close()


@pytest.mark.long
def test_a_server_killed_among_pictures_comes_to_the_same_record(tmp_path: Path) -> None:
    server = start_server(tmp_path / "shop")
    database = Database(database_url(server.folder, None))
    with database.writing() as session:
        make_account(
            session, name="technician", shown_name="Odd Fitter", roles=["technician"], secret=SECRET,
            now=datetime.now(UTC),
        )  # fmt: skip
    database.close()
    sent, answered = pictures(), list[str]()
    bench = bench_at(server)
    job = opened(bench, "killed")

    def send() -> None:
        try:
            for picture in sent:
                answered.append(post(bench, job, picture).json()["sha256"])
        except (httpx.HTTPError, OSError):
            pass  # the server is gone

    sending = Thread(target=send)
    sending.start()
    while len(answered) < 2 and sending.is_alive():
        sending.join(0.005)
    server.kill()
    sending.join(60)
    closed(server, bench)
    server = start_server(server.folder, server.port, first=False)
    try:
        bench = bench_at(server)
        # The browser keeps each picture until it is answered, and sends it again.
        assert [post(bench, job, picture).status_code for picture in sent] == [201] * len(sent)
        assert bench.post(f"/bench/{job}/hand-over").status_code == 303
        unharmed = opened(bench, "unharmed")
        for picture in sent:
            post(bench, unharmed, picture)
        assert bench.post(f"/bench/{unharmed}/hand-over").status_code == 303
        found = photos(server, job)
        assert [photo["sha256"] for photo in found][: len(answered)] == answered
        assert len(found) == len(sent)
        assert found == photos(server, unharmed)
    finally:
        server.process.send_signal(signal.SIGINT)
        server.process.wait(90)  # a busy machine takes long to end, too
        closed(server, bench)
