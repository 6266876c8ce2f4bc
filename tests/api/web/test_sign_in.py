"""Coming in: set-up link, secret, badge; what is refused, and how often."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient

from api.store.accounts import account_of, by_secret, renew_badge
from api.tags.tag_text import tag_text
from api.tls.watch import TlsWatch
from api.web.attempts import FREE
from api.web.guard import COOKIE
from api.web.shop import Shop
from tests.api.web.conftest import SECRET, Clock

ADMIN = {"name": "ada", "shown_name": "Ada Quist", "secret": SECRET}


def test_the_set_up_link_makes_the_first_admin_and_nobody_after(stranger: TestClient, shop: Shop) -> None:
    link = f"/set-up/{shop.set_up_token}"
    assert stranger.get("/set-up/guessed").status_code == 404
    assert "Who keeps the accounts?" in stranger.get(link).text
    assert stranger.post(link, data={**ADMIN, "secret": "short"}).status_code == 422
    assert stranger.post(link, data=ADMIN).headers["location"] == "/accounts"
    assert "Ada Quist" in stranger.get("/accounts").text
    assert stranger.get(link).status_code == 404
    assert stranger.post(link, data=ADMIN).status_code == 404


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(stranger: TestClient, people: None) -> None:
    cookie = (
        stranger.post("/sign-in", data={"name": "trainer", "secret": SECRET}).headers["set-cookie"].lower()
    )
    assert cookie.startswith(f"{COOKIE}=")
    assert "httponly" in cookie
    assert "samesite=lax" in cookie


def test_a_cookie_over_tls_never_travels_in_the_open(stranger: TestClient, people: None, shop: Shop) -> None:
    shop.tls = TlsWatch(shop.folder, "127.0.0.1", shop.now)
    cookie = (
        stranger.post("/sign-in", data={"name": "trainer", "secret": SECRET}).headers["set-cookie"].lower()
    )
    assert "secure" in cookie


def test_whoever_is_not_signed_in_is_shown_the_way_and_comes_back(stranger: TestClient, people: None) -> None:
    answer = stranger.get("/accounts")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in?then=/accounts")
    form = stranger.get(answer.headers["location"]).text
    assert 'name="then" value="/accounts"' in form
    answer = stranger.post("/sign-in", data={"name": "admin", "secret": SECRET, "then": "/accounts"})
    assert answer.headers["location"] == "/accounts"
    assert stranger.get("/accounts").status_code == 200


@pytest.mark.parametrize("then", ["//evil.example", "https://evil.example", "/\\evil.example", "evil"])
def test_signing_in_never_leads_to_another_site(stranger: TestClient, people: None, then: str) -> None:
    answer = stranger.post("/sign-in", data={"name": "admin", "secret": SECRET, "then": then})
    assert answer.headers["location"] == "/"


def test_a_badge_signs_in_and_is_void_once_renewed(stranger: TestClient, people: None, shop: Shop) -> None:
    with shop.database.writing() as session:
        account = by_secret(session, "technician", SECRET)
        assert account is not None
        badge = tag_text("badge", t=renew_badge(account_of(session, account.id)))
    assert stranger.post("/sign-in", data={"badge": badge}).status_code == 303
    assert "Some technician" in stranger.get("/").text
    with shop.database.writing() as session:
        renew_badge(account_of(session, account.id))
    answer = stranger.post("/sign-in", data={"badge": badge})
    assert answer.status_code == 401
    assert "this badge is not known" in answer.text


def test_wrong_secrets_make_whoever_tries_wait_longer_and_longer(
    stranger: TestClient, people: None, clock: Clock
) -> None:
    wrong = {"name": "admin", "secret": "not this one"}
    for _ in range(FREE):
        assert stranger.post("/sign-in", data=wrong).status_code == 401
    assert stranger.post("/sign-in", data={"name": "admin", "secret": SECRET}).status_code == 429
    clock.pass_s(2.1)
    assert stranger.post("/sign-in", data=wrong).status_code == 401
    clock.pass_s(2.1)
    answer = stranger.post("/sign-in", data=wrong)
    assert answer.status_code == 429
    assert "try again in 2 s" in answer.text
    clock.pass_s(2.1)
    assert stranger.post("/sign-in", data={"name": "admin", "secret": SECRET}).status_code == 303
    assert stranger.post("/sign-in", data=wrong).status_code == 401


def test_signing_out_ends_the_session(as_role: Callable[[str], TestClient]) -> None:
    client = as_role("admin")
    token = client.cookies[COOKIE]
    client.post("/sign-out")
    client.cookies.set(COOKIE, token)
    assert client.get("/accounts").status_code == 303


def test_a_session_ends_after_a_shift(as_role: Callable[[str], TestClient], clock: Clock) -> None:
    client = as_role("admin")
    clock.pass_s(12 * 3600)
    assert client.get("/accounts").status_code == 303


def test_another_secret_signs_every_browser_out(as_role: Callable[[str], TestClient]) -> None:
    one, other = as_role("admin"), as_role("admin")
    assert one.post("/own-secret", data={"secret": "another long one"}).status_code == 303
    assert other.get("/accounts").status_code == 303
    assert one.post("/sign-in", data={"name": "admin", "secret": SECRET}).status_code == 401
    assert one.post("/sign-in", data={"name": "admin", "secret": "another long one"}).status_code == 303


def test_a_script_comes_in_with_its_token_and_no_more_rights(as_role: Callable[[str], TestClient]) -> None:
    client = as_role("technician")
    shown = client.post("/own-tokens", data={"purpose": "nightly"}).text
    token = shown.split('<code class="token">')[1].split("<")[0]
    script = TestClient(client.app, headers={"authorization": f"Bearer {token}"})
    assert script.get("/accounts").json()["error"]["code"] == "http-403"
    wrong = TestClient(client.app, headers={"authorization": f"Bearer {token}x"})
    assert wrong.get("/accounts").status_code == 401


def test_what_is_typed_is_never_markup(as_role: Callable[[str], TestClient]) -> None:
    client = as_role("admin")
    evil = "<script>alert(1)</script>"
    client.post("/accounts", data={"name": "x", "shown_name": evil, "roles": ["stores"]})
    assert evil not in client.get("/accounts").text
    assert "&lt;script&gt;" in client.get("/accounts").text
