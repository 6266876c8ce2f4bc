"""The trainer's search page: what was said, what was made of it, and its sound."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from html import unescape

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import select, update

from api.archive.filing import file_record
from api.cli import run
from api.data_folder import mark_folder
from api.lessons.speakers import lesson_notice
from api.listening import SOUND_JOURNAL
from api.past.reading import past_folder
from api.store.accounts import by_secret
from api.store.consents import keep_answer
from api.store.job_events import note
from api.store.past_voices import keep_statement
from api.store.tables import Recording
from api.web.shop import Shop
from capture.sound_journal import SoundJournal
from extract.record_builder import RecordBuilder
from shared.speech import Utterance
from tests.api.live.bench_sound import spoken
from tests.api.web.conftest import SECRET
from tests.api.web.signed_job import SAID, SHEET, handed_over, sign


@pytest.fixture
def trainer(shop: Shop, as_role: Callable[[str], TestClient]) -> TestClient:
    sign(as_role("reviewer"), shop, handed_over(shop, said=(*SAID, "the carbon is <b>cracked")))
    return as_role("trainer")


def agrees(shop: Shop, agreed: bool = True) -> None:
    """Have the technician answer whether lessons may use his voice."""
    with shop.database.writing() as session:
        technician = by_secret(session, "technician", SECRET)
        assert technician is not None
        keep_answer(session, technician, notice=lesson_notice(), agreed=agreed, now=shop.now())


def test_no_sound_is_played_outside_review_without_a_yes_of_all_in_it(
    trainer: TestClient, shop: Shop
) -> None:
    agrees(shop)
    shown = trainer.get("/search", params={"q": "vane two"}).text
    sound = unescape(re.findall(r'data-sound="([^"]+)"', shown)[0])
    assert trainer.get(sound).status_code == 200
    for crooked in ("%C2%B2", "9" * 25, "x", ""):
        assert trainer.get(re.sub("recording=[^&]*", f"recording={crooked}", sound)).status_code == 404
    agrees(shop, False)
    assert "data-sound" not in trainer.get("/search", params={"q": "vane two"}).text
    refused = trainer.get(sound, headers={"accept": "application/json"})
    assert (refused.status_code, refused.json()["error"]["code"]) == (403, "consent-missing")
    assert "technician" not in refused.text.lower()
    # Another at the bench in that second counts as much, although the page cannot know of every second.
    agrees(shop)
    with shop.database.writing() as session:
        job = session.scalars(select(Recording.job_id)).one()
        told = {"who": "Some reviewer (reviewer)", "recording": 1, "at_s": 0.0}
        note(session, job, "joined", told, by=None, now=shop.now())
    assert trainer.get(sound).status_code == 403


def test_what_was_said_is_found_shown_and_heard(
    trainer: TestClient, shop: Shop, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "data-sound" not in trainer.get("/search", params={"q": "vane two"}).text
    agrees(shop)
    shown = trainer.get("/search", params={"q": "vane two"}).text
    assert f"“{SAID[2]}”" in shown
    assert f"“{SAID[0]}”" not in shown
    assert "front clearance 2: 0.018 in, within" in shown
    sound = unescape(re.findall(r'data-sound="([^"]+)"', shown)[0])
    heard = trainer.get(sound)
    assert (heard.status_code, heard.content[:4]) == (200, b"RIFF")
    # What the trade calls a rotating face; and nothing that was said is markup.
    cracked = trainer.get("/search", params={"q": "rotating face"}).text
    assert "the carbon is &lt;b&gt;cracked" in cracked
    assert "Also looked for" in cracked
    # Nothing of chatter is found.
    assert "Nobody said that" in trainer.get("/search", params={"q": "brontosaurus"}).text

    # The command finds the same, and knows of the same sound.
    mark_folder(shop.folder)
    assert run(["search", "vane", "two", "--data", str(shop.folder), "--json"]) == 0
    (hit,) = json.loads(capsys.readouterr().out)["hits"]
    assert (hit["words"], hit["sound"]) == (SAID[2], sound)
    assert run(["search", "--refile", "--part", "rotating_face", "--data", str(shop.folder)]) == 0
    told = capsys.readouterr()
    assert "1 records filed again" in told.err
    assert "rotating face: cracked" in told.out
    assert run(["search", "--data", str(shop.folder)]) == 2
    assert run(["search", "x", "--data", str(shop.folder / "none")]) == 2
    capsys.readouterr()

    with shop.database.writing() as session:
        session.execute(update(Recording).values(sound_gone_at=shop.now()))
    gone = trainer.get("/search", params={"q": "vane two"}).text
    assert "data-sound" not in gone
    assert "no sound" in gone


def test_the_page_takes_what_a_browser_sends_and_refuses_what_it_cannot(
    as_role: Callable[[str], TestClient],
) -> None:
    trainer = as_role("trainer")
    assert "Searches what was said" in trainer.get("/search").text
    empty = {"q": "", "part": "", "since": "", "until": ""}
    assert "Searches what was said" in trainer.get("/search", params=empty).text
    assert trainer.get("/search", params={"since": "last year"}).status_code == 422
    assert trainer.get("/search", params={"before": 2**40}).status_code == 422
    assert as_role("technician").get("/search").status_code == 403


def test_a_recording_from_before_is_heard_where_its_sound_is_kept(
    as_role: Callable[[str], TestClient], shop: Shop
) -> None:
    source = "file:" + "c" * 64
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance(SAID[0], 1.0, 2.0, recording="old.wav"))
    with shop.database.writing() as session:
        filed = file_record(session, builder.record(), source=source, sheet=SHEET).id
    trainer = as_role("trainer")
    here = f"/search/{filed}/sound.wav?start=0&end=1"
    assert "data-sound" not in trainer.get("/search", params={"q": "vane"}).text
    assert trainer.get(here).status_code == 404
    assert trainer.get("/search/77/sound.wav?start=0&end=1").status_code == 404
    folder = past_folder(shop.folder, "c" * 64, "first")
    folder.mkdir(parents=True)
    with SoundJournal.create(folder / SOUND_JOURNAL) as journal:
        journal.append(spoken(2))
    # The sound of strangers is played to nobody until somebody states that they agreed.
    assert "data-sound" not in trainer.get("/search", params={"q": "vane"}).text
    assert trainer.get(here).status_code == 403
    with shop.database.writing() as session:
        keep_statement(session, source, "Some admin", shop.now())
    shown = trainer.get("/search", params={"q": "vane"}).text
    sound = unescape(re.findall(r'data-sound="([^"]+)"', shown)[0])
    assert sound.startswith(f"/search/{filed}/sound.wav")
    heard = trainer.get(sound)
    assert (heard.status_code, heard.content[:4], len(heard.content) > 16_000) == (200, b"RIFF", True)
    assert as_role("technician").get(here).status_code == 403
    with shop.database.writing() as session:
        keep_statement(session, source, "", shop.now())
    assert trainer.get(sound).status_code == 403
