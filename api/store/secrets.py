"""Secrets and tokens: only their hashes are kept."""

from __future__ import annotations

import secrets
from hashlib import sha256

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from shared.errors import AccountRefused

#: Letters and digits; a long sentence is better than a short riddle, so nothing else is demanded of it.
SHORTEST, LONGEST = 10, 256
#: Of random tokens: 256 bits, beyond guessing, so that a plain hash keeps them.
_TOKEN_BYTES = 32

_HASHER = PasswordHasher()
#: Checked where there is no account, so that a wrong name takes as long as a wrong secret.
_NOBODYS = _HASHER.hash(secrets.token_urlsafe(_TOKEN_BYTES))


def hashed_secret(secret: str) -> str:
    """Return what is kept of a secret that a person chose (argon2id).

    Raises:
        AccountRefused: too short or too long.
    """
    if not SHORTEST <= len(secret) <= LONGEST:
        raise AccountRefused(
            f"a secret of {len(secret)} characters", expected=f"{SHORTEST} to {LONGEST}",
            remedy="take a sentence that only you would say",
        )  # fmt: skip
    return _HASHER.hash(secret)


def is_secret(secret: str, kept: str | None) -> bool:
    """Return whether this is the secret whose hash was kept; takes as long where none was."""
    try:
        return _HASHER.verify(kept or _NOBODYS, secret[: LONGEST + 1]) and kept is not None
    except (VerificationError, InvalidHashError):
        return False


def new_token() -> str:
    """Return a random token, fit for a cookie, a header or a QR code."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def hashed_token(token: str) -> str:
    """Return what is kept of a random token."""
    return sha256(token.encode()).hexdigest()
