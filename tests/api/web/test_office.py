"""The office: evidence beside the record, decisions kept with the original, nobody overruled unseen."""

from __future__ import annotations

import io
import re
import wave
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from api.cli import run
from api.listening import SOUND_JOURNAL
from api.live.bench_facts import Place
from api.live.bench_people import note_joined
from api.office.reviewing import under_review
from api.office.signing_off import MEANINGS
from api.signing.chain import first_break
from api.store.accounts import by_secret
from api.store.drafts import keep_draft
from api.store.job_events import chain_of
from api.store.jobs import begin_recording, job_of, open_job, turn_to
from api.store.revisions import revisions_of
from api.web.shop import Shop
from capture.sound_journal import SoundJournal
from extract.record_builder import RecordBuilder
from extract.reviewing import deviation_key
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from shared.speech import Utterance
from tests.api.live.bench_sound import spoken
from tests.api.web.conftest import SECRET

SHEET = load_job_sheet("wash-water-end-suction")
EVIL = "<script>alert(1)</script>"
SAID = (
    "front clearance vane one is sixty thou",
    "vane two eighteen thou",
    "vane three thirteen or thirty thou",
    f"note that the customer wants {EVIL} on it",
)


def record_of_talk(said: tuple[str, ...] = SAID) -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for number, words in enumerate(said):
        at = 2.0 + 3.0 * number
        builder.hear(Utterance(words, at, at + 2, recording="001"))
    return builder.record()


@pytest.fixture
def job(shop: Shop, people: None) -> str:
    """One handed over, with its sound."""
    with shop.database.writing() as session:
        technician = by_secret(session, "technician", SECRET)
        assert technician is not None
        job = open_job(session, SHEET, work_order="WO 12", by=technician, now=shop.now())
        recording = begin_recording(
            session, job, by=technician, source="browser", settings={}, now=shop.now()
        )
        keep_draft(session, job, record_of_talk(), rules_sha256="a", now=shop.now())
        turn_to(job, "handed_over", seen=job.turn)
        folder = shop.folder / recording.folder
    folder.mkdir(parents=True)
    with SoundJournal.create(folder / SOUND_JOURNAL) as journal:
        journal.append(spoken(4))
    return job.id


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient], job: str) -> TestClient:
    return as_role("reviewer")


def turn(shop: Shop, job: str) -> int:
    with shop.database.reading() as session:
        return job_of(session, job).turn


def now(shop: Shop, job: str) -> RebuildRecord:
    with shop.database.reading() as session:
        return under_review(session, job).record


def entry(shop: Shop, job: str, position: str) -> str:
    return next(r.id for r in now(shop, job).readings if r.position == position)


def test_doubtful_ones_come_first_with_words_rule_and_sound(reviewer: TestClient, job: str) -> None:
    assert "WO 12" in reviewer.get("/office").text
    shown = reviewer.get(f"/office/{job}").text
    assert shown.index("vane three") < shown.index("vane one")
    assert "thirteen or thirty" in shown
    assert "read by" in shown
    clip = re.search(r'data-recording="([^"]+)" data-span="([^"]+)"', shown)
    assert clip
    answer = reviewer.get(f"/office/{job}/sound/{clip[1]}.wav?{clip[2].replace('&amp;', '&')}")
    assert answer.headers["content-type"] == "audio/wav"
    with wave.open(io.BytesIO(answer.content)) as sound:
        assert sound.getframerate() == 16000
        assert sound.getnframes() > 16000


