"""Lessons as a trainer meets them: figures, clips, a lesson of clips, consent, people compared."""

from __future__ import annotations

import io
import re
import wave
from collections.abc import Callable
from html import unescape

import numpy as np
import pytest
from fastapi.testclient import TestClient

from api.lessons.lesson_sound import heard_part
from api.lessons.speakers import notice_sha256
from api.store.accounts import by_secret
from api.store.job_events import note
from api.web.shop import Shop
from shared.speech import Utterance, Word
from tests.api.web.conftest import SECRET
from tests.api.web.taught_job import FIRST_S, LONG_S, STEP_S, taught_job

SHEET = "sheet=wash-water-end-suction"
WIDE = f"/lessons/figure?{SHEET}&kind=limit&key=front_clearance%401"


@pytest.fixture
def job(shop: Shop, people: None) -> str:
    with shop.database.reading() as session:
        technician = by_secret(session, "technician", SECRET)
    assert technician is not None
    return taught_job(shop, technician)


@pytest.fixture
def trainer(as_role: Callable[[str], TestClient], job: str) -> TestClient:
    return as_role("trainer")


def answers(client: TestClient, answer: str) -> None:
    told = client.post("/heard-in-lessons", data={"notice": notice_sha256(), "answer": answer})
    assert told.status_code == 303


def clip(job: str, number: int, lesson: int = 0) -> dict[str, str]:
    start = FIRST_S + STEP_S * number
    return {
        "job_id": job, "recording": "001", "start_s": str(start), "end_s": str(start + LONG_S),
        "lesson_id": str(lesson), "good": "false",
    }  # fmt: skip


def sound(answer: bytes) -> np.ndarray:
    with wave.open(io.BytesIO(answer)) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (16000, 1, 2)
        return np.frombuffer(file.readframes(file.getnframes()), "<i2")


def test_a_figure_leads_to_its_clips_and_they_have_sound(
    as_role: Callable[[str], TestClient], trainer: TestClient
) -> None:
    shown = trainer.get("/lessons").text
    assert "Limits that were missed" in shown
    link = next(
        unescape(one) for one in re.findall(r'href="(/lessons/figure[^"]+)"', shown) if "limit" in one
    )
    figure = trainer.get(link).text
    assert "1 of 1" in figure
    assert "front clearance vane one sixty thou" in figure
    # Of whoever did not agree the words are read and nothing is heard; into a lesson it can go nevertheless.
    assert "data-sound" not in figure
    assert "may be heard here" in figure
    assert 'name="lesson_id"' in figure
    answers(as_role("technician"), "agree")
    at = re.search(r'data-sound="([^"]+)"', trainer.get(link).text)
    assert at
    assert len(sound(trainer.get(unescape(at[1])).content)) == pytest.approx(16000 * (LONG_S + 0.4), abs=800)


def test_few_cases_say_that_they_are_few(trainer: TestClient) -> None:
    assert "lean on nothing" in trainer.get("/lessons").text
    assert "Too little is known" in trainer.get(WIDE).text


@pytest.mark.parametrize("role", ["technician", "reviewer", "stores", "admin"])
@pytest.mark.parametrize("path", ["/lessons", WIDE, "/lesson-book"])
def test_lessons_are_for_trainers(as_role: Callable[[str], TestClient], role: str, path: str) -> None:
    assert as_role(role).get(path).status_code == 403


def test_no_second_is_used_without_a_yes_and_none_after_it_is_taken_back(
    as_role: Callable[[str], TestClient], trainer: TestClient, job: str
) -> None:
    made = trainer.post("/lesson-book/clips", data=clip(job, 0))
    here = made.headers["location"]
    # Agreeing to be recorded, which the technician did, is not agreeing to this.
    refused = trainer.get(here).text
    assert "left out" in refused
    assert "sixty thou" not in refused
    assert "technician" not in refused.lower()
    assert trainer.get(f"{here}/sound.wav").status_code == 404
    technician = as_role("technician")
    answers(technician, "agree")
    assert "sixty thou" in trainer.get(here).text
    assert len(sound(trainer.get(f"{here}/sound.wav").content)) > 16000
    answers(technician, "decline")
    assert trainer.get(f"{here}/sound.wav").status_code == 404
    assert trainer.get(f"{here}/captions.vtt").status_code == 404


def test_whoever_came_in_the_breath_after_a_clip_is_asked_too(
    as_role: Callable[[str], TestClient], trainer: TestClient, shop: Shop, job: str
) -> None:
    answers(as_role("technician"), "agree")
    here = trainer.post("/lesson-book/clips", data=clip(job, 0)).headers["location"]
    assert trainer.get(f"{here}/sound.wav").status_code == 200
    # The sound goes on for 0.2 s after the clip; the reviewer, who never answered, comes within that.
    with shop.database.writing() as session:
        told = {"who": "Some reviewer (reviewer)", "recording": 1, "at_s": FIRST_S + LONG_S + 0.1}
        note(session, job, "joined", told, by=None, now=shop.now())
    assert trainer.get(f"{here}/sound.wav").status_code == 404


