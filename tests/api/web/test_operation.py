"""Health and measures of a server at work; its log of a day at the bench tells of nobody."""

from __future__ import annotations

import json
import shutil
from collections import namedtuple
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.operation.health import LITTLE_BYTES, TOO_LITTLE_BYTES
from api.web.shop import Shop
from shared.errors import StoreUnusable
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.operation.measured import samples
from tests.api.web.conftest import SECRET
from tests.api.web.test_bench import opened, send, until

SAID: list[object] = ["front clearance vane one eighteen thou", "vane two is thirteen or thirty thou"]
TOKEN = "scrape-me-0123456789"
Usage = namedtuple("Usage", "total used free")


def measured(client: TestClient) -> dict[str, float]:
    answer = client.get("/metrics", headers={"authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain; version=")
    return samples(answer.text)


@pytest.fixture
def scripted(shop: Shop, tmp_path: Path) -> Shop:
    more = {"engine": "scripted", "model": str(script_file(tmp_path, SAID)), "metrics_token": TOKEN}
    shop.settings = shop.settings.model_copy(update=more)
    return shop


def test_health_is_told_to_everybody_and_tells_of_nobody(stranger: TestClient) -> None:
    answer = stranger.get("/health")
    assert answer.status_code == 200
    assert answer.json() == {"status": "ok", "database": "ok", "disk": "ok", "ears": "ok"}


@pytest.mark.parametrize(
    ("free", "status", "state"),
    [(LITTLE_BYTES, 200, "ok"), (LITTLE_BYTES - 1, 200, "degraded"), (TOO_LITTLE_BYTES - 1, 503, "failing")],
)
def test_a_disk_that_fills_is_told_before_it_is_full(
    free: int, status: int, state: str, stranger: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda path: Usage(10**12, 0, free))
    answer = stranger.get("/health")
    assert (answer.status_code, answer.json()["status"], answer.json()["disk"]) == (status, state, state)


def test_a_database_that_does_not_answer_is_failing(
    stranger: TestClient, shop: Shop, as_role: Callable[[str], TestClient], monkeypatch: pytest.MonkeyPatch
) -> None:
    admin = as_role("admin")
    reading = shop.database.reading
    calls = iter([True, False])  # the one that knows who asks, then the one that counts

    def broken() -> Any:
        raise StoreUnusable("gone")

    monkeypatch.setattr(shop.database, "reading", broken)
    assert stranger.get("/health").status_code == 503
    assert stranger.get("/health").json()["database"] == "failing"
    monkeypatch.setattr(shop.database, "reading", lambda: reading() if next(calls) else broken())
    assert "witnessmark_database_up 0.0" in admin.get("/metrics").text


def test_measures_are_for_the_token_and_for_who_keeps_the_accounts(
    stranger: TestClient, as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    bearer = {"authorization": f"Bearer {TOKEN}", "accept": "*/*"}
    assert stranger.get("/metrics", headers=bearer).status_code == 401
    assert as_role("reviewer").get("/metrics").status_code == 403
    assert as_role("admin").get("/metrics").status_code == 200
    shop.settings = shop.settings.model_copy(update={"metrics_token": TOKEN})
    assert stranger.get("/metrics", headers=bearer).status_code == 200
    wrong = {"authorization": f"Bearer {TOKEN}x", "accept": "*/*"}
    assert stranger.get("/metrics", headers=wrong).status_code == 401
    assert stranger.get("/metrics", headers={"authorization": "Bearer", "accept": "*/*"}).status_code == 401


@pytest.mark.long
def test_a_day_is_measured_and_its_log_has_nobodys_words_or_names(
    scripted: Shop, app: FastAPI, as_role: Callable[[str], TestClient], stranger: TestClient, lines: Any
) -> None:  # fmt: skip
    bench = as_role("technician")
    job = opened(bench)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, list(frames(spoken(2))))
        until(socket, "heard"), until(socket, "heard")
        assert measured(stranger)["witnessmark_benches_at_work"] == 1
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    stranger.post("/sign-in", data={"name": "Somebody Else", "secret": "not the right one"})
    stranger.get("/set-up/a-token-that-somebody-has")
    app.state.desk.close()

    found = measured(stranger)
    assert found["witnessmark_readings_total scripted"] == 2
    assert found["witnessmark_questions_per_100_readings scripted"] == 50
    assert (found["witnessmark_ears_ready_total scripted"], found["witnessmark_ears_failed_total"]) == (1, 0)
    for stage in ("hearing", "reading", "telling"):
        assert found[f"witnessmark_stage_seconds_count {stage}"] == 2
    assert found["witnessmark_stage_seconds_count saving"] > 2
    assert (found["witnessmark_jobs handed_over"], found["witnessmark_jobs open"]) == (1, 0)
    assert found["witnessmark_recordings_unended"] == 0
    assert found["witnessmark_tasks waiting"] == 0
    assert found["witnessmark_request_seconds_count POST /bench/{job_id}/hand-over 3xx"] == 1
    assert found["witnessmark_disk_free_bytes"] > 0
    assert found["witnessmark_database_up"] == 1

    log = lines()
    events = [line["event"] for line in log if line["from"].startswith("api.")]
    assert {"ear_ready", "recording_ended", "request"} <= set(events)
    ended = next(line for line in log if line.get("event") == "recording_ended")
    assert (ended["job"], ended["readings"], ended["questions"]) == (job, 2, 1)
    text = json.dumps(log).lower()
    words_said = " ".join(str(one) for one in SAID).split()
    private = [*words_said, "technician", "some technician", "somebody", SECRET]
    private += ["WO 12", "P-1", "a-token-that-somebody-has", "not the right one"]
    # What a line consists of itself: its events, and the routes as they are declared.
    own = {"is", "or"}
    for words in private:
        assert words.lower() in own or words.lower() not in text, words
