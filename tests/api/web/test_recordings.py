"""How long sound is kept, and what a person gets and has erased: only sound goes, everything signed holds."""

from __future__ import annotations

import io
import json
import wave
import zipfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.cli import run
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.people import retention
from api.people.silencing import QUIET_JOURNAL, spans_of
from api.signing.chain import Link, first_break
from api.store.accounts import by_secret
from api.store.job_events import chain_of
from api.store.jobs import job_of, turn_to
from api.web.shop import Shop
from capture.sound_blocks import RATE_HZ
from shared.speech import Utterance, Word
from tests.api.web.conftest import SECRET, Clock
from tests.api.web.signed_job import SAID, folder_of, handed_over, sign, sound_of, turn

DAY_S = 86_400.0


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient]) -> TestClient:
    return as_role("reviewer")


@pytest.fixture
def job(shop: Shop, reviewer: TestClient) -> str:
    """A signed one."""
    made = handed_over(shop)
    sign(reviewer, shop, made)
    return made


def setting(shop: Shop, **changed: object) -> None:
    shop.settings = shop.settings.model_copy(update=changed)


def chain(shop: Shop, job: str) -> list[Link]:
    with shop.database.reading() as session:
        links = list(chain_of(session, job))
    assert first_break(links) is None
    return links


def last(shop: Shop, job: str) -> Link:
    return chain(shop, job)[-1]


def digest(samples: np.ndarray) -> str:  # type: ignore[type-arg]
    return sha256(samples.astype("<i2").tobytes()).hexdigest()


def account_id(shop: Shop, name: str) -> int:
    with shop.database.reading() as session:
        account = by_secret(session, name, SECRET)
    assert account is not None
    return account.id


def test_after_its_period_only_the_hash_of_the_sound_is_left(
    app: FastAPI,
    shop: Shop,
    job: str,
    clock: Clock,
    reviewer: TestClient,
    as_role: Callable[[str], TestClient],
    tmp_path: Path,
) -> None:
    setting(shop, sound_kept_days=30, chatter_sound_kept=True)
    was = digest(sound_of(shop, job))
    signed = reviewer.get(f"/office/{job}/revisions/1.json").content
    clock.pass_s(30 * DAY_S - 1)
    assert app.state.keeper.look().erased == 0
    assert (folder_of(shop, job) / SOUND_JOURNAL).exists()
    clock.pass_s(1)
    assert app.state.keeper.look().erased == 1
    assert not list(folder_of(shop, job).glob("sound*"))
    event = last(shop, job)
    assert (event.kind, event.payload["why"]) == ("sound_erased", "retention")
    assert event.payload["sound_sha256"] == was
    # The same stood in the chain when the record was signed.
    assert any(
        one["kind"] == "recording_ended" and one["payload"]["sound_sha256"] == was
        for one in json.loads(signed)["events"]
    )
    # A second time there is nothing to do.
    assert app.state.keeper.look().erased == 0
    assert last(shop, job) == event
    # The record is signed as it was, and the review says what is gone.
    reviewer = as_role("reviewer")
    assert reviewer.get(f"/office/{job}/revisions/1.json").content == signed
    for name in ("1.json", "1.pdf"):
        (tmp_path / name).write_bytes(reviewer.get(f"/office/{job}/revisions/{name}").content)
        assert run(["verify", str(tmp_path / name), "--strict", "--key", key_file(reviewer, tmp_path)]) == 0
    shown = reviewer.get(f"/office/{job}").text
    assert "The sound of recording 001 was erased on 2026-04-03" in shown
    assert "data-sound" not in shown
    answer = reviewer.get(f"/office/{job}/sound/001.wav?start=0&end=2")
    assert answer.status_code == 404
    assert "not kept any more" in answer.text


def key_file(client: TestClient, folder: Path) -> str:
    path = folder / "key.pem"
    path.write_bytes(client.get("/shop-key.pem").content)
    return str(path)


def test_sound_of_a_job_that_is_not_signed_stays(
    app: FastAPI, shop: Shop, people: None, clock: Clock
) -> None:
    setting(shop, sound_kept_days=0)
    made = handed_over(shop)
    clock.pass_s(1000 * DAY_S)
    assert (app.state.keeper.look().erased, app.state.keeper.look().silenced) == (0, 0)
    assert (folder_of(shop, made) / SOUND_JOURNAL).exists()


