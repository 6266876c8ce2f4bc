"""Pictures at the bench: the sharpest is kept and judged at once; what is none is refused in one line."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from api.live.board import board_of, line_of
from api.live.desk import Desk
from api.signing.chain import first_break
from api.store.drafts import newest_draft, record_of
from api.store.job_events import chain_of
from api.web.shop import Shop
from capture.exif import taken_at
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.test_bench import opened, send, until

HERE = Path(__file__).parents[3] / "fixtures"
FACE = (HERE / "faces" / "0001.jpg").read_bytes()
SHARP = (HERE / "pictures" / "impeller_sharp.jpg").read_bytes()
CHIPPED = (HERE / "faces" / "0003.jpg").read_bytes()
BLURRED = (HERE / "pictures" / "seat_out_of_focus.jpg").read_bytes()


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path
) -> Iterator[TestClient]:
    shop.settings = shop.settings.model_copy(
        update={"engine": "scripted", "model": str(script_file(tmp_path))}
    )
    yield as_role("technician")
    app.state.desk.close()


def post(client: TestClient, job: str, *burst: bytes, **fields: str) -> Any:
    files = [("burst", (f"{n}.jpg", data, "image/jpeg")) for n, data in enumerate(burst)]
    return client.post(f"/bench/{job}/pictures", data=fields, files=files)


def draft(shop: Shop, job: str) -> RebuildRecord:
    with shop.database.reading() as session:
        found = newest_draft(session, job)
        assert found is not None
        return record_of(found)


def blurred(data: bytes, px: float) -> bytes:
    picture = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR)
    assert picture is not None
    return cv2.imencode(".jpg", cv2.GaussianBlur(picture, (0, 0), px))[1].tobytes()


def test_a_seal_face_is_judged_at_once_and_drawn(bench: TestClient) -> None:
    job = opened(bench)
    answer = post(bench, job, FACE, of="stationary_seat", stage="as_found")
    assert answer.status_code == 201
    judged = answer.json()
    assert judged["usable"]
    assert judged["title"] == "Stationary seat, as found"
    assert judged["face"]
    assert judged["say"].startswith("Stationary seat, as found: usable")
    for shown in ("whole", "small", "face", "strip"):
        picture = bench.get(f"/bench/{job}/pictures/{judged['picture']}/{shown}")
        assert picture.headers["content-type"] == "image/jpeg"
        assert cv2.imdecode(np.frombuffer(picture.content, np.uint8), cv2.IMREAD_COLOR) is not None


def test_the_sharpest_of_a_burst_is_kept(bench: TestClient) -> None:
    job = opened(bench)
    burst = [blurred(SHARP, 6), blurred(SHARP, 2), SHARP, blurred(SHARP, 4)]
    of_burst = post(bench, job, *burst, of="impeller").json()
    alone = post(bench, opened(bench), SHARP, of="impeller").json()
    assert of_burst["sha256"] == alone["sha256"]
    assert of_burst["usable"]


def test_an_unusable_picture_says_what_to_do_and_the_next_takes_its_place(
    bench: TestClient, shop: Shop
) -> None:
    job = opened(bench)
    first = post(bench, job, BLURRED, of="impeller").json()
    assert not first["usable"]
    assert "Out of focus" in first["advice"]
    assert first["say"].startswith("Impeller, as found: not usable. Out of focus")
    post(bench, job, SHARP, of="impeller")
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    old, new = draft(shop, job).photos
    assert (old.superseded_by, old.superseded_why) == (new.id, "measured_again")
    assert new.standing
    assert new.evidence.rule == "photo: chosen at the bench"
    # The earlier one is kept all the same.
    assert (shop.folder / "jobs" / job / old.picture).exists()


@pytest.mark.parametrize(
    ("pictures", "left"), [([BLURRED], [": the one taken is not usable"]), ([BLURRED, FACE], [])]
)
def test_a_picture_that_shows_nothing_is_still_wanted(
    bench: TestClient, shop: Shop, pictures: list[bytes], left: list[str]
) -> None:
    job, sheet = opened(bench), load_job_sheet("wash-water-end-suction")
    wanted = "photo: photo of the stationary seat"
    for picture in pictures:
        post(bench, job, picture, of="stationary_seat", stage="as_found")
    bench.post(f"/bench/{job}/hand-over")
    lines = board_of(draft(shop, job), sheet).left
    assert [line.removeprefix(wanted) for line in lines if line.startswith(wanted)] == left


def test_a_usable_picture_is_replaced_only_where_that_is_said(bench: TestClient, shop: Shop) -> None:
    job, brighter = opened(bench), blurred(SHARP, 0.3)
    first = post(bench, job, SHARP, of="impeller").json()
    post(bench, job, brighter, of="impeller")
    post(bench, job, blurred(SHARP, 0.4), of="impeller", again=first["sha256"])
    assert post(bench, job, blurred(SHARP, 0.5), of="impeller", again=first["sha256"]).status_code == 422
    bench.post(f"/bench/{job}/hand-over")
    assert [photo.standing for photo in draft(shop, job).photos] == [False, True, True]


def test_a_picture_that_is_sent_twice_is_one(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    assert post(bench, job, SHARP, of="impeller").json() == post(bench, job, SHARP, of="impeller").json()
    with shop.database.reading() as session:
        chain = chain_of(session, job)
    assert [link.kind for link in chain] == ["opened", "picture_taken"]
    assert first_break(chain) is None


def test_nothing_of_place_and_camera_is_kept(bench: TestClient, shop: Shop) -> None:
    exif = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x0f\0\x02\0\0\0\x0bsome camera\0\0\0\0\0"
    marked = SHARP[:2] + b"\xff\xe1" + (len(exif) + 2).to_bytes(2, "big") + exif + SHARP[2:]
    job = opened(bench)
    judged = post(bench, job, marked, of="impeller").json()
    kept = (shop.folder / "jobs" / job / "pictures" / f"{judged['picture']}.jpg").read_bytes()
    assert b"some camera" in marked
    assert b"some camera" not in kept
    assert b"Exif" not in kept
    assert taken_at(kept) is None


def zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("picture.jpg", SHARP)
    return out.getvalue()


def of_size(width: int, height: int) -> bytes:
    """A whole PNG of one grey, whose header alone says how large it is."""
    return cv2.imencode(".png", np.full((height, width), 90, np.uint8))[1].tobytes()


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (zipped(), "this is"),
        (b"", "empty"),
        (b"<svg onload='alert(1)'/>", "expected a JPEG"),
        (SHARP[:300], "damaged"),
        (of_size(9000, 6000), "9000 x 6000 pixels"),
    ],
)
def test_what_is_no_picture_is_refused_and_leaves_nothing(
    bench: TestClient, shop: Shop, data: bytes, what: str
) -> None:
    job = opened(bench)
    answer = post(bench, job, data, of="impeller")
    assert answer.status_code == 422
    assert what in answer.text
    assert not list((shop.folder / "jobs").rglob("*.jpg"))
    # One bad picture of a burst does not spoil the rest.
    assert post(bench, job, data, SHARP, of="impeller").status_code == 201


def test_twenty_megapixels_of_a_phone_are_taken(bench: TestClient) -> None:
    large = cv2.resize(cv2.imdecode(np.frombuffer(FACE, np.uint8), cv2.IMREAD_COLOR), (5200, 3900))
    judged = post(bench, opened(bench), cv2.imencode(".jpg", large)[1].tobytes(), of="stationary_seat")
    assert judged.status_code == 201
    assert judged.json()["face"]


def test_too_many_and_too_much_are_refused(bench: TestClient) -> None:
    job = opened(bench)
    assert post(bench, job, *[SHARP] * 9, of="impeller").status_code == 422
    huge = post(bench, job, b"\xff\xd8\xff" + b"\0" * (25 * 2**20), of="impeller")
    assert huge.status_code == 422
    assert "MB" in huge.text


@pytest.mark.parametrize("of", ["../../x", "/etc/passwd", "impeller/../../x", "<b>", "x" * 200, "a part\0"])
def test_a_part_that_is_not_on_the_sheet_makes_no_file(bench: TestClient, shop: Shop, of: str) -> None:
    answer = post(bench, opened(bench), SHARP, of=of)
    assert answer.status_code == 422
    assert "no such part" in answer.text
    assert not list((shop.folder / "jobs").rglob("*.jpg"))


@pytest.mark.parametrize("name", ["..", "%2e%2e%2fshop.txt", "0" * 20, "../../shop"])
def test_no_name_leads_to_another_file(bench: TestClient, name: str) -> None:
    job = opened(bench)
    post(bench, job, SHARP, of="impeller")
    assert bench.get(f"/bench/{job}/pictures/{name}/whole").status_code in (404, 405)


def test_a_picture_of_another_job_is_not_shown(bench: TestClient) -> None:
    job = opened(bench)
    judged = post(bench, job, SHARP, of="impeller").json()
    other = bench.post("/bench/jobs", data={"work_order": "WO 13", "sheet": "wash-water-end-suction"})
    elsewhere = str(other.headers["location"]).rpartition("/")[2]
    assert bench.get(f"/bench/{elsewhere}/pictures/{judged['picture']}/whole").status_code == 404


@pytest.mark.parametrize("role", ["stores", "admin"])
def test_who_may_not_read_records_sees_no_picture(
    bench: TestClient, as_role: Callable[[str], TestClient], role: str
) -> None:
    job = opened(bench)
    judged = post(bench, job, SHARP, of="impeller").json()
    stranger = as_role(role)
    for room in ("bench", "office"):
        assert stranger.get(f"/{room}/{job}/pictures/{judged['picture']}/whole").status_code == 403
    assert post(stranger, job, SHARP, of="impeller").status_code == 403
    with pytest.raises(WebSocketDisconnect), stranger.websocket_connect(f"/bench/{job}/look"):
        pass


def test_a_form_of_another_session_takes_no_picture(bench: TestClient) -> None:
    job = opened(bench)
    bench.headers["x-form-token"] = "guessed"
    assert post(bench, job, SHARP, of="impeller").status_code == 403


def test_a_job_that_was_handed_over_takes_no_picture(bench: TestClient) -> None:
    job = opened(bench)
    post(bench, job, SHARP, of="impeller")
    bench.post(f"/bench/{job}/hand-over")
    assert post(bench, job, FACE, of="stationary_seat").status_code == 409


@pytest.mark.long
def test_a_picture_taken_while_recording_is_in_the_record_with_its_second(
    bench: TestClient, shop: Shop, app: FastAPI
) -> None:
    job, some = opened(bench), list(frames(spoken(2)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "ready")
        send(socket, some)
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass
        assert post(bench, job, FACE, of="stationary_seat").status_code == 201
        seen = until(socket, "seen")
        assert "Picture of stationary seat" in [line["what"] for line in seen["board"]["lines"]]
        assert not [left for left in seen["board"]["left"] if "stationary seat" in left and "hoto" in left]
    # Killed and started again: the record is the same.
    app.state.desk.close()
    app.state.desk = Desk(shop)
    bench.post(f"/bench/{job}/hand-over")
    (photo,) = draft(shop, job).photos
    assert (photo.evidence.recording, photo.evidence.start_s) == ("001", len(some) / 10)
    assert photo.face_report is not None
    assert photo.face_report.usable
    assert photo.stage == "as_found"


def test_what_was_judged_is_made_again_where_it_was_lost(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    post(bench, job, FACE, of="stationary_seat")
    folder = shop.folder / "jobs" / job
    (judged,) = (folder / "pictures").glob("*.json")
    before = judged.read_bytes()
    judged.unlink()
    for drawing in (folder / "faces").iterdir():
        drawing.unlink()
    bench.post(f"/bench/{job}/hand-over")
    assert judged.read_bytes() == before
    assert len(list((folder / "faces").iterdir())) == 2


ASKING = ["front clearance vane one eighteen thou", "picture of the seat face", "finish the job"]


def test_a_picture_that_is_asked_for_aloud_is_taken_and_bears_the_words(
    bench: TestClient, shop: Shop, tmp_path: Path
) -> None:
    script_file(tmp_path, list(ASKING))
    job, some = opened(bench), list(frames(spoken(3)))
    with (
        bench.websocket_connect(f"/bench/{job}/look") as look,
        bench.websocket_connect(f"/bench/{job}/listen") as socket,
    ):
        socket.send_json({"type": "start"})
        send(socket, some)
        wanted = look.receive_json()
        assert (wanted["type"], wanted["of"], wanted["title"]) == (
            "take",
            "stationary_seat",
            "Stationary seat",
        )
        # A browser that comes later is told, too, as long as nobody took it.
        with bench.websocket_connect(f"/bench/{job}/look") as later:
            assert later.receive_json() == wanted
        # What came in beside the command's name does not count: the words do.
        judged = post(bench, job, FACE, of="impeller", asked=wanted["asked"])
        assert judged.json()["title"] == "Stationary seat, as found"
        assert look.receive_json()["type"] == "judged"
        with bench.websocket_connect(f"/bench/{job}/look") as later:
            # A second camera of the bench that was slower adds nothing.
            assert post(bench, job, SHARP, of="impeller", asked=wanted["asked"]).json() == judged.json()
    bench.post(f"/bench/{job}/hand-over")
    record = draft(shop, job)
    (photo,) = record.photos
    (asked,) = [event for event in record.events if event.event == "snapshot"]
    assert photo.of == "stationary_seat"
    assert (photo.evidence.words, photo.evidence.rule) == (
        "picture of the seat face",
        "photo: picture asked for",
    )
    assert photo.evidence.utterance == asked.evidence.utterance


def test_what_was_said_against_a_picture_becomes_a_question(
    bench: TestClient, shop: Shop, tmp_path: Path
) -> None:
    script_file(tmp_path, ["the seat face has no chips and no scratches", "picture of the seat face"])
    job, some = opened(bench), list(frames(spoken(2)))
    with (
        bench.websocket_connect(f"/bench/{job}/look") as look,
        bench.websocket_connect(f"/bench/{job}/listen") as socket,
    ):
        socket.send_json({"type": "start"})
        send(socket, some)
        wanted = look.receive_json()
        assert post(bench, job, CHIPPED, asked=wanted["asked"]).json()["usable"]
        asked = [question["text"] for question in until(socket, "seen")["board"]["questions"]]
        assert [text for text in asked if "chip" in text]
    bench.post(f"/bench/{job}/hand-over")
    assert [question for question in draft(shop, job).questions if "chip" in question.text]


def test_everybody_at_the_bench_is_told_what_was_judged(bench: TestClient) -> None:
    job = opened(bench)
    with bench.websocket_connect(f"/bench/{job}/look") as socket:
        post(bench, job, SHARP, of="impeller")
        told = socket.receive_json()
    assert (told["type"], told["title"], told["usable"]) == ("judged", "Impeller, as found", True)


def test_a_face_that_goes_back_is_compared_as_found_and_as_left(bench: TestClient, shop: Shop) -> None:
    job, cleaned = opened(bench), (HERE / "faces" / "0003t.jpg").read_bytes()
    post(bench, job, CHIPPED, of="stationary_seat", stage="as_found")
    post(bench, job, cleaned, of="stationary_seat", stage="as_left")
    bench.post(f"/bench/{job}/hand-over")
    (note,) = draft(shop, job).notes
    assert note.evidence.rule == "as found against as left"
    assert note.text.startswith("stationary seat, pictures/stationary_seat-")
    assert "against" in note.text


def test_a_picture_that_is_no_use_is_said_to_be_on_the_board(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    post(bench, job, BLURRED, of="impeller")
    post(bench, job, SHARP, of="impeller")
    bench.post(f"/bench/{job}/hand-over")
    record = draft(shop, job)
    sheet = load_job_sheet("wash-water-end-suction")
    lines = [line_of(photo, sheet) for photo in record.photos]
    assert [(line.value, line.word) for line in lines] == [("as found", "taken again"), ("as found", "taken")]
    alone = record.photos[0].model_copy(update={"superseded_why": None, "superseded_by": None})
    assert line_of(alone, sheet).word == "not usable"
