"""A job read again by a newer revision of its sheet: shown first, taken by decision, nothing is lost."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from api.office.reviewing import under_review
from api.signing.chain import first_break
from api.store.drafts import drafts_of
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.store.revisions import revisions_of
from api.store.sheets import sheet_from, sheet_sha256
from api.store.tables import SheetText
from api.web.shop import Shop
from shared.job_sheet import find_sheet
from shared.record import ReadingEntry, RebuildRecord
from tests.api.web.signed_job import SHEET, handed_over, sign, turn

SAID = (
    "front clearance vane one eighteen thou",
    "vane two twenty thou",
    "vane three fourteen thou",
    "wobble is one thou at the seal",
)
#: Revision 4 allows less, asks for back clearance, and knows another name for the runout.
CHANGES = (
    ('revision: "3"', 'revision: "4"'),
    ("upper: 0.024", "upper: 0.019"),
    ("say: [shaft runout,", "say: [shaft runout, wobble,"),
    ("required: false\n    plausible: [0.0, 0.250]\n    uncertainty: 0.001\n    gauge: feeler\n  - item: sh",
     "required: true\n    plausible: [0.0, 0.250]\n    uncertainty: 0.001\n    gauge: feeler\n  - item: sh"),
)  # fmt: skip


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient]) -> TestClient:
    return as_role("reviewer")


@pytest.fixture
def job(shop: Shop, reviewer: TestClient) -> str:
    return handed_over(shop, said=SAID)


def changed_sheet(shop: Shop, *changes: tuple[str, str]) -> None:
    """Put a changed sheet into the shop's folder, as its keeper does."""
    text = find_sheet(SHEET.id).read_text("utf-8")
    for old, new in changes or CHANGES:
        assert text.count(old) >= 1, old
        text = text.replace(old, new, 1)
    path = shop.folder / "sheets" / f"{SHEET.id}.yaml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, "utf-8")


def read_by_newer(client: TestClient, job: str) -> str:
    """Press the button; return the page that it leads to."""
    assert 'name="by_newer"' in client.get(f"/office/{job}").text
    answer = client.post(f"/office/{job}/again", data={"by_newer": "true"})
    assert answer.headers["location"] == f"/office/{job}/difference"
    return client.get(f"/office/{job}/difference").text


def decide(client: TestClient, shop: Shop, job: str, entry: str, decision: str, **more: str) -> None:
    fields = {"entry": entry, "decision": decision, "seen": turn(shop, job), **more}
    assert client.post(f"/office/{job}/decisions", data=fields).status_code == 303


def go_by(client: TestClient, shop: Shop, job: str, **other: str) -> int:
    fields = {"newer": "2", "seen": turn(shop, job), **other}
    return client.post(f"/office/{job}/sheet", data=fields).status_code


def record(shop: Shop, job: str) -> RebuildRecord:
    with shop.database.reading() as session:
        return under_review(session, job).record


def readings(shop: Shop, job: str) -> dict[str | None, tuple[str | None, str]]:
    """The front clearances."""
    found = (r for r in record(shop, job).readings if r.standing and r.item == "front_clearance")
    return {r.position: (r.value_exact, r.verdict) for r in found}


def runout(shop: Shop, job: str) -> list[str | None]:
    return [r.value_exact for r in record(shop, job).readings if r.item == "shaft_runout"]


def of(shop: Shop, job: str, position: str) -> ReadingEntry:
    return next(r for r in record(shop, job).readings if r.position == position and r.standing)


def judged(page: str) -> list[list[str]]:
    """The rows of the table of what is judged otherwise, cell by cell."""
    table = page.partition('<table class="judged">')[2].partition("</table>")[0]
    rows = re.findall(r"<tr>(.*?)</tr>", table, re.DOTALL)[1:]
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in rows]
    return [[" ".join(re.sub(r"<[^>]+>", " ", cell).split()) for cell in row] for row in cells]


def test_a_sheet_that_has_not_changed_is_not_offered(reviewer: TestClient, job: str, shop: Shop) -> None:
    assert 'name="by_newer"' not in reviewer.get(f"/office/{job}").text
    assert reviewer.post(f"/office/{job}/again", data={"by_newer": "true"}).status_code == 422
    changed_sheet(shop, ('revision: "3"', 'revision: "3"'))
    assert 'name="by_newer"' not in reviewer.get(f"/office/{job}").text
    # One that is not right is no sheet: the start page tells what is the matter with it.
    changed_sheet(shop, ("lower: 0.012", "lower: 0.12"))
    assert 'name="by_newer"' not in reviewer.get(f"/office/{job}").text