def test_sound_stays_while_a_new_revision_is_worked_on(
    app: FastAPI, shop: Shop, job: str, clock: Clock
) -> None:
    setting(shop, sound_kept_days=0)
    with shop.database.writing() as session:
        turn_to(job_of(session, job), "handed_over", seen=int(turn(shop, job)))
    clock.pass_s(DAY_S)
    assert app.state.keeper.look().erased == 0


def test_without_a_period_and_with_a_clock_set_back_sound_is_kept(
    app: FastAPI, shop: Shop, job: str, clock: Clock
) -> None:
    clock.pass_s(5000 * DAY_S)
    assert app.state.keeper.look().erased == 0
    setting(shop, sound_kept_days=1)
    clock.pass_s(-6000 * DAY_S)
    assert app.state.keeper.look().erased == 0
    assert (folder_of(shop, job) / SOUND_JOURNAL).exists()


def test_chatter_is_silence_once_the_record_is_signed(app: FastAPI, shop: Shop, job: str) -> None:
    before = sound_of(shop, job)
    assert app.state.keeper.look().silenced == 1
    after = sound_of(shop, job)
    assert len(after) == len(before)
    # Said about the job at 1.2 s and at 6.8 s; chatter at 4.0 s and at 9.6 s (each 1.6 s long).
    for at_s, kept in ((1.4, True), (4.2, False), (7.0, True), (9.8, False)):
        there = slice(round(at_s * RATE_HZ), round((at_s + 1.2) * RATE_HZ))
        assert np.any(before[there])
        assert np.array_equal(after[there], before[there] if kept else np.zeros_like(before[there])), at_s
    event = last(shop, job)
    assert event.kind == "chatter_erased"
    assert event.payload == {"recording": 1, "was_sha256": digest(before), "sound_sha256": digest(after)}
    assert app.state.keeper.look().silenced == 0


def test_a_shop_that_keeps_chatter_keeps_it(app: FastAPI, shop: Shop, job: str) -> None:
    setting(shop, chatter_sound_kept=True)
    assert app.state.keeper.look().silenced == 0