def test_a_button_of_the_one_form_says_what_is_decided_about_which_entry(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    one, three = entry(shop, job, "1"), entry(shop, job, "3")
    shown = reviewer.get(f"/office/{job}").text
    assert f'form="decide" name="accepted" value="{one}"' in shown
    for kind, key in (("accepted", one), ("struck", three)):
        answer = reviewer.post(f"/office/{job}/decisions", data={kind: key, "seen": str(turn(shop, job))})
        assert answer.status_code == 303
    assert next(r for r in now(shop, job).readings if r.id == three).superseded_why == "struck"
    assert next(r for r in now(shop, job).readings if r.id == one).standing


def test_nothing_that_was_said_is_markup(reviewer: TestClient, job: str) -> None:
    assert EVIL not in reviewer.get(f"/office/{job}").text


def test_a_correction_keeps_both_with_who_and_when(reviewer: TestClient, shop: Shop, job: str) -> None:
    one = entry(shop, job, "1")
    fields = {
        "entry": one,
        "decision": "corrected",
        "field.value_exact": "0.016",
        "remark": "sixteen",
        "seen": "2",
    }
    assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303
    record = now(shop, job)
    original = next(r for r in record.readings if r.id == one)
    assert original.value == 0.06
    assert original.superseded_why == "corrected"
    assert [r.value for r in record.readings if r.standing and r.position == "1"] == [0.016]
    shown = reviewer.get(f"/office/{job}").text
    assert "corrected by Some reviewer (reviewer), 2026-03-04 12:00" in shown
    with shop.database.reading() as session:
        chain = chain_of(session, job)
    assert first_break(chain) is None
    assert chain[-1].kind == "entry_corrected"
    assert chain[-1].payload["was"]["value_exact"] != chain[-1].payload["now"]["value_exact"]


def test_of_two_reviewers_at_once_the_second_is_told(reviewer: TestClient, shop: Shop, job: str) -> None:
    fields = {"entry": entry(shop, job, "1"), "decision": "struck", "seen": str(turn(shop, job))}
    assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303
    fields = {**fields, "entry": entry(shop, job, "2")}
    answer = reviewer.post(f"/office/{job}/decisions", data=fields)
    assert answer.status_code == 409
    assert "changed by somebody else" in answer.text
    assert [r.position for r in now(shop, job).readings if r.standing] == ["2", "3"]


def test_a_deviation_gets_its_disposition_with_a_reason(reviewer: TestClient, shop: Shop, job: str) -> None:
    key = next(deviation_key(d) for d in now(shop, job).deviations if d.item == "front_clearance")
    fields = {"entry": key, "decision": "disposed", "disposition": "rework", "seen": str(turn(shop, job))}
    assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 422
    fields["remark"] = "shim and set again"
    assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303
    disposed = next(d for d in now(shop, job).deviations if d.disposition)
    assert (disposed.disposition, disposed.disposition_why) == ("rework", "shim and set again")


@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ({"decision": "sold"}, "no decision"),
        ({"entry": "nothing", "decision": "accepted"}, "no entry"),
        ({"decision": "corrected", "field.value_exact": "lots"}, "is no number"),
        ({"decision": "corrected", "field.position": "99"}, "has no position"),
    ],
)
def test_what_cannot_be_decided_is_told_and_not_kept(
    reviewer: TestClient, shop: Shop, job: str, fields: dict[str, str], what: str
) -> None:
    sent = {"entry": entry(shop, job, "1"), "seen": str(turn(shop, job)), **fields}
    answer = reviewer.post(f"/office/{job}/decisions", data=sent)
    assert answer.status_code == 422
    assert what in answer.text
    unchanged = record_of_talk()
    unchanged.job.technician = "Some technician"  # who was signed in
    assert now(shop, job).to_json() == unchanged.to_json()


def test_a_job_goes_back_to_the_bench_with_a_word(reviewer: TestClient, shop: Shop, job: str) -> None:
    seen = str(turn(shop, job))
    assert reviewer.post(f"/office/{job}/return", data={"seen": seen, "remark": " "}).status_code == 422
    answer = reviewer.post(f"/office/{job}/return", data={"seen": seen, "remark": "measure vane three again"})
    assert answer.status_code == 303
    with shop.database.reading() as session:
        assert job_of(session, job).state == "returned"
        assert chain_of(session, job)[-1].payload == {"remark": "measure vane three again"}


