"""A record read again by other rules: what differs is shown, nothing is taken over by itself."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from api.office.difference import differences
from api.office.reviewing import under_review
from api.signing.chain import first_break
from api.store.drafts import drafts_of, keep_draft
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.web.shop import Shop
from extract.record_builder import RecordBuilder
from shared.record import RebuildRecord
from shared.speech import Utterance
from tests.api.web.signed_job import SHEET, handed_over, sign, turn

BEFORE = (
    "front clearance vane one eighteen thou",
    "vane two nineteen thou",
    "vane three twenty thou",
    "",
    "vane five eighteen thou",
)
AFTER = (
    "front clearance vane one eighteen thou",
    "vane two sixteen thou",
    "",
    "vane four seventeen thou",
    "vane five thirteen or thirty thou",
)


def talk(said: tuple[str, ...]) -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for number, words in enumerate(said):
        at = 3.0 * number
        builder.hear(Utterance(words, at, at + 2, recording="001"))
    return builder.record()


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient]) -> TestClient:
    return as_role("reviewer")


@pytest.fixture
def job(shop: Shop, reviewer: TestClient) -> str:
    """One under review, a newer draft beside it."""
    made = handed_over(shop)
    with shop.database.writing() as session:
        keep_draft(session, job_of(session, made), talk(BEFORE), rules_sha256="a", now=shop.now())
    first = next(r.id for r in now(shop, made).readings if r.position == "2")
    fields = {"entry": first, "decision": "accepted", "seen": turn(shop, made)}
    assert reviewer.post(f"/office/{made}/decisions", data=fields).status_code == 303
    with shop.database.writing() as session:
        keep_draft(session, job_of(session, made), talk(AFTER), rules_sha256="b", now=shop.now())
    return made


def now(shop: Shop, job: str) -> RebuildRecord:
    with shop.database.reading() as session:
        return under_review(session, job).record


def standing(shop: Shop, job: str) -> dict[str | None, str | None]:
    return {r.position: r.value_exact for r in now(shop, job).readings if r.standing}


def keys(client: TestClient, job: str) -> dict[str, str]:
    """Key of each difference by what its button says."""
    shown = client.get(f"/office/{job}/difference").text
    found = re.findall(r'name="key" value="([^"]+)">\s*<button>([^<]+)<span class="unseen">: ([^<]+)', shown)
    return {f"{act} {what.rpartition('vane ')[2]}": key.replace("&gt;", ">") for key, act, what in found}


def take(client: TestClient, shop: Shop, job: str, key: str, **other: str) -> int:
    fields = {"key": key, "newer": "3", "seen": turn(shop, job), **other}
    return client.post(f"/office/{job}/difference", data=fields).status_code


def test_entries_are_new_gone_changed_or_not_shown() -> None:
    found = differences(talk(BEFORE), talk(AFTER))
    shown = [
        (one.kind, getattr(one.before, "position", None), getattr(one.after, "position", None))
        for one in found
    ]
    assert shown == [("changed", "2", "2"), ("gone", "3", None), ("new", None, "4"), ("changed", "5", "5")]
    assert differences(talk(BEFORE), talk(BEFORE)) == []


def test_nothing_is_taken_over_by_itself_and_what_was_decided_is_shown(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    assert f'href="/office/{job}/difference"' in reviewer.get(f"/office/{job}").text
    assert "see what differs</a> before you sign" in reviewer.get(f"/office/{job}").text
    before = standing(shop, job)
    assert before == {"1": "0.018", "2": "0.019", "3": "0.02", "5": "0.018"}
    shown = reviewer.get(f"/office/{job}/difference").text
    assert "accepted by Some reviewer (reviewer)" in shown
    assert "no value was understood" in shown  # thirteen or thirty
    assert set(keys(reviewer, job)) == {"Take it over two", "Strike it three", "Add it four"}
    assert standing(shop, job) == before


def test_each_is_taken_over_as_a_decision_of_the_reviewer(reviewer: TestClient, shop: Shop, job: str) -> None:
    for key in keys(reviewer, job).values():
        assert take(reviewer, shop, job, key) == 303
    assert standing(shop, job) == {"1": "0.018", "2": "0.016", "4": "0.017", "5": "0.018"}
    record = now(shop, job)
    # What was under review stays, with its words.
    assert {r.position for r in record.readings if r.superseded_why} == {"2", "3"}
    with shop.database.reading() as session:
        links = list(chain_of(session, job))
    assert first_break(links) is None
    assert [link.kind for link in links][-3:] == ["entry_corrected", "entry_struck", "entry_added"]
    assert all(link.payload["remark"] == "taken over from draft 3" for link in links[-3:])
    assert "taken over" in reviewer.get(f"/office/{job}/difference").text
    # What was added can be struck again, and the record can be signed.
    added = next(r.id for r in record.readings if r.position == "4")
    sign(reviewer, shop, job)
    assert added == "draft3." + added.partition(".")[2]
    assert take(reviewer, shop, job, keys_after_signing(reviewer, job)) == 422


def keys_after_signing(client: TestClient, job: str) -> str:
    assert 'name="key"' not in client.get(f"/office/{job}/difference").text
    return "x>y"


def test_an_added_entry_is_decided_about_like_any_other(reviewer: TestClient, shop: Shop, job: str) -> None:
    assert take(reviewer, shop, job, keys(reviewer, job)["Add it four"]) == 303
    added = next(r for r in now(shop, job).readings if r.position == "4")
    assert added.evidence.words == AFTER[3]
    fields = {"entry": added.id, "decision": "struck", "seen": turn(shop, job)}
    assert reviewer.post(f"/office/{job}/decisions", data=fields).status_code == 303
    assert "4" not in standing(shop, job)


def test_what_is_no_more_or_was_changed_meanwhile_is_not_taken_over(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    key = keys(reviewer, job)["Strike it three"]
    assert take(reviewer, shop, job, "r99>") == 422
    assert take(reviewer, shop, job, key, newer="2") == 422
    assert take(reviewer, shop, job, key, seen="1") == 409
    assert "3" in standing(shop, job)


def test_the_talk_is_read_again_at_a_press_and_the_same_talk_makes_no_draft(
    reviewer: TestClient, shop: Shop
) -> None:
    job = handed_over(shop)
    assert reviewer.get(f"/office/{job}/difference").status_code == 404
    with shop.database.writing() as session:
        keep_draft(session, job_of(session, job), talk(BEFORE), rules_sha256="a", now=shop.now())
    for _ in range(2):
        assert reviewer.post(f"/office/{job}/again").status_code == 303
    with shop.database.reading() as session:
        drafts = drafts_of(session, job)
    assert [draft.number for draft in drafts] == [1, 2, 3]
    assert '"0.018"' in drafts[2].record
