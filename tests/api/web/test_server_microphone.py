"""The server's microphone at a bench, through the real PortAudio: heard like a browser's; gone, told."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from api.listening import SOUND_JOURNAL
from api.live.frames import FRAME_SAMPLES, frame_bytes
from api.store.jobs import job_of
from api.web.shop import Shop
from capture.sound_journal import read_sound_journal
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.awaiting import until
from tests.api.web.test_bench import opened
from tests.capture.sound_card import NAME, SoundCard


@pytest.fixture
def card(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SoundCard]:
    made = SoundCard(tmp_path)
    for name, value in made.environment.items():
        monkeypatch.setenv(name, value)
    yield made
    made.close()


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path, card: SoundCard
) -> Iterator[TestClient]:
    script = {"engine": "scripted", "model": str(script_file(tmp_path)), "bench_microphone": NAME}
    shop.settings = shop.settings.model_copy(update=script)
    yield as_role("technician")
    app.state.desk.close()


def microphone_told(socket: Any, what: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
    while True:
        told = until(socket, "microphone")
        if what(told):
            return told


@pytest.mark.long
def test_a_bench_is_heard_by_the_servers_microphone_which_may_come_and_go(
    bench: TestClient, shop: Shop, card: SoundCard
) -> None:
    job, sound = opened(bench), spoken(2)
    assert NAME in bench.get(f"/bench/{job}").text
    card.speak(sound, again=True)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start", "settings": {"microphone": "server"}})
        assert until(socket, "recording")["number"] == 1
        assert until(socket, "heard")["board"]["lines"][0]["value"] == "0.018 in"
        socket.send_bytes(frame_bytes(0, next(iter(frames(sound))).samples))
        assert "server's microphone listens" in until(socket, "not_recording")["line"]
        card.unplug()
        assert "gives no sound" in microphone_told(socket, lambda told: bool(told["line"]))["line"]
        card.speak(sound, again=True)
        microphone_told(socket, lambda told: not told["line"] and told["peak"] > 0)
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    with shop.database.reading() as session:
        (recording,) = job_of(session, job).recordings
        assert recording.source == "server_microphone"
        assert recording.settings["device"] == NAME
        assert (recording.settings["rate"], recording.settings["channels"]) == (16000, 1)


@pytest.mark.long
def test_a_driver_that_dies_takes_nothing_with_it(bench: TestClient, shop: Shop, card: SoundCard) -> None:
    job = opened(bench)
    card.speak(spoken(2), again=True)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start", "settings": {"microphone": "server"}})
        microphone_told(socket, lambda told: told["peak"] > 0)
        socket.send_text("flush")
        safe = until(socket, "safe")["next"]
        assert safe > 0
        os.kill(holder_of_device(), signal.SIGKILL)
        assert "driver ended" in microphone_told(socket, lambda told: bool(told["line"]))["line"]
        microphone_told(socket, lambda told: not told["line"] and told["peak"] > 0)
        socket.send_text("flush")
        later = until(socket, "safe")["next"]
    assert later > safe
    with shop.database.reading() as session:
        (recording,) = job_of(session, job).recordings
        journal = read_sound_journal(shop.folder / recording.folder / SOUND_JOURNAL)
        samples = np.concatenate(list(journal.blocks()))
    assert len(samples) >= later * FRAME_SAMPLES
    assert np.abs(samples[: safe * FRAME_SAMPLES]).max() > 0


def holder_of_device() -> int:
    """Return the process that holds the microphone."""
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = path.read_bytes().split(b"\0")
            parent = int(path.with_name("stat").read_text().rpartition(")")[2].split()[1])
        except OSError:
            continue
        if b"capture.microphone_process" in words and parent == os.getpid():
            return int(path.parent.name)
    raise AssertionError("no process holds the microphone")


def test_one_that_is_not_there_is_refused_in_one_line(bench: TestClient, shop: Shop) -> None:
    shop.settings = shop.settings.model_copy(update={"bench_microphone": "absent"})
    job = opened(bench)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start", "settings": {"microphone": "server"}})
        assert "is not there" in until(socket, "refused")["line"]


def begin(socket: Any) -> dict[str, Any]:
    socket.send_json({"type": "start", "settings": {"microphone": "server"}})
    return until(socket, "recording")


@pytest.mark.long
def test_a_page_loaded_again_does_not_open_it_twice(bench: TestClient, app: FastAPI, card: SoundCard) -> None:
    job = opened(bench)
    card.speak(spoken(2), again=True)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        begin(socket)
        microphone_told(socket, lambda told: told["peak"] > 0)
    holder, listening = holder_of_device(), app.state.desk.at_work(job).microphone
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        assert begin(socket)["number"] == 1
        microphone_told(socket, lambda told: told["peak"] > 0)
    assert app.state.desk.at_work(job).microphone is listening
    assert holder_of_device() == holder


@pytest.mark.long
def test_the_browsers_own_may_be_chosen_instead_and_in_the_middle(
    bench: TestClient, app: FastAPI, card: SoundCard
) -> None:
    job = opened(bench)
    assert 'data-server-microphone=""' in bench.get(f"/bench/{job}?microphone=browser").text
    assert f'data-server-microphone="{NAME}"' in bench.get(f"/bench/{job}").text
    card.speak(spoken(2), again=True)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        begin(socket)
        microphone_told(socket, lambda told: told["peak"] > 0)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        wanted = until(socket, "recording")["next"]
        assert wanted > 0
        assert app.state.desk.at_work(job).microphone is None
        for frame in list(frames(spoken(2)))[:5]:
            socket.send_bytes(frame_bytes(wanted + frame.number, frame.samples))
        assert until(socket, "safe")["next"] == wanted + 5


def test_a_bench_without_one_refuses_and_shows_no_choice(
    as_role: Callable[[str], TestClient],
) -> None:
    bench = as_role("technician")
    job = opened(bench)
    assert "at the server" not in bench.get(f"/bench/{job}").text
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start", "settings": {"microphone": "server"}})
        assert "no microphone at the server" in until(socket, "refused")["line"]


def test_nobody_else_opens_the_servers_microphone(
    as_role: Callable[[str], TestClient], bench: TestClient
) -> None:
    job = opened(bench)
    listen = as_role("stores").websocket_connect(f"/bench/{job}/listen")
    with pytest.raises(WebSocketDisconnect), listen as socket:
        begin(socket)
