"""Whatever is sent through any door that the description names, no answer is an error of the server's own.

schemathesis makes requests from the OpenAPI description, right and wrong ones; half of them are about a job
and an account that there are.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import count
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.generation.modes import GenerationMode

from api.people.notice import present_notice
from api.store import web_sessions
from api.store.accounts import make_account
from api.store.consents import keep_answer
from api.store.roles import ROLES
from api.web.guard import COOKIE
from api.web.shop import Shop
from tests.api.web.signed_job import handed_over

#: A door; 80 were tried once (26 November 2026): numbers of rows that no database holds, mended since.
EXAMPLES = 5
_QUIET = settings(
    max_examples=EXAMPLES,
    deadline=None,
    database=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture
def real(shop: Shop, people: None) -> dict[str, str]:
    """Values of path parameters that lead to something."""
    return {"job_id": handed_over(shop), "account_id": "1", "recording": "001", "number": "1"}


def newcomers(app: FastAPI, shop: Shop, roles: list[str]) -> Iterator[tuple[TestClient, dict[str, str]]]:
    """Somebody new for each operation: it may close his account or sign him out."""
    notice = present_notice(shop.folder, shop.settings).text
    for number in count():
        with shop.database.writing() as session:
            account = make_account(
                session, name=f"n{number}", shown_name="New", roles=roles, secret=None, now=shop.now()
            )
            keep_answer(session, account, notice=notice, agreed=True, now=shop.now())
            token = web_sessions.begin(session, account, shop.now(), means="secret")
        with shop.database.reading() as session:
            who = web_sessions.signed_in(session, token, shop.now())
        assert who is not None
        assert who.form_token
        client = TestClient(
            app, follow_redirects=False, raise_server_exceptions=False, cookies={COOKIE: token}
        )
        yield client, {"x-form-token": who.form_token}


@pytest.mark.long
def test_no_door_answers_with_an_error_of_the_servers_own(
    app: FastAPI, shop: Shop, real: dict[str, str]
) -> None:
    description = schemathesis.openapi.from_asgi("/openapi.json", app)
    description.config.generation.update(modes=list(GenerationMode))
    people = newcomers(app, shop, list(ROLES))
    operations = [found.ok() for found in description.get_all_operations()]
    tried: list[int] = []
    for operation in operations:
        client, headers = next(people)
        tried += statuses_of(operation, client, headers, real)
    tried += beyond_any_row(operations, *next(people))
    assert len(operations) > 40
    # Not everything is turned away at the door.
    assert {200, 303, 404, 422} <= set(tried)


def beyond_any_row(operations: list[Any], client: TestClient, headers: dict[str, str]) -> list[int]:
    """Ask every door that takes a number of a row for one that no database can hold."""
    tried: list[int] = []
    for operation in operations:
        path = re.sub(r"\{(account_id|number)\}", str(2**63), operation.path)
        if path != operation.path:
            path = re.sub(r"\{[^}]*\}", "1", path)
            tried.append(client.request(operation.method.upper(), path, headers=headers).status_code)
    assert tried
    assert max(tried) < 500
    return tried


def statuses_of(
    operation: Any, client: TestClient, headers: dict[str, str], real: dict[str, str]
) -> list[int]:
    """Send what is made for one operation; return the statuses of the answers."""
    tried: list[int] = []

    @_QUIET
    @given(case=operation.as_strategy(), known=st.booleans())
    def send(case: Any, known: bool) -> None:
        if known:
            case.path_parameters = {**(case.path_parameters or {}), **real}
        sent = case.as_transport_kwargs(base_url="http://testserver", headers=headers)
        sent.pop("cookies", None)
        answer = client.request(**sent)
        tried.append(answer.status_code)
        what = (sent["method"], sent["url"], sent.get("data"), sent.get("params"), answer.text[:500])
        assert answer.status_code < 500, what

    send()
    return tried
