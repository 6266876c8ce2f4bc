"""The server's camera at a bench: by hand and by voice; unplugged, it says so and nothing is lost."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.web.shop import Shop
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.test_bench import opened, send
from tests.api.web.test_pictures import FACE, draft, post


def film(path: Path, *pictures: bytes) -> str:
    frames_ = [cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR) for data in pictures]
    height, width = frames_[0].shape[:2]
    writer = cv2.VideoWriter(str(path), cv2.VideoWriter.fourcc(*"MJPG"), 25, (width, height))
    for frame in frames_:
        writer.write(frame)
    writer.release()
    return str(path)


@pytest.fixture
def camera(tmp_path: Path) -> str:
    return film(tmp_path / "camera.avi", FACE, FACE)


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path, camera: str
) -> Iterator[TestClient]:
    shop.settings = shop.settings.model_copy(
        update={
            "engine": "scripted",
            "model": str(script_file(tmp_path, ["picture of the seat face", "finish the job"])),
            "bench_camera": camera,
        }
    )
    client = as_role("technician")
    client.headers["accept"] = "application/json"
    yield client
    app.state.desk.close()


def test_the_button_has_the_servers_camera_take_it(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    assert "camera.avi" in bench.get(f"/bench/{job}").text
    judged = bench.post(f"/bench/{job}/server-camera", data={"of": "stationary_seat"})
    assert judged.status_code == 201
    assert judged.json()["usable"]
    bench.post(f"/bench/{job}/hand-over")
    (photo,) = draft(shop, job).photos
    assert photo.face_report is not None


def test_a_picture_asked_for_aloud_needs_no_hand(bench: TestClient) -> None:
    job, some = opened(bench), list(frames(spoken(2)))
    with (
        bench.websocket_connect(f"/bench/{job}/look") as look,
        bench.websocket_connect(f"/bench/{job}/listen") as socket,
    ):
        socket.send_json({"type": "start"})
        send(socket, some)
        assert look.receive_json()["type"] == "taking"
        judged = look.receive_json()
    assert (judged["type"], judged["title"], judged["usable"]) == (
        "judged",
        "Stationary seat, as found",
        True,
    )


def test_an_unplugged_camera_says_so_and_a_browser_takes_the_picture(
    bench: TestClient, camera: str, shop: Shop
) -> None:
    job, some = opened(bench), list(frames(spoken(2)))
    Path(camera).unlink()
    refused = bench.post(f"/bench/{job}/server-camera", data={"of": "stationary_seat"})
    assert refused.status_code == 422
    assert "does not answer" in refused.json()["error"]["what"]
    with (
        bench.websocket_connect(f"/bench/{job}/look") as look,
        bench.websocket_connect(f"/bench/{job}/listen") as socket,
    ):
        socket.send_json({"type": "start"})
        send(socket, some)
        assert look.receive_json()["type"] == "taking"
        wanted = look.receive_json()
        assert wanted["type"] == "take"
        assert "does not answer" in wanted["trouble"]
        assert post(bench, job, FACE, asked=wanted["asked"]).status_code == 201
    bench.post(f"/bench/{job}/hand-over")
    (photo,) = draft(shop, job).photos
    assert photo.evidence.words == "picture of the seat face"


def test_a_bench_without_one_says_so(bench: TestClient, shop: Shop) -> None:
    shop.settings = shop.settings.model_copy(update={"bench_camera": "bench 9=0"})
    answer = bench.post(f"/bench/{opened(bench)}/server-camera", data={"of": "impeller"})
    assert answer.status_code == 422
    assert "no camera at the server" in answer.text
