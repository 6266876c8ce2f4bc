"""Who may sign in, with what, and who may do what."""

from __future__ import annotations

from datetime import timedelta

import pytest

from api.store import web_sessions
from api.store.accounts import (
    account_of,
    by_badge,
    by_secret,
    change_roles,
    close_account,
    is_first_run,
    make_account,
    renew_badge,
)
from api.store.database import Database
from api.store.roles import RIGHTS, ROLES, rights_of
from api.store.tables import Account
from shared.errors import AccountRefused, NotKept
from tests.api.store.conftest import NOON

SECRET = "a long enough one"


def test_name_and_secret_sign_in(database: Database, reviewer: Account) -> None:
    with database.reading() as session:
        found = by_secret(session, " INES ", SECRET)
        assert found is not None
        assert found.id == reviewer.id
        assert by_secret(session, "ines", SECRET + " ") is None
        assert by_secret(session, "nobody", SECRET) is None


def test_a_secret_is_kept_as_argon2id_only(reviewer: Account) -> None:
    # The form of RFC 9106's reference encoding: $argon2id$v=19$m=…
    assert (reviewer.secret_hash or "").startswith("$argon2id$v=19$m=")
    assert SECRET not in str(vars(reviewer))


def test_an_account_without_a_secret_signs_in_by_badge_alone(database: Database) -> None:
    with database.writing() as session:
        account = make_account(
            session, name="tom", shown_name="Tom", roles=["technician"], secret=None, now=NOON
        )
        badge = renew_badge(account)
        assert by_badge(session, badge) is account
        assert by_secret(session, "tom", "") is None
        assert badge not in str(vars(account))
        renewed = renew_badge(account)
        assert by_badge(session, badge) is None
        assert by_badge(session, renewed) is account


@pytest.mark.parametrize(
    ("fields", "what"),
    [
        ({"name": "two words"}, "is no account name"),
        ({"name": "../x"}, "is no account name"),
        ({"name": "ines"}, "there is an account ines already"),
        ({"name": "INES"}, "there is an account ines already"),
        ({"shown_name": "  "}, "is empty"),
        ({"roles": []}, "no role was given"),
        ({"roles": ["boss"]}, "there is no role 'boss'"),
        ({"secret": "short"}, "expected 10 to 256"),
        ({"secret": "x" * 257}, "expected 10 to 256"),
    ],
)
def test_what_is_wrong_with_a_new_account(
    database: Database, reviewer: Account, fields: dict[str, object], what: str
) -> None:
    good = {"name": "new", "shown_name": "New", "roles": ["stores"], "secret": SECRET}
    with pytest.raises(AccountRefused, match=what), database.writing() as session:
        make_account(session, **{**good, **fields}, now=NOON)  # type: ignore[arg-type]


def test_an_admin_always_stays(database: Database) -> None:
    with database.writing() as session:
        assert is_first_run(session)
        admin = make_account(session, name="ada", shown_name="Ada", roles=["admin"], secret=SECRET, now=NOON)
        assert not is_first_run(session)
    with pytest.raises(AccountRefused, match="nobody would be left"), database.writing() as session:
        change_roles(session, account_of(session, admin.id), ["stores"])
    with pytest.raises(AccountRefused, match="nobody would be left"), database.writing() as session:
        close_account(session, account_of(session, admin.id), NOON)


def test_a_session_ends_by_time_by_signing_out_and_with_its_account(
    database: Database, reviewer: Account
) -> None:
    with database.writing() as session:
        token = web_sessions.begin(session, reviewer, NOON)
        other = web_sessions.begin(session, reviewer, NOON)
        found = web_sessions.signed_in(session, token, NOON + timedelta(hours=11))
        assert found is not None
        assert found.account.id == reviewer.id
        assert web_sessions.signed_in(session, token, NOON + web_sessions.LASTS) is None
        web_sessions.end(session, token)
        assert web_sessions.signed_in(session, token, NOON) is None
        assert web_sessions.signed_in(session, other, NOON) is not None
        account_of(session, reviewer.id).closed_at = NOON
        session.flush()
        assert web_sessions.signed_in(session, other, NOON) is None


def test_a_script_signs_in_with_its_token_until_it_is_closed(database: Database, reviewer: Account) -> None:
    with database.writing() as session:
        token = web_sessions.make_api_token(session, reviewer, "nightly export", NOON)
        found = web_sessions.by_api_token(session, token)
        assert found is not None
        assert found.form_token is None
        assert web_sessions.by_api_token(session, token + "x") is None


def test_nobody_is_found_by_a_number_that_no_account_has(database: Database) -> None:
    with pytest.raises(NotKept, match="number 7"), database.reading() as session:
        account_of(session, 7)


def test_a_role_has_what_its_work_needs_and_no_more() -> None:
    assert rights_of(["technician"]) == {"work", "read_records"}
    assert "sign" not in rights_of(set(ROLES) - {"reviewer"})
    assert "administer" not in rights_of(set(ROLES) - {"admin"})
    assert set(RIGHTS) == set(ROLES)
    assert rights_of(["boss"]) == frozenset()