def test_what_a_newer_sheet_judges_otherwise_is_shown_and_changes_nothing(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    decide(reviewer, shop, job, of(shop, job, "2").id, "accepted")
    before = readings(shop, job)
    assert before["2"] == ("0.02", "within")
    changed_sheet(shop)
    page = read_by_newer(reviewer, job)
    rows = {row[0]: row[1:] for row in judged(page)}
    limits = {what: (was, becomes) for what, (_, was, becomes, _) in rows.items()}
    before_words = "✓ within revision 3: 0.012 to 0.024 in"
    assert limits == {
        "Front clearance, vane one": (before_words, "✓ within revision 4: 0.012 to 0.019 in"),
        "Front clearance, vane two": (before_words, "✗ OUTSIDE revision 4: 0.012 to 0.019 in"),
        "Front clearance, vane three": (before_words, "✓ within revision 4: 0.012 to 0.019 in"),
    }
    assert rows["Front clearance, vane two"][3].startswith("accepted by Some reviewer (reviewer)")
    assert rows["Front clearance, vane one"][3] == "nothing yet"
    comes = re.findall(r"<li>([^<]*)</li>", page)
    assert [one for one in comes if one.startswith("deviation") and "vane two" in one and "0.019 in" in one]
    assert [one for one in comes if "ack clearance" in one]
    # What the newer sheet reads otherwise is told, too, and is not taken over by the older one's limits.
    assert "wobble is one thou at the seal" in page
    assert "first the sheet" in page
    assert 'name="key"' not in page
    assert readings(shop, job) == before
    assert record(shop, job).job.sheet_revision == "3"


def test_a_record_goes_by_the_newer_sheet_by_decision_and_what_was_reviewed_stays(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    decide(reviewer, shop, job, of(shop, job, "2").id, "accepted")
    decide(reviewer, shop, job, of(shop, job, "3").id, "corrected", **{"field.value_exact": "0.0225"})
    changed_sheet(shop)
    read_by_newer(reviewer, job)
    assert go_by(reviewer, shop, job, seen="1") == 409
    assert go_by(reviewer, shop, job, newer="1") == 422
    assert go_by(reviewer, shop, job) == 303
    now = readings(shop, job)
    assert now["1"] == ("0.018", "within")
    assert now["2"] == ("0.02", "outside")
    assert now["3"] == ("0.0225", "outside")
    made = record(shop, job)
    assert (made.job.sheet_revision, len(made.deviations)) == ("4", 2)
    assert "back_clearance" in {one.item for one in made.missing}
    with shop.database.reading() as session:
        it, drafts, links = under_review(session, job), drafts_of(session, job), chain_of(session, job)
        assert (it.draft.number, [one.kind for one in it.decisions]) == (1, ["accepted", "corrected"])
        old, new = sheet_sha256(SHEET), it.job.sheet_sha256
        assert sheet_from(it.job.sheet).revision == "4"
        assert [one.sheet_sha256 for one in drafts] == [old, new]
        assert session.get(SheetText, old) is not None
        assert first_break(links) is None
        assert [one.payload["sheet_sha256"] for one in links if one.kind == "drafted"] == [old, new]
        taken = links[-1]
    assert (taken.kind, taken.by) == ("sheet_taken", "Some reviewer (reviewer)")
    assert taken.payload == {"draft": 2, "was_sha256": old, "sheet_sha256": new}
    assert made.made_by.hashes["sheet"] == new
    # Now what it read otherwise is taken over, one by one.
    (key,) = re.findall(r'name="key" value="([^"]+)"', reviewer.get(f"/office/{job}/difference").text)
    fields = {"key": key.replace("&gt;", ">"), "newer": "2", "seen": turn(shop, job)}
    assert reviewer.post(f"/office/{job}/difference", data=fields).status_code == 303
    assert runout(shop, job) == ["0.001"]
    sign(reviewer, shop, job)
    with shop.database.reading() as session:
        signed = revisions_of(session, job)[0].signed.decode()
    assert '"sheet_taken"' in signed
    assert '"sheet_revision": "4"' in signed


def test_where_nothing_is_decided_the_newer_draft_comes_under_review(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    changed_sheet(shop)
    assert "Nothing is decided yet" in read_by_newer(reviewer, job)
    assert runout(shop, job) == []
    assert go_by(reviewer, shop, job) == 303
    assert runout(shop, job) == ["0.001"]
    with shop.database.reading() as session:
        assert under_review(session, job).draft.number == 2
    assert reviewer.get(f"/office/{job}/difference").status_code == 404


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (('positions: ["1", "2", "3", "4", "5"]', 'positions: ["1", "3", "4", "5"]'), "does not measure"),
        (("unit: in\n    nominal: 0.018", "unit: mm\n    nominal: 0.018"), "measures front_clearance in mm"),
    ],
)
def test_a_sheet_that_measures_otherwise_is_refused_with_why(
    reviewer: TestClient, shop: Shop, job: str, change: tuple[str, str], why: str
) -> None:
    decide(reviewer, shop, job, of(shop, job, "2").id, "accepted")
    before = readings(shop, job)
    changed_sheet(shop, CHANGES[0], change)
    assert why in read_by_newer(reviewer, job)
    assert go_by(reviewer, shop, job) == 422
    assert readings(shop, job) == before


def test_a_value_that_the_newer_sheet_finds_implausible_is_asked_about(
    reviewer: TestClient, shop: Shop, job: str
) -> None:
    decide(reviewer, shop, job, of(shop, job, "1").id, "accepted")
    changed_sheet(shop, CHANGES[0], ("plausible: [0.0, 0.120]", "plausible: [0.0, 0.019]"))
    read_by_newer(reviewer, job)
    assert go_by(reviewer, shop, job) == 303
    asked = of(shop, job, "2")
    assert (asked.needs_review, asked.verdict) == (True, "undecided")
    assert asked.reason == "not plausible by revision 4 of the sheet"
    assert not of(shop, job, "1").needs_review


def test_a_signed_record_goes_by_its_sheet_for_good(reviewer: TestClient, shop: Shop, job: str) -> None:
    changed_sheet(shop)
    read_by_newer(reviewer, job)
    decide(reviewer, shop, job, of(shop, job, "1").id, "accepted")
    sign(reviewer, shop, job)
    assert go_by(reviewer, shop, job) == 409
    assert record(shop, job).job.sheet_revision == "3"
    # At the bench the record is not the office's to change.
    with shop.database.writing() as session:
        job_of(session, job).state = "open"
    assert go_by(reviewer, shop, job) == 409
