"""A shop of our own, its people, and browsers that are signed in as each of them."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from fastapi import FastAPI
from fastapi.testclient import TestClient

from api.people.notice import present_notice
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.store.roles import ROLES
from api.web.app import make_app
from api.web.serving import open_shop
from api.web.shop import Shop
from shared.settings import Settings
from tests.present_shape import lay_present_shape

SECRET = "a long enough one"
NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)


@dataclass
class Clock:
    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now

    def pass_s(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)


@pytest.fixture(autouse=True)
def _quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    # Slow on purpose where it counts; the form of what is kept is the same.
    monkeypatch.setattr(
        "api.store.secrets._HASHER", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    )


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def shop(tmp_path: Path, clock: Clock, shop_database_url: str | None) -> Iterator[Shop]:
    if shop_database_url is None:
        lay_present_shape(tmp_path)
    opened = open_shop(Settings(database_url=shop_database_url), tmp_path)
    opened.clock = clock
    yield opened
    opened.database.close()


@pytest.fixture
def app(shop: Shop) -> Iterator[FastAPI]:
    made = make_app(shop)
    yield made
    made.state.orders.close()


@pytest.fixture
def stranger(app: FastAPI) -> TestClient:
    return browser(app)


@pytest.fixture
def people(shop: Shop) -> None:
    """One of every role, named like it; all agreed to be recorded."""
    notice = present_notice(shop.folder, shop.settings).text
    with shop.database.writing() as session:
        for role in ROLES:
            account = make_account(
                session, name=role, shown_name=f"Some {role}", roles=[role], secret=SECRET, now=shop.now()
            )
            keep_answer(session, account, notice=notice, agreed=True, now=shop.now())


@pytest.fixture
def as_role(app: FastAPI, people: None) -> Callable[[str], TestClient]:
    def sign_in(role: str) -> TestClient:
        client = browser(app)
        answer = client.post("/sign-in", data={"name": role, "secret": SECRET})
        assert answer.status_code == 303
        home = client.get("/").text
        match = re.search(r'name="form_token" value="([^"]+)"', home)
        assert match
        client.headers["x-form-token"] = match[1]
        return client

    return sign_in


def browser(app: FastAPI) -> TestClient:
    # What our own exception handler does not take must come out in the test.
    return TestClient(
        app, base_url="http://testserver", follow_redirects=False, headers={"accept": "text/html"}
    )
