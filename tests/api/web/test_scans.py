"""Badges, gauges and new parts held up at a bench; hold points; the register of gauges."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from api.people.notice import present_notice
from api.store.accounts import by_secret, change_pin, make_account, renew_badge
from api.store.consents import keep_answer
from api.store.job_events import chain_of
from api.store.jobs import job_of, turn_to
from api.tags.tag_text import tag_text
from api.web.attempts import FREE
from api.web.shop import Shop
from tests.api.web.conftest import SECRET, Clock
from tests.api.web.test_start import SHEET, badge_of

JSON = {"accept": "application/json"}


@pytest.fixture
def bench(as_role: Callable[[str], TestClient]) -> TestClient:
    client = as_role("technician")
    client.headers["accept"] = "application/json"
    return client


@pytest.fixture
def job(bench: TestClient) -> str:
    return str(bench.post("/bench/jobs", data={"work_order": "1", "sheet": SHEET}).headers["location"])


def someone(shop: Shop, name: str, roles: list[str], *, agreed: bool = True) -> str:
    """Make an account; return its badge."""
    with shop.database.writing() as session:
        account = make_account(
            session, name=name, shown_name=name.title(), roles=roles, secret=SECRET, now=shop.now()
        )
        notice = present_notice(shop.folder, shop.settings).text
        keep_answer(session, account, notice=notice, agreed=agreed, now=shop.now())
        return tag_text("badge", t=renew_badge(account))


def enter(admin: TestClient, gauge: str, until: str = "2027-01-31", kind: str = "feeler") -> int:
    fields = {"gauge": gauge, "kind": kind, "calibrated_until": until}
    return admin.post("/gauges", data=fields).status_code


def show(bench: TestClient, job: str, badge: str, word: str = "", step: str = "leak_test") -> str:
    """Hold a badge up to the waiting hold point; return what the bench says."""
    answer = bench.post(f"{job}/scans", data={"code": badge, "step": step, "word": word}).json()
    return str(answer.get("did") or answer["error"]["what"])


def set_pin(shop: Shop, name: str, pin: str) -> None:
    with shop.database.writing() as session:
        account = by_secret(session, name, SECRET)
        assert account is not None
        change_pin(account, pin)


def waits(bench: TestClient, job: str) -> bool:
    return bool(bench.get(f"{job}/facts").json()["holds"][0]["waits"])


def test_a_hold_is_released_by_a_reviewer_who_does_not_work_here(
    bench: TestClient, job: str, shop: Shop
) -> None:
    (hold,) = bench.get(f"{job}/facts").json()["holds"]
    assert (hold["what"], hold["waits"], hold["state"]) == ("Leak test", True, "waits for a witness")

    assert "your own badge releases no hold" in show(bench, job, badge_of(shop, "technician"), SECRET)
    assert "works at no bench" in show(bench, job, badge_of(shop, "stores"), SECRET)
    both = someone(shop, "berit", ["technician", "reviewer"])
    assert bench.post(f"{job}/scans", data={"code": both}).json()["here"] == ["Berit"]
    assert "works on this pump himself" in show(bench, job, both, SECRET)
    assert show(bench, job, badge_of(shop, "reviewer"), SECRET) == "Leak test: witnessed by Some reviewer"
    assert not waits(bench, job)
    with shop.database.reading() as session:
        last = chain_of(session, job.rpartition("/")[2])[-1]
    assert (last.kind, last.by) == ("witnessed", "Some reviewer (reviewer)")
    assert last.payload["known_by"] == "badge and secret"


def test_a_picture_of_a_badge_releases_no_hold(bench: TestClient, job: str, shop: Shop) -> None:
    badge = badge_of(shop, "reviewer")
    for _ in range(FREE + 2):  # asking is no wrong attempt
        answer = bench.post(f"{job}/scans", data={"code": badge, "step": "leak_test"})
        assert (answer.status_code, answer.json()["asks"]) == (200, "Some reviewer")
    assert waits(bench, job)
    with shop.database.reading() as session:
        assert "witnessed" not in [one.kind for one in chain_of(session, job.rpartition("/")[2])]


def test_a_pin_beside_the_badge_releases_a_hold(bench: TestClient, job: str, shop: Shop) -> None:
    badge = badge_of(shop, "reviewer")
    set_pin(shop, "reviewer", "402913")
    assert "neither PIN nor secret of Some reviewer" in show(bench, job, badge, "402914")
    assert waits(bench, job)
    assert show(bench, job, badge, "402913") == "Leak test: witnessed by Some reviewer"
    (hold,) = bench.get(f"{job}/facts").json()["holds"]
    assert hold["state"] == "witnessed by Some reviewer, known by badge and PIN"
    with shop.database.reading() as session:
        last = chain_of(session, job.rpartition("/")[2])[-1]
    assert last.payload["known_by"] == "badge and pin"
    assert "402913" not in str(last)


def test_what_released_one_hold_releases_no_other(bench: TestClient, job: str, shop: Shop) -> None:
    badge = badge_of(shop, "reviewer")
    show(bench, job, badge, SECRET)
    assert "already" in show(bench, job, badge, SECRET)  # sent again
    fields = {"work_order": "2", "sheet": SHEET}
    other = str(bench.post("/bench/jobs", data=fields).headers["location"])
    assert show(bench, other, badge) == "Some reviewer: PIN or secret"
    assert waits(bench, other)
    # A new badge makes the picture of the old one worthless, the secret beside it or not.
    badge_of(shop, "reviewer")
    assert "this badge is not known" in show(bench, other, badge, SECRET)
    assert waits(bench, other)


def test_guessed_pins_make_the_witness_wait(bench: TestClient, job: str, shop: Shop, clock: Clock) -> None:
    badge = badge_of(shop, "reviewer")
    set_pin(shop, "reviewer", "402913")
    for number in range(FREE):
        assert "neither PIN nor secret" in show(bench, job, badge, f"90210{number}")
    # The right one is not looked at either; nor does somebody else's getting it right help.
    assert "too many wrong PINs or secrets" in show(bench, job, badge, "402913")
    clock.pass_s(2.5)
    other = someone(shop, "rune", ["reviewer"])
    fields = {"code": other, "step": "rotate_by_hand", "word": SECRET}  # no hold point: nothing is witnessed
    assert bench.post(f"{job}/scans", data=fields).status_code == 409
    assert "neither PIN nor secret" in show(bench, job, badge, "902106")
    assert "too many wrong PINs or secrets" in show(bench, job, badge, "402913")
    clock.pass_s(5)
    assert show(bench, job, badge, "402913") == "Leak test: witnessed by Some reviewer"


def test_a_pin_is_set_by_its_owner_and_signs_nobody_in(
    as_role: Callable[[str], TestClient], stranger: TestClient, shop: Shop
) -> None:
    own = as_role("reviewer")
    for bad in (
        "12345",
        "123456",
        "987654",
        "777777",
        "12a456",
        "1234567890123",
        "\u0661\u0662\u0663\u0661\u0662\u0665",
    ):
        assert own.post("/own-pin", data={"pin": bad}).status_code == 422
    assert "You have none" in own.get("/").text
    assert own.post("/own-pin", data={"pin": "402913"}).status_code == 303
    assert "You have one" in own.get("/").text
    assert stranger.post("/sign-in", data={"name": "reviewer", "secret": "402913"}).status_code == 401
    with shop.database.reading() as session:
        account = by_secret(session, "reviewer", SECRET)
        assert account is not None
        assert str(account.pin_hash).startswith("$argon2id$")
    assert own.post("/own-pin", data={"pin": ""}).status_code == 303
    assert "You have none" in own.get("/").text


def test_going_on_without_a_witness_is_kept_as_that(bench: TestClient, job: str, shop: Shop) -> None:
    answer = bench.post(f"{job}/go-on", data={"step": "leak_test"}).json()
    assert "a deviation for the reviewer" in answer["did"]
    assert answer["holds"][0]["state"] == "gone on without a witness: a deviation"
    assert bench.post(f"{job}/go-on", data={"step": "leak_test"}).status_code == 409
    assert bench.post(f"{job}/go-on", data={"step": "rotate_by_hand"}).status_code == 409
    # Who comes late still witnesses.
    assert show(bench, job, badge_of(shop, "reviewer"), SECRET) == "Leak test: witnessed by Some reviewer"
    (hold,) = bench.get(f"{job}/facts").json()["holds"]
    assert hold["state"] == "witnessed by Some reviewer, known by badge and secret"


def test_a_badge_says_who_comes_and_goes(bench: TestClient, job: str, shop: Shop, clock: Clock) -> None:
    badge = someone(shop, "ola", ["technician"])
    assert bench.post(f"{job}/scans", data={"code": badge}).json()["did"] == "Ola works here"
    # Held on, it says the same; later, that he goes.
    assert bench.post(f"{job}/scans", data={"code": badge}).json()["did"] == "Ola works here"
    clock.pass_s(121)
    assert bench.post(f"{job}/scans", data={"code": badge}).json()["did"] == "Ola has left"
    no = someone(shop, "nils", ["technician"], agreed=False)
    assert bench.post(f"{job}/scans", data={"code": no}).status_code == 403


def test_guessed_badges_make_the_bench_wait(bench: TestClient, job: str) -> None:
    for number in range(FREE):
        wrong = tag_text("badge", t=f"guess{number}")
        assert bench.post(f"{job}/scans", data={"code": wrong}).status_code == 422
    assert bench.post(f"{job}/scans", data={"code": wrong}).status_code == 409


def test_a_gauge_is_taken_by_its_label_or_its_id(
    bench: TestClient, job: str, as_role: Callable[[str], TestClient]
) -> None:
    admin = as_role("admin")
    assert enter(admin, "FG-7") == 303
    assert enter(admin, "FG-8", "2026-03-03") == 303
    label = admin.get("/gauges/label", params={"gauge": "FG-7"}).text
    assert tag_text("gauge", id="FG-7") in label
    good = bench.post(f"{job}/scans", data={"code": tag_text("gauge", id="FG-7")}).json()
    assert good["did"] == "feeler FG-7, calibrated until 2027-01-31"
    bad = bench.post(f"{job}/gauges", data={"gauge": "FG-8"}).json()
    assert bad["did"] == "feeler FG-8: calibration ended 2026-03-03; take another one"
    assert bad["gauges"] == [{"text": "feeler FG-8, calibration ended 2026-03-03", "grave": True}]
    assert bench.post(f"{job}/gauges", data={"gauge": "FG-9"}).status_code == 404
    admin.post("/gauges/out-of-use", data={"gauge": "FG-7"})
    assert bench.post(f"{job}/gauges", data={"gauge": "FG-7"}).status_code == 404
    assert "out of use since 2026-03-04" in admin.get("/gauges").text


def test_the_register_refuses_what_is_no_gauge(as_role: Callable[[str], TestClient]) -> None:
    admin = as_role("admin")
    assert enter(admin, "<script>") == 422
    assert enter(admin, "FG-1", until="soon") == 422
    assert enter(admin, "FG-1", kind="crystal ball") == 422


def test_a_new_part_is_known_by_its_lot(bench: TestClient, job: str) -> None:
    ours = tag_text("part", part="seal", lot="A 77")
    assert bench.post(f"{job}/scans", data={"code": ours}).json()["did"] == "Seal: lot A 77"
    # A maker's own code on a bag, once somebody said of which part it is.
    bag = {"part": "impeller_bolt", "what": "serial", "code": "(01)0761(21)55"}
    assert bench.post(f"{job}/new-parts", data=bag).json()["lots"] == [
        {"text": "Seal: lot A 77", "grave": False},
        {"text": "Impeller bolt: serial (01)0761(21)55", "grave": False},
    ]
    for wrong in ({"part": "flywheel"}, {"code": " "}, {"what": "colour"}):
        assert bench.post(f"{job}/new-parts", data={**bag, **wrong}).status_code == 422
    assert "which part" in bench.post(f"{job}/scans", data={"code": tag_text("part", lot="A")}).text


@pytest.mark.parametrize("code", [tag_text("job", wo="1"), "4006381333931"])
def test_what_means_nothing_at_a_bench_is_named(bench: TestClient, job: str, code: str) -> None:
    assert bench.post(f"{job}/scans", data={"code": code}).status_code == 422


def test_nothing_is_held_up_to_a_job_that_was_handed_over(bench: TestClient, job: str, shop: Shop) -> None:
    with shop.database.writing() as session:
        turn_to(job_of(session, job.rpartition("/")[2]), "handed_over", seen=1)
    for path, fields in (
        ("scans", {"code": badge_of(shop, "reviewer"), "step": "leak_test"}),
        ("go-on", {"step": "leak_test"}),
        ("new-parts", {"part": "seal", "what": "lot", "code": "1"}),
    ):
        assert bench.post(f"{job}/{path}", data=fields).status_code == 409