@pytest.mark.parametrize("damage", ["absent", "torn"])
def test_where_it_is_not_known_what_was_kept_nothing_is_silenced(
    app: FastAPI, shop: Shop, job: str, damage: str
) -> None:
    journal = folder_of(shop, job) / HEARD_JOURNAL
    data = journal.read_bytes()
    journal.unlink()
    if damage == "torn":
        journal.write_bytes(data[: len(data) // 2])
    before = sound_of(shop, job)
    assert app.state.keeper.look().silenced == 0
    assert np.array_equal(sound_of(shop, job), before)


@pytest.mark.parametrize(
    ("step", "kinds"), [("_remove_sound", "sound_erased"), ("put_in_place", "chatter_erased")]
)
def test_a_crash_between_row_and_file_is_finished_by_the_next_pass(
    app: FastAPI, shop: Shop, job: str, monkeypatch: pytest.MonkeyPatch, step: str, kinds: str
) -> None:
    setting(shop, sound_kept_days=0 if step == "_remove_sound" else None)

    def crash(_: Path) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as crashing:
        crashing.setattr(retention, step, crash)
        with pytest.raises(KeyboardInterrupt):
            app.state.keeper.look()
    assert last(shop, job).kind == kinds
    app.state.keeper.look()
    assert [link.kind for link in chain(shop, job)].count(kinds) == 1
    if step == "_remove_sound":
        assert not (folder_of(shop, job) / SOUND_JOURNAL).exists()
    else:
        assert digest(sound_of(shop, job)) == last(shop, job).payload["sound_sha256"]
        assert not (folder_of(shop, job) / QUIET_JOURNAL).exists()


def test_a_full_disk_while_silencing_leaves_the_sound_as_it_was(
    app: FastAPI, shop: Shop, job: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from capture.journal import Journal
    from shared.errors import JournalFull

    def full(*_: object) -> None:
        raise JournalFull("the disk is full")

    before = sound_of(shop, job)
    with monkeypatch.context() as disk:
        disk.setattr(Journal, "append", full)
        with pytest.raises(JournalFull):
            app.state.keeper.look()
    assert np.array_equal(sound_of(shop, job), before)
    assert app.state.keeper.look().silenced == 1


def test_what_is_private_in_the_midst_of_an_utterance_is_silenced_word_by_word() -> None:
    words = (Word("vane", 1.0, 1.3), Word("two", 1.4, 1.6), Word("nineteen", 6.0, 6.5))
    kept = spans_of([Utterance("vane two nineteen", 1.0, 6.5, words=words), Utterance("", 8.0, 9.0)])
    assert [(start / RATE_HZ, end / RATE_HZ) for start, end in kept] == [(0.7, 1.9), (5.7, 6.8)]


def test_a_person_gets_his_sound_words_and_answers_in_one_file(
    as_role: Callable[[str], TestClient], shop: Shop, job: str
) -> None:
    own = as_role("technician")
    assert "WO 12" in own.get("/own-recordings").text
    answer = own.post("/own-recordings/export")
    assert 'filename="recordings-technician-2026-03-04.zip"' in answer.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        about = json.loads(archive.read("about.json"))
        assert about["answers"][0]["agreed"]
        assert about["recordings"][0]["work_order"] == "WO 12"
        with wave.open(io.BytesIO(archive.read(f"{job}-001.wav"))) as sound:
            frames = np.frombuffer(sound.readframes(sound.getnframes()), "<i2")
            assert sound.getframerate() == RATE_HZ
        assert np.array_equal(frames, sound_of(shop, job))
        words = archive.read(f"{job}-001.vtt").decode()
    assert SAID[0] in words
    assert "brontosaurus" not in words
    event = last(shop, job)
    assert (event.kind, event.by) == ("exported", "Some technician (technician)")
    assert "vane" not in json.dumps(event.payload)


@pytest.mark.long
def test_an_admin_has_a_persons_sound_erased_now_and_of_unsigned_jobs_later(
    as_role: Callable[[str], TestClient], app: FastAPI, shop: Shop, job: str, reviewer: TestClient
) -> None:
    later = handed_over(shop, work_order="WO 13")
    admin, here = as_role("admin"), f"/accounts/{account_id(shop, 'technician')}/recordings"
    assert admin.post(f"{here}/erase").headers["location"] == here
    assert not (folder_of(shop, job) / SOUND_JOURNAL).exists()
    assert not (folder_of(shop, job) / HEARD_JOURNAL).exists()
    assert (folder_of(shop, later) / SOUND_JOURNAL).exists()
    shown = admin.get(here).text
    assert "kept until the job is signed, then erased" in shown
    assert "SHA-256" in shown
    assert [link.kind for link in chain(shop, job)][-2:] == ["erasure_asked", "sound_erased"]
    assert chain(shop, job)[-1].payload["why"] == "asked"
    admin.post(f"{here}/erase")
    assert [link.kind for link in chain(shop, job)].count("erasure_asked") == 1
    sign(reviewer, shop, later)
    app.state.keeper.look()
    assert not (folder_of(shop, later) / SOUND_JOURNAL).exists()
    # What was said about the job is in the signed record, with its words.
    assert SAID[0] in reviewer.get(f"/office/{later}").text


def test_the_commands_do_the_same_while_the_server_is_stopped(
    shop: Shop, job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "shop.txt").write_text("ours")
    data = ["--data", str(tmp_path)]
    assert run(["recordings", "list", "Technician", *data]) == 0
    assert "WO 12  recording 1" in capsys.readouterr().out
    out = tmp_path / "out.zip"
    assert run(["recordings", "export", "technician", "--out", str(out), *data, "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"written": str(out), "recordings": 1}
    assert zipfile.is_zipfile(out)
    assert run(["recordings", "expire", *data]) == 0
    assert "chatter silenced in 1" in capsys.readouterr().out
    assert run(["recordings", "erase", "technician", "--yes", *data]) == 0
    assert "1 erased; 0 once" in capsys.readouterr().out
    assert run(["recordings", "list", "nobody", *data]) == 2
    assert "no account 'nobody'" in capsys.readouterr().err
    assert run(["recordings", "list", "technician", "--data", str(tmp_path / "jobs")]) == 2
    assert "no data folder" in capsys.readouterr().err
    assert last(shop, job).by is None
