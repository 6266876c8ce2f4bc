"""Accounts of the people who work here: made, found, closed; badges and secrets."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.roles import ROLES, Role
from api.store.secrets import hashed_pin, hashed_secret, hashed_token, is_secret, new_token
from api.store.tables import Account
from shared.errors import AccountRefused, NotKept

_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")


def make_account(
    session: Session,
    *,
    name: str,
    shown_name: str,
    roles: Collection[str],
    secret: str | None,
    now: datetime,
) -> Account:
    """Make an account.

    Args:
        session: one that writes.
        name: what is typed to sign in.
        shown_name: as it stands in records.
        roles: one or more of :data:`ROLES`.
        secret: None for somebody who signs in by badge alone; he cannot sign records.
        now: the moment.

    Raises:
        AccountRefused: the name is taken or none, a role is unknown, the secret too short.
    """
    name, shown_name = name.strip().lower(), " ".join(shown_name.split())
    if not _NAME.fullmatch(name):
        raise AccountRefused(
            f"{name!r} is no account name", expected="letters, digits, dot, dash or underscore, 1 to 64"
        )
    if not shown_name:
        raise AccountRefused("the name as it stands in records is empty", expected="a person's name")
    if session.scalar(select(Account.id).where(Account.name == name)) is not None:
        raise AccountRefused(f"there is an account {name} already", remedy="choose another name")
    account = Account(
        name=name,
        shown_name=shown_name[:200],
        roles=_checked(roles),
        secret_hash=hashed_secret(secret) if secret is not None else None,
        made_at=now,
    )
    session.add(account)
    session.flush()
    return account


def all_accounts(session: Session) -> Sequence[Account]:
    """Return every account, closed ones too, by name."""
    return session.scalars(select(Account).order_by(Account.name)).all()


def account_of(session: Session, account_id: int) -> Account:
    """Return an account.

    Raises:
        NotKept: there is none.
    """
    found = session.get(Account, account_id)
    if found is None:
        raise NotKept(f"there is no account number {account_id}")
    return found


def by_secret(session: Session, name: str, secret: str) -> Account | None:
    """Return the open account that this name and secret are of, or None."""
    account = session.scalar(select(Account).where(Account.name == name.strip().lower()))
    right = is_secret(secret, account.secret_hash if account else None)
    return account if account and right and account.closed_at is None else None


def by_badge(session: Session, badge: str) -> Account | None:
    """Return the open account whose badge was shown, or None."""
    account = session.scalar(select(Account).where(Account.badge_sha256 == hashed_token(badge)))
    return account if account and account.closed_at is None else None


def known_by(account: Account, word: str) -> Literal["pin", "secret"] | None:
    """Return which of its own an account's bearer gave beside the badge; None where it is neither."""
    if word.isdecimal() and is_secret(word, account.pin_hash):
        return "pin"
    return "secret" if is_secret(word, account.secret_hash) else None


def change_pin(account: Account, pin: str) -> None:
    """Give an account another PIN; an empty one takes it away.

    Raises:
        AccountRefused: no PIN, or one that anybody would try.
    """
    account.pin_hash = hashed_pin(pin) if pin else None


def renew_badge(account: Account) -> str:
    """Give an account a new badge and return its text, to be printed as a QR code; the old one is void."""
    badge = new_token()
    account.badge_sha256 = hashed_token(badge)
    return badge


def change_secret(account: Account, secret: str) -> None:
    """Give an account another secret.

    Raises:
        AccountRefused: too short or too long.
    """
    account.secret_hash = hashed_secret(secret)


def change_roles(session: Session, account: Account, roles: Collection[str]) -> None:
    """Give an account other roles.

    Raises:
        AccountRefused: an unknown role, none, or nobody would be left to keep accounts.
    """
    account.roles = _checked(roles)
    _keep_an_admin(session)


def close_account(session: Session, account: Account, now: datetime) -> None:
    """Let nobody sign in with an account any more; records keep its name.

    Raises:
        AccountRefused: nobody would be left to keep accounts.
    """
    account.closed_at = now
    _keep_an_admin(session)


def is_first_run(session: Session) -> bool:
    """Return whether nobody can keep accounts yet."""
    return not any("admin" in account.roles for account in _open_accounts(session))


def _keep_an_admin(session: Session) -> None:
    session.flush()
    if is_first_run(session):
        raise AccountRefused(
            "nobody would be left to keep accounts", remedy="make another account an admin first"
        )


def _open_accounts(session: Session) -> Sequence[Account]:
    return session.scalars(select(Account).where(Account.closed_at.is_(None))).all()


def _checked(roles: Collection[str]) -> list[str]:
    unknown = sorted(set(roles) - set(ROLES))
    if unknown or not roles:
        what = f"there is no role {unknown[0]!r}" if unknown else "no role was given"
        raise AccountRefused(what, expected=f"one or more of {', '.join(ROLES)}")
    ordered: list[Role] = [role for role in ROLES if role in roles]
    return [*ordered]