def test_what_extraction_makes_later_never_replaces_what_was_judged(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    fields = {"entry": entry(shop, job, "2"), "decision": "struck", "seen": str(turn(shop, job))}
    reviewer.post(f"/office/{job}/decisions", data=fields)
    with shop.database.writing() as session:
        again = record_of_talk(("front clearance vane one is sixteen thou",))
        keep_draft(session, job_of(session, job), again, rules_sha256="b", now=shop.now())
    assert "Read again since" in reviewer.get(f"/office/{job}").text
    assert [r.value for r in now(shop, job).readings if r.position == "1"] == [0.06]


@pytest.mark.parametrize("recording", ["002", "..", "%2e%2e", "1"])
def test_only_sound_of_the_job_itself_is_given(reviewer: TestClient, job: str, recording: str) -> None:
    assert reviewer.get(f"/office/{job}/sound/{recording}.wav?start=0&end=1").status_code == 404


@pytest.mark.parametrize("query", ["start=nan&end=1", "start=-1&end=1", "start=0", "start=0&end=inf"])
def test_a_stretch_that_is_none_is_refused(reviewer: TestClient, job: str, query: str) -> None:
    assert reviewer.get(f"/office/{job}/sound/001.wav?{query}").status_code == 422


def test_peaks_are_shares_of_full_scale(reviewer: TestClient, job: str) -> None:
    peaks = reviewer.get(f"/office/{job}/peaks/001?start=0&end=4").json()
    assert len(peaks) == 300
    assert all(-1 <= low <= high <= 1 for low, high in peaks)
    assert max(high for _, high in peaks) > 0.02


def test_sound_that_is_gone_is_said_to_be(reviewer: TestClient, shop: Shop, job: str) -> None:
    for path in Path(shop.folder).rglob(SOUND_JOURNAL):
        path.unlink()
    answer = reviewer.get(f"/office/{job}/sound/001.wav?start=0&end=1")
    assert answer.status_code == 404
    assert "not kept any more" in answer.text


def decided(reviewer: TestClient, shop: Shop, job: str) -> None:
    """Decide about all that has to be decided before a record is signed."""
    key = next(deviation_key(d) for d in now(shop, job).deviations if d.disposition is None)
    for fields in (
        {"entry": entry(shop, job, "3"), "decision": "corrected", "field.value_exact": "0.013"},
        {"entry": key, "decision": "disposed", "disposition": "rework", "remark": "set again"},
    ):
        fields["seen"] = str(turn(shop, job))
        assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303


def signing(shop: Shop, job: str, **other: str) -> dict[str, str]:
    return {"seen": str(turn(shop, job)), "secret": SECRET, "meaning": MEANINGS[1], **other}


def test_what_is_undecided_is_not_signed(reviewer: TestClient, shop: Shop, job: str) -> None:
    answer = reviewer.post(f"/office/{job}/sign", data=signing(shop, job))
    assert answer.status_code == 409
    assert "1 doubtful entries and 1 deviations without a disposition" in answer.text


def test_a_signed_record_and_its_pdf_are_verified_offline_and_stay_as_they_are(
    reviewer: TestClient, shop: Shop, job: str, tmp_path: Path
) -> None:
    decided(reviewer, shop, job)
    assert reviewer.post(f"/office/{job}/sign", data=signing(shop, job)).status_code == 303
    key = tmp_path / "shop.pem"
    key.write_text(reviewer.get("/shop-key.pem").text)
    for ending in ("json", "pdf"):
        file = tmp_path / f"signed.{ending}"
        file.write_bytes(reviewer.get(f"/office/{job}/revisions/1.{ending}").content)
        assert run(["verify", str(file), "--key", str(key), "--strict"]) == 0
    fields = {"entry": entry(shop, job, "2"), "decision": "struck", "seen": str(turn(shop, job))}
    answer = reviewer.post(f"/office/{job}/decisions", data=fields)
    assert answer.status_code == 409
    assert "begin a new revision" in answer.text


def test_a_later_change_is_a_revision_that_names_the_one_before(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    decided(reviewer, shop, job)
    reviewer.post(f"/office/{job}/sign", data=signing(shop, job))
    first = reviewer.get(f"/office/{job}/revisions/1.json").content
    seen = str(turn(shop, job))
    assert reviewer.post(f"/office/{job}/new-revision", data={"seen": seen, "remark": ""}).status_code == 422
    reviewer.post(f"/office/{job}/new-revision", data={"seen": seen, "remark": "vane two was struck"})
    fields = {"entry": entry(shop, job, "2"), "decision": "struck", "seen": str(turn(shop, job))}
    reviewer.post(f"/office/{job}/decisions", data=fields)
    assert reviewer.post(f"/office/{job}/sign", data=signing(shop, job)).status_code == 303
    second = reviewer.get(f"/office/{job}/revisions/2.json").json()
    (signature,) = second["record"]["signatures"]
    assert signature["revision"] == 2
    assert signature["replaces_sha256"] == sha256(first).hexdigest()
    assert reviewer.get(f"/office/{job}/revisions/1.json").content == first


def test_a_wrong_secret_signs_nothing(reviewer: TestClient, shop: Shop, job: str) -> None:
    decided(reviewer, shop, job)
    answer = reviewer.post(f"/office/{job}/sign", data=signing(shop, job, secret="not this one"))
    assert answer.status_code == 422
    assert "not yours" in answer.text
    assert reviewer.get(f"/office/{job}/revisions/1.json").status_code == 404


def test_of_two_who_sign_at_once_one_does(reviewer: TestClient, shop: Shop, job: str) -> None:
    decided(reviewer, shop, job)
    fields = signing(shop, job)
    assert reviewer.post(f"/office/{job}/sign", data=fields).status_code == 303
    assert reviewer.post(f"/office/{job}/sign", data=fields).status_code == 409
    with shop.database.reading() as session:
        assert [one.number for one in revisions_of(session, job)] == [1]


def test_whoever_worked_at_the_bench_without_recording_signs_nothing_of_it(
    shop: Shop, job: str, as_role: Callable[[str], TestClient]
) -> None:
    with shop.database.writing() as session:
        helper = by_secret(session, "reviewer", SECRET)
        assert helper is not None
        note_joined(session, job, helper, Place(1, 3.0), shop.now())
    reviewer = as_role("reviewer")
    decided(reviewer, shop, job)
    answer = reviewer.post(f"/office/{job}/sign", data=signing(shop, job))
    assert answer.status_code == 422
    assert "worked on this pump yourself" in answer.text


def test_nobody_signs_what_he_did_himself(shop: Shop, job: str, as_role: Callable[[str], TestClient]) -> None:
    with shop.database.writing() as session:
        account = by_secret(session, "technician", SECRET)
        assert account is not None
        account.roles = ["technician", "reviewer"]
    both = as_role("technician")
    decided(both, shop, job)
    answer = both.post(f"/office/{job}/sign", data=signing(shop, job))
    assert answer.status_code == 422
    assert "worked on this pump yourself" in answer.text
