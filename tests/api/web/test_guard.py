"""Least privilege, for every route that there is; forms of other sites; too much at once."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.routing import RouteContext, iter_route_contexts
from fastapi.testclient import TestClient
from starlette.routing import Mount

from api.store.accounts import by_secret
from api.store.roles import ROLES, rights_of
from api.web.guard import anybody, open_to_all
from api.web.shields import MOST_BYTES, Shields
from api.web.shop import Shop
from tests.api.web.conftest import SECRET

#: What nobody needs to be known for: the way in, how the doors are called, and the pages' own files.
OPEN = {
    "/",
    "/sign-in",
    "/set-up/{token}",
    "/codes",
    "/health",
    "/openapi.json",
    "/install-certificate",
    "/authority.crt",
    "/authority.pem",
    "/static",
}


def routes(app: FastAPI) -> Iterator[RouteContext]:
    return iter_route_contexts(app.routes)


def keepers(dependant: Any) -> Iterator[Any]:
    """Every function that a route depends on."""
    for below in dependant.dependencies:
        yield below.call
        yield from keepers(below)


def filled_in(path: str) -> str:
    return re.sub(r"\{[^}]*\}", "1", path)


def test_every_route_names_its_right_or_is_open_to_all(app: FastAPI) -> None:
    for route in routes(app):
        if isinstance(route.route, Mount) or route.path == "/openapi.json":
            assert route.path in OPEN
            continue
        found = list(keepers(route.dependant))
        if open_to_all in found:
            assert route.path in OPEN
        else:
            assert anybody in found or [one for one in found if hasattr(one, "right")], route.path


@pytest.mark.parametrize("role", ROLES)
def test_a_role_gets_through_no_door_that_its_work_does_not_need(
    role: str, app: FastAPI, as_role: Callable[[str], TestClient]
) -> None:
    client, tried = as_role(role), 0
    for route in routes(app):
        rights = {
            one.right
            for one in keepers(getattr(route, "dependant", None) or _Nothing)
            if hasattr(one, "right")
        }
        for method in (route.methods or set()) - {"HEAD"} if rights else set():
            answer = client.request(method, filled_in(route.path or ""))
            assert (answer.status_code == 403) == (not rights <= rights_of([role])), (route.path, answer.text)
            tried += 1
    assert tried


class _Nothing:
    dependencies: tuple[()] = ()


def test_nobody_gets_through_a_door_that_is_not_open(
    app: FastAPI, stranger: TestClient, people: None
) -> None:
    for route in routes(app):
        if route.path in OPEN or isinstance(route.route, Mount):
            continue
        for method in (route.methods or set()) - {"HEAD"}:
            status = stranger.request(method, filled_in(route.path or "")).status_code
            assert status == (303 if method == "GET" else 401), route.path


def test_a_stolen_cookie_opens_no_more_than_its_owner_may(as_role: Callable[[str], TestClient]) -> None:
    technician, admin = as_role("technician"), as_role("admin")
    thief = TestClient(technician.app, cookies=dict(technician.cookies), follow_redirects=False)
    thief.headers["x-form-token"] = admin.headers["x-form-token"]
    assert thief.get("/accounts").status_code == 403
    # With his cookie, but the form token of another session.
    assert thief.post("/own-tokens", data={"purpose": "x"}).status_code == 403


@pytest.mark.parametrize("token", [None, "", "guessed"])
def test_a_form_without_the_token_of_its_session_changes_nothing(
    as_role: Callable[[str], TestClient], shop: Shop, token: str | None
) -> None:
    client = as_role("admin")
    del client.headers["x-form-token"]
    fields = {"secret": "another long one", **({} if token is None else {"form_token": token})}
    assert client.post("/own-secret", data=fields).status_code == 403
    with shop.database.reading() as session:
        assert by_secret(session, "admin", SECRET) is not None


def test_a_form_carries_its_token_as_a_field(as_role: Callable[[str], TestClient]) -> None:
    client = as_role("admin")
    token = client.headers.pop("x-form-token")
    fields = {"secret": "another long one", "form_token": token}
    assert client.post("/own-secret", data=fields).status_code == 303


@pytest.mark.parametrize(
    "headers", [{"origin": "https://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}]
)
def test_what_a_page_of_another_site_sends_is_refused(
    stranger: TestClient, people: None, headers: dict[str, str]
) -> None:
    answer = stranger.post("/sign-in", data={"name": "admin", "secret": SECRET}, headers=headers)
    assert answer.status_code == 403
    assert "another site" in answer.text


def test_every_answer_tells_the_browser_to_run_nothing_from_elsewhere(stranger: TestClient) -> None:
    for path in ("/sign-in", "/nothing-here", "/static/house.css"):
        headers = stranger.get(path).headers
        assert headers["content-security-policy"].startswith("default-src 'self'")
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_two_gigabytes_at_once_are_refused_before_they_are_read(stranger: TestClient) -> None:
    assert MOST_BYTES < 2**31
    answer = stranger.post("/sign-in", content=b"x", headers={"content-length": str(2**31)})
    assert answer.status_code == 413


def test_a_body_that_does_not_say_its_length_is_cut_off(app: FastAPI) -> None:
    small = TestClient(
        Shields(app, most_bytes=1000), base_url="http://testserver", raise_server_exceptions=False
    )

    def drip() -> Iterator[bytes]:
        for _ in range(100):
            yield b"name=" + b"x" * 95

    answer = small.post(
        "/sign-in", content=drip(), headers={"content-type": "application/x-www-form-urlencoded"}
    )
    assert answer.status_code >= 400


@pytest.mark.parametrize("path", ["/static/../app.py", "/static/%2e%2e/app.py", "/static//etc/passwd"])
def test_no_path_leads_out_of_the_pages_own_files(stranger: TestClient, path: str) -> None:
    assert stranger.get(path).status_code == 404


def test_who_may_not_come_in_is_told_which_role_may(as_role: Callable[[str], TestClient]) -> None:
    as_json = {"accept": "application/json"}
    assert as_role("technician").get("/office", headers=as_json).json()["error"]["what"] == (
        "this needs the right to review (role reviewer); "
        "whoever keeps the accounts can give an account that role"
    )
    told = as_role("stores").get("/pumps", headers=as_json).json()
    assert "role technician or reviewer or trainer" in told["error"]["what"]


@pytest.mark.parametrize("accept", ["text/html", "application/json"])
def test_an_address_of_nothing_says_so(stranger: TestClient, accept: str) -> None:
    answer = stranger.get("/nothing-<b>here", headers={"accept": accept})
    assert answer.status_code == 404
    assert "there is nothing at /nothing-" in answer.text
    assert "start page" in answer.text
    assert "<b>here" not in answer.text or accept == "application/json"


def test_a_program_gets_one_line_as_json(stranger: TestClient) -> None:
    answer = stranger.get("/accounts", headers={"accept": "application/json"})
    assert answer.status_code == 401
    assert answer.json() == {"error": {"code": "sign-in-first", "what": "nobody is signed in"}}
