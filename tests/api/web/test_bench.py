"""The bench over its web socket: nothing acknowledged is lost, whoever comes back goes on."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from api.live.bench_facts import Place, facts_of
from api.live.frames import Frame, frame_bytes
from api.people.notice import present_notice
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.store.drafts import newest_draft, record_of
from api.store.job_events import chain_of
from api.web.shop import Shop
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.awaiting import both, until
from tests.api.web.conftest import SECRET

SheetId = "wash-water-end-suction"


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path
) -> Iterator[TestClient]:
    shop.settings = shop.settings.model_copy(
        update={"engine": "scripted", "model": str(script_file(tmp_path))}
    )
    yield as_role("technician")
    app.state.desk.close()


def opened(bench: TestClient) -> str:
    answer = bench.post("/bench/jobs", data={"work_order": "WO 12", "sheet": SheetId, "pump_tag": "P-1"})
    return str(answer.headers["location"]).rpartition("/")[2]


def send(socket: Any, some: list[Frame]) -> None:
    for frame in some:
        socket.send_bytes(frame_bytes(frame.number, frame.samples))


@pytest.mark.long
def test_a_whole_job_from_the_tag_to_the_office(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    assert "WO 12" in bench.get("/bench").text
    assert "NOT RECORDING" in bench.get(f"/bench/{job}").text
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start", "settings": {"autoGainControl": False, "x": [1]}})
        assert until(socket, "recording") == {"type": "recording", "number": 1, "next": 0}
        send(socket, list(frames(spoken(2))))
        heard = until(socket, "heard")
        assert heard["answer"]["tone"] == "taken"
        assert heard["board"]["lines"][0]["value"] == "0.018 in"
        socket.send_text("flush")
        assert until(socket, "safe")["next"] > 0
    assert bench.post(f"/bench/{job}/hand-over").headers["location"] == "/bench"
    with shop.database.reading() as session:
        draft = newest_draft(session, job)
        assert draft is not None
        record = record_of(draft)
        assert [reading.value for reading in record.readings] == [0.018, 0.06]
        assert (record.job.work_order, record.job.pump_tag) == ("WO 12", "P-1")
        kinds = [link.kind for link in chain_of(session, job)]
    assert kinds == ["opened", "recording_begun", "recording_ended", "drafted", "handed_over"]


def test_a_press_does_what_the_words_would_and_is_an_event_of_the_job(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "recording")
        send(socket, list(frames(spoken(2))))
        board = until(socket, "heard")["board"]
        while board["readings"] < 2:
            board = until(socket, "heard")["board"]
        socket.send_json({"type": "press", "order": "strike", "about": board["last"]})
        # The ear may answer before the server says that it took the press.
        told = both(socket, "pressed", "heard")
        struck = told["heard"]
        assert told["pressed"]["taken"]
        assert struck["answer"]["title"] == "Struck"
        assert struck["board"]["readings"] == 1
        socket.send_json({"type": "press", "order": "sign"})
        assert not until(socket, "pressed")["taken"]
    with shop.database.reading() as session:
        pressed = [link for link in chain_of(session, job) if link.kind == "pressed"]
    assert [(link.payload["order"], link.payload["about"]) for link in pressed] == [("strike", board["last"])]
    assert pressed[0].by is not None


def test_a_bench_that_comes_back_goes_on_where_the_server_has_it(bench: TestClient) -> None:
    job, some = opened(bench), list(frames(spoken(1)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "recording")
        send(socket, some[:10])
        assert until(socket, "safe")["next"] == 5
        assert until(socket, "safe")["next"] == 10
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        assert until(socket, "recording") == {"type": "recording", "number": 1, "next": 10}
        send(socket, some[8:15])  # more than is wanted
        socket.send_text("flush")
        while until(socket, "safe")["next"] < 15:
            pass


def test_a_server_that_was_killed_takes_the_recording_up(bench: TestClient, app: FastAPI, shop: Shop) -> None:
    from api.live.desk import Desk

    job, some = opened(bench), list(frames(spoken(2)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some[:20])
        while until(socket, "safe")["next"] < 20:
            pass
    app.state.desk.close()
    app.state.desk = Desk(shop)
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        assert until(socket, "recording") == {"type": "recording", "number": 1, "next": 20}
        send(socket, some[20:])
        until(socket, "heard")


def test_what_a_crash_left_is_in_the_record_that_is_handed_over(
    bench: TestClient, app: FastAPI, shop: Shop
) -> None:
    from api.live.desk import Desk

    job, some = opened(bench), list(frames(spoken(2)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some)
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass
    app.state.desk.close()
    app.state.desk = Desk(shop)
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    with shop.database.reading() as session:
        draft = newest_draft(session, job)
        assert draft is not None
        assert [reading.value for reading in record_of(draft).readings] == [0.018, 0.06]


@pytest.mark.parametrize("role", ["reviewer", "trainer", "stores", "admin"])
def test_only_a_technician_is_listened_to(
    bench: TestClient, as_role: Callable[[str], TestClient], role: str
) -> None:
    job = opened(bench)
    with (
        pytest.raises(WebSocketDisconnect) as refused,
        as_role(role).websocket_connect(f"/bench/{job}/listen"),
    ):
        pass
    assert refused.value.code == 4403


def test_another_site_is_not_listened_to(bench: TestClient) -> None:
    job = opened(bench)
    with (
        pytest.raises(WebSocketDisconnect) as refused,
        bench.websocket_connect(f"/bench/{job}/listen", headers={"origin": "https://evil.example"}),
    ):
        pass
    assert refused.value.code == 4403


def test_a_job_that_was_handed_over_is_not_listened_to(bench: TestClient) -> None:
    job = opened(bench)
    bench.post(f"/bench/{job}/hand-over")
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        assert "handed over" in until(socket, "refused")["line"]


def test_what_is_no_frame_is_told_and_the_rest_goes_on(bench: TestClient) -> None:
    job, some = opened(bench), list(frames(spoken(1)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        socket.send_bytes(b"no frame")
        assert "a frame of 8 bytes" in until(socket, "not_recording")["line"]
        send(socket, some[:5])
        assert until(socket, "safe")["next"] == 5


@pytest.mark.parametrize(
    ("fields", "what"), [({"work_order": " "}, "no work order"), ({"sheet": "../x"}, "no job sheet")]
)
def test_what_keeps_a_job_from_being_opened(bench: TestClient, fields: dict[str, str], what: str) -> None:
    answer = bench.post("/bench/jobs", data={"work_order": "1", "sheet": SheetId, **fields})
    assert answer.status_code == 422
    assert what in answer.text


def test_another_browser_is_told_and_may_take_over(bench: TestClient) -> None:
    job, some = opened(bench), list(frames(spoken(1)))
    with bench.websocket_connect(f"/bench/{job}/listen") as first:
        first.send_json({"type": "start", "client": "a"})
        until(first, "recording")
        send(first, some[:5])
        until(first, "safe")
        with bench.websocket_connect(f"/bench/{job}/listen") as second:
            second.send_json({"type": "start", "client": "b"})
            assert second.receive_json() == {"type": "busy", "by": "Some technician"}
        send(first, some[5:10])
        assert until(first, "safe")["next"] == 10
        with bench.websocket_connect(f"/bench/{job}/listen") as second:
            second.send_json({"type": "start", "client": "b", "take_over": True})
            assert until(second, "recording")["next"] == 10
            assert until(first, "taken_over") == {"type": "taken_over", "by": "Some technician"}
            # What the first still sends is nobody's any more, whatever number it bears.
            send(first, some[10:12])
            send(second, some[10:15])
            second.send_text("flush")
            while until(second, "safe")["next"] < 15:
                pass


def test_a_page_that_comes_back_takes_its_own_place_again(bench: TestClient) -> None:
    job = opened(bench)
    with bench.websocket_connect(f"/bench/{job}/listen") as dead:
        dead.send_json({"type": "start", "client": "a"})
        until(dead, "recording")
        with bench.websocket_connect(f"/bench/{job}/listen") as again:
            again.send_json({"type": "start", "client": "a"})
            assert until(again, "recording")["number"] == 1


def test_a_job_over_two_shifts_is_one_record_and_tells_who_was_there(
    bench: TestClient, app: FastAPI, shop: Shop, as_role: Callable[[str], TestClient]
) -> None:
    with shop.database.writing() as session:
        second = make_account(
            session, name="ola", shown_name="Ola Berg", roles=["technician"], secret=SECRET, now=shop.now()
        )
        notice = present_notice(shop.folder, shop.settings).text
        keep_answer(session, second, notice=notice, agreed=True, now=shop.now())
    job, some = opened(bench), list(frames(spoken(1)))
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some)
        until(socket, "heard")
    assert bench.post(f"/bench/{job}/end-shift").headers["location"] == "/bench"
    ola = as_role("ola")
    with ola.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        assert until(socket, "recording") == {"type": "recording", "number": 2, "next": 0}
        send(socket, some)
        until(socket, "heard")
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "recording")
    assert ola.post(f"/bench/{job}/hand-over").status_code == 303
    with shop.database.reading() as session:
        facts = facts_of(chain_of(session, job))
        draft = newest_draft(session, job)
        assert draft is not None
        assert [reading.evidence.recording for reading in record_of(draft).readings] == ["001", "002"]
    assert facts.people == ["Some technician (technician)", "Ola Berg (ola)"]
    assert facts.present_at(Place(1, 2.0)) == ["Some technician (technician)"]
    assert facts.present_at(Place(2, 0.5)) == ["Ola Berg (ola)"]
    assert facts.present_at(Place(2, 1e6)) == ["Ola Berg (ola)", "Some technician (technician)"]
    assert facts.here == []


def test_an_ear_that_gave_up_hears_again_without_a_new_server(
    bench: TestClient, tmp_path: Path, shop: Shop
) -> None:
    job, some = opened(bench), list(frames(spoken(2)))
    script = tmp_path / "script.json"
    good = script.read_text("utf-8")
    script.write_text("no script")
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        until(socket, "failed")
        send(socket, some)
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass
        refused = bench.post(f"/bench/{job}/hand-over")
        assert "heard anew" in refused.text
        script.write_text(good, "utf-8")
        assert bench.post(f"/bench/{job}/hear-again").json() == {"hearing": True}
    assert bench.post(f"/bench/{job}/hand-over").status_code == 303
    with shop.database.reading() as session:
        draft = newest_draft(session, job)
        assert draft is not None
        assert [reading.value for reading in record_of(draft).readings] == [0.018, 0.06]


def test_nothing_is_heard_again_where_nobody_listens(bench: TestClient) -> None:
    assert bench.post(f"/bench/{opened(bench)}/hear-again").status_code == 409