def test_clips_are_joined_with_captions_and_without_names(
    as_role: Callable[[str], TestClient], trainer: TestClient, shop: Shop, job: str
) -> None:
    answers(as_role("technician"), "agree")
    with shop.database.writing() as session:
        someone = by_secret(session, "stores", SECRET)
        assert someone is not None
        someone.shown_name = "Rae Olsen"
    here = trainer.post("/lesson-book/clips", data=clip(job, 0)).headers["location"]
    lesson = int(here.rpartition("/")[2])
    trainer.post("/lesson-book/clips", data=clip(job, 2, lesson))
    captions = trainer.get(f"{here}/captions.vtt").text
    assert captions.startswith("WEBVTT")
    assert "Rae" not in captions
    assert "hold on … vane three eighteen thou" in captions
    times = [
        sum(float(part) * unit for part, unit in zip(one.split(":"), (3600, 60, 1), strict=True))
        for one in re.findall(r"\d\d:\d\d:\d\d\.\d{3}", captions)
    ]
    # Two clips of 1.6 s, 0.2 s around each, 0.8 s between.
    assert times == pytest.approx([0.2, 1.8, 3.0, 4.6], abs=0.01)
    heard = sound(trainer.get(f"{here}/sound.wav").content)
    assert len(heard) / 16000 == pytest.approx(4.8, abs=0.05)
    # "Rae" is the third of seven words of the second clip.
    each = LONG_S / 7
    name = heard[round((3.0 + 2 * each) * 16000) : round((3.0 + 3 * each) * 16000)]
    assert not name.any()
    assert heard[round(0.2 * 16000) : round(1.8 * 16000)].any()
    assert heard[round((3.0 + 4 * each) * 16000) : round(4.6 * 16000)].any()


def test_captions_say_of_an_utterance_what_is_heard_of_it(
    as_role: Callable[[str], TestClient], trainer: TestClient, job: str
) -> None:
    answers(as_role("technician"), "agree")
    # From the middle of "front clearance vane one sixty thou", six words of equal length, to its end.
    cut = clip(job, 0) | {"start_s": str(FIRST_S + LONG_S / 2 + 0.25)}
    here = trainer.post("/lesson-book/clips", data=cut).headers["location"]
    captions = trainer.get(f"{here}/captions.vtt").text
    assert "one sixty thou" in captions
    assert "front" not in captions
    assert "clearance" not in captions


@pytest.mark.parametrize(
    ("begins", "ends", "heard"),
    [(0.0, 9.0, "a b c d"), (2.1, 9.0, "b c d"), (0.0, 2.9, "a b"), (2.6, 9.0, "c d"), (6.0, 9.0, None)],
)
def test_a_word_is_heard_where_its_middle_is(begins: float, ends: float, heard: str | None) -> None:
    words = tuple(Word(one, 1.0 + n, 2.0 + n) for n, one in enumerate("abcd"))
    found = heard_part(Utterance("a b c d", 1.0, 5.0, words=words), begins, ends)
    assert (found.text if found else None) == heard
    if found:
        assert begins <= found.start_s < found.end_s <= ends
    # Without times it is told where most of it is heard.
    untimed = heard_part(Utterance("a b c d", 1.0, 5.0), begins, ends)
    assert (untimed is not None) == (min(ends, 5.0) - max(begins, 1.0) >= 2.0)


def test_clips_are_noted_put_in_order_and_taken_out(trainer: TestClient, job: str) -> None:
    here = trainer.post("/lesson-book/clips", data=clip(job, 0)).headers["location"]
    lesson = int(here.rpartition("/")[2])
    for number in (1, 2, 1):  # the last one is there already
        trainer.post("/lesson-book/clips", data=clip(job, number, lesson))
    order = re.findall(r'id="clip-(\d+)"', trainer.get(here).text)
    assert len(order) == 3
    moved = trainer.post(
        f"{here}/clips/{order[2]}", data={"act": "earlier", "note": "<b>so</b>", "good": "true"}
    )
    assert moved.status_code == 303
    shown = trainer.get(here).text
    assert re.findall(r'id="clip-(\d+)"', shown) == [order[0], order[2], order[1]]
    assert "<b>so</b>" not in shown
    assert "&lt;b&gt;so&lt;/b&gt;" in shown
    trainer.post(f"{here}/clips/{order[0]}", data={"act": "remove"})
    assert re.findall(r'id="clip-(\d+)"', trainer.get(here).text) == [order[2], order[1]]
    assert trainer.post(f"{here}/clips/{order[0]}", data={"act": "keep"}).status_code == 404
    trainer.post(f"{here}/close")
    assert trainer.get(here).status_code == 404


@pytest.mark.parametrize(
    "wrong",
    [{"end_s": "0.5"}, {"end_s": "900"}, {"recording": "007"}, {"job_id": "nothing"}, {"lesson_id": "99"}],
)
def test_a_clip_that_is_none_is_refused(trainer: TestClient, job: str, wrong: dict[str, str]) -> None:
    assert trainer.post("/lesson-book/clips", data=clip(job, 0) | wrong).status_code in (404, 409, 422)


def test_people_are_compared_only_where_the_admin_switched_it_on(
    as_role: Callable[[str], TestClient], trainer: TestClient
) -> None:
    people = WIDE.replace("/figure", "/people")
    assert trainer.get(people).status_code == 409
    assert "early" not in trainer.get("/lessons").text.split("Not compared")[0].split("<table")[1]
    admin = as_role("admin")
    assert "It is <b>off</b>" in admin.get("/comparing").text
    assert trainer.post("/comparing", data={"on": "true"}).status_code == 403
    assert admin.post("/comparing", data={"on": "true"}).status_code == 303
    assert "It is <b>on</b>" in admin.get("/comparing").text
    shown = trainer.get(people).text
    assert "Some technician" in shown
    assert "lean on nothing" in shown
    admin.post("/comparing", data={"on": "false"})
    assert trainer.get(people).status_code == 409


def test_a_shop_without_records_says_so(as_role: Callable[[str], TestClient]) -> None:
    assert "No records are filed yet" in as_role("trainer").get("/lessons").text


@pytest.mark.parametrize(
    "path", [f"/lessons/figure?{SHEET}&kind=limit&key=nothing", f"/lessons/figure?{SHEET}&kind=x&key=y"]
)
def test_a_figure_that_is_none_is_refused(trainer: TestClient, path: str) -> None:
    assert trainer.get(path).status_code == 404
