"""Pictures in the office: beside their entries, in the signed PDF, and still what was taken."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.cli import run
from api.office.reviewing import under_review
from api.web.shop import Shop
from extract.reviewing import deviation_key
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.test_bench import opened, send
from tests.api.web.test_office import signing, turn
from tests.api.web.test_pictures import CHIPPED, SHARP, post

SAID = ["the seat face has no chips and no scratches", "picture of the seat face", "finish the job"]


@pytest.fixture
def job(as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path) -> str:
    """One handed over: words against a picture of a seal face, and a picture by hand."""
    update = {"engine": "scripted", "model": str(script_file(tmp_path, list(SAID)))}
    shop.settings = shop.settings.model_copy(update=update)
    bench = as_role("technician")
    job = opened(bench)
    with (
        bench.websocket_connect(f"/bench/{job}/look") as look,
        bench.websocket_connect(f"/bench/{job}/listen") as socket,
    ):
        socket.send_json({"type": "start"})
        send(socket, list(frames(spoken(3))))
        post(bench, job, CHIPPED, asked=look.receive_json()["asked"])
        post(bench, job, SHARP, of="impeller")
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    app.state.desk.close()
    return job


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient], job: str) -> TestClient:
    return as_role("reviewer")


def settled(reviewer: TestClient, shop: Shop, job: str) -> None:
    with shop.database.reading() as session:
        it = under_review(session, job)
    for row in it.review.rows:
        if row.doubtful:
            fields = {"entry": row.line.id, "decision": "accepted", "seen": str(turn(shop, job))}
            assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303
    for one in it.record.deviations:
        fields = {"entry": deviation_key(one), "decision": "disposed", "disposition": "rework", "remark": "x"}
        fields["seen"] = str(turn(shop, job))
        assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303


@pytest.mark.long
def test_a_picture_stands_beside_its_entry_and_what_it_speaks_against_is_doubtful(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    shown = reviewer.get(f"/office/{job}").text
    faces = re.findall(r'<img src="(/office/[^"]+/face)"', shown)
    small = re.findall(r'<img src="(/office/[^"]+/small)"', shown)
    assert len(faces) == len(small) == 1
    for address in (*faces, *small):
        answer = reviewer.get(address)
        assert answer.content.startswith(b"\xff\xd8\xff")
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert "seal face: usable" in shown
    assert "sharp and well lit" in shown
    picture = shown[shown.index("Picture of stationary seat") :]
    assert "picture of the seat face" in picture
    assert "▶" in picture
    with shop.database.reading() as session:
        doubtful = [row for row in under_review(session, job).review.rows if row.doubtful]
    assert [row for row in doubtful if "chip" in row.question]
    assert reviewer.post(f"/office/{job}/sign", data=signing(shop, job)).status_code == 409


@pytest.mark.long
def test_pictures_are_signed_as_they_were_taken_or_not_at_all(
    reviewer: TestClient, shop: Shop, job: str, tmp_path: Path
) -> None:
    settled(reviewer, shop, job)
    picture = next((shop.folder / "jobs" / job / "pictures").glob("impeller-*.jpg"))
    taken_then = picture.read_bytes()
    picture.write_bytes(CHIPPED)
    _is_not_signed(reviewer, shop, job, picture.name)
    picture.unlink()
    _is_not_signed(reviewer, shop, job, picture.name)
    picture.write_bytes(taken_then)
    assert reviewer.post(f"/office/{job}/sign", data=signing(shop, job)).status_code == 303
    file = tmp_path / "signed.pdf"
    file.write_bytes(reviewer.get(f"/office/{job}/revisions/1.pdf").content)
    # Both small pictures, and close-up and strip of the face.
    assert pictures_in(file.read_bytes()) == 4
    key = tmp_path / "shop.pem"
    key.write_text(reviewer.get("/shop-key.pem").text)
    assert run(["verify", str(file), "--key", str(key), "--strict"]) == 0
    signed = reviewer.get(f"/office/{job}/revisions/1.json").json()
    assert [photo["of"] for photo in signed["record"]["photos"]] == ["stationary_seat", "impeller"]
    taken = [event["payload"]["sha256"] for event in signed["events"] if event["kind"] == "picture_taken"]
    assert taken == [photo["sha256"] for photo in signed["record"]["photos"]]


def pictures_in(document: bytes) -> int:
    """How many pictures are on the pages of a PDF."""
    with pikepdf.open(io.BytesIO(document)) as pdf:
        return len({image.objgen for page in pdf.pages for image in page.get_images().values()})


def _is_not_signed(reviewer: TestClient, shop: Shop, job: str, picture: str) -> None:
    answer = reviewer.post(f"/office/{job}/sign", data=signing(shop, job))
    assert answer.status_code == 422
    assert picture in answer.text
    assert reviewer.get(f"/office/{job}/revisions/1.pdf").status_code == 404
