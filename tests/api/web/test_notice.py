"""Nobody is recorded who did not agree to the notice as it is now, nor who takes it back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import select

from api.people.notice import FILE, present_notice
from api.store.tables import Consent, NoticeText
from api.web.shop import Shop
from shared.errors import SettingError
from shared.settings import Settings
from tests.api.live.bench_sound import frames, script_file, spoken
from tests.api.web.test_bench import opened, send, until


@pytest.fixture
def bench(
    as_role: Callable[[str], TestClient], shop: Shop, app: FastAPI, tmp_path: Path
) -> Iterator[TestClient]:
    script = str(script_file(tmp_path))
    shop.settings = shop.settings.model_copy(update={"engine": "scripted", "model": script})
    yield as_role("technician")
    app.state.desk.close()


def new_notice(shop: Shop, text: str = "We record you.\n\nReally.\n") -> str:
    (shop.folder / FILE).write_text(text, encoding="utf-8")
    return present_notice(shop.folder, shop.settings).sha256


def answer(client: TestClient, notice: str, word: str, then: str = "/bench") -> str:
    sent = client.post("/notice", data={"notice": notice, "answer": word, "then": then})
    assert sent.status_code == 303
    return sent.headers["location"]


def refused(client: TestClient, job: str) -> str:
    with client.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        return str(until(socket, "refused")["line"])


def test_a_notice_is_shown_once_and_again_when_it_changes(bench: TestClient, shop: Shop) -> None:
    assert bench.get("/bench").status_code == 200
    job = opened(bench)
    known = new_notice(shop)
    for path in ("/bench", f"/bench/{job}"):
        assert bench.get(path).headers["location"] == f"/notice?then={path}"
    shown = bench.get(f"/notice?then=/bench/{job}").text
    assert bench.get(f"/bench/{job}?listen=1").headers["location"].endswith("%3Flisten%3D1")
    assert '<p class="notice">Really.</p>' in shown
    assert "You have not answered yet" in shown
    assert "agreed to be recorded" in refused(bench, job)
    assert answer(bench, known, "agree", f"/bench/{job}") == f"/bench/{job}"
    assert bench.get(f"/bench/{job}").status_code == 200
    assert "you answered: <b>I agree</b>" in bench.get("/notice").text


def test_the_answer_is_kept_with_who_when_and_to_which_text(bench: TestClient, shop: Shop) -> None:
    known = new_notice(shop)
    answer(bench, known, "agree")
    answer(bench, known, "decline")
    with shop.database.reading() as session:
        rows = session.scalars(select(Consent).where(Consent.notice_sha256 == known)).all()
        assert [(row.agreed, row.at) for row in rows] == [(True, shop.now()), (False, shop.now())]
        assert session.get_one(NoticeText, known).text == "We record you.\n\nReally."


def test_whoever_does_not_agree_works_unheard(bench: TestClient, shop: Shop) -> None:
    job = opened(bench)
    known = new_notice(shop)
    answer(bench, known, "decline")
    assert bench.get(f"/bench/{job}").status_code == 200
    assert "agreed to be recorded" in refused(bench, job)
    assert not list(shop.folder.rglob("sound.journal"))


@pytest.mark.long
def test_consent_taken_back_ends_the_recording_and_keeps_what_was_said(
    bench: TestClient, shop: Shop, app: FastAPI
) -> None:
    job, known, some = opened(bench), new_notice(shop), list(frames(spoken(1)))
    answer(bench, known, "agree")
    with bench.websocket_connect(f"/bench/{job}/listen") as socket:
        socket.send_json({"type": "start"})
        send(socket, some)
        socket.send_text("flush")
        while until(socket, "safe")["next"] < len(some):
            pass
        answer(bench, known, "decline")
        send(socket, list(frames(spoken(1)))[: len(some)])
        ended = until(socket, "ended")
    assert ended["board"]["readings"] == 1
    assert app.state.desk.at_work(job).recording.next_frame == len(some)


def test_an_answer_to_another_text_is_none(bench: TestClient, shop: Shop) -> None:
    old = present_notice(shop.folder, shop.settings).sha256
    new_notice(shop)
    sent = bench.post("/notice", data={"notice": old, "answer": "agree"})
    assert sent.status_code == 409
    assert "changed meanwhile" in sent.text


def test_a_shops_own_notice_is_never_markup(bench: TestClient, shop: Shop) -> None:
    new_notice(shop, "<script>alert(1)</script> {sound} {braces}")
    shown = bench.get("/notice").text
    assert "<script>alert" not in shown
    assert "The sound is kept with the record. {braces}" in shown


@pytest.mark.parametrize(
    ("days", "said"),
    [
        (None, "kept with the record"),
        (0, "erased once the record is signed"),
        (1, "erased 1 day after"),
        (90, "erased 90 days after"),
    ],
)
def test_our_notice_says_how_long_sound_is_kept_and_that_others_are_heard(
    tmp_path: Path, days: int | None, said: str
) -> None:
    notice = present_notice(tmp_path, Settings(sound_kept_days=days))
    assert said in notice.text
    assert "Others near the bench are heard" in notice.text
    assert "{" not in notice.text
    assert len(notice.paragraphs) > 4
    assert notice.sha256 != present_notice(tmp_path, Settings(chatter_sound_kept=True)).sha256


@pytest.mark.parametrize("text", [b"", b" \n ", b"\xff\xfe", b"x" * 100_001])
def test_a_notice_that_cannot_be_shown_is_told_in_one_line(tmp_path: Path, text: bytes) -> None:
    (tmp_path / FILE).write_bytes(text)
    with pytest.raises(SettingError, match=FILE):
        present_notice(tmp_path, Settings())
