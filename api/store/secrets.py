"""Secrets and tokens: only their hashes are kept."""

from __future__ import annotations

import secrets
from hashlib import sha256
from itertools import pairwise

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from shared.errors import AccountRefused

#: Letters and digits; a long sentence is better than a short riddle, so nothing else is demanded of it.
SHORTEST, LONGEST = 10, 256
#: Of a PIN: figures that are typed in gloves. So short a secret is only as good as the wait after wrong ones
#: (api/web/attempts.py), so it is asked for beside a badge and opens nothing else.
SHORTEST_PIN, LONGEST_PIN = 6, 12
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


def hashed_pin(pin: str) -> str:
    """Return what is kept of a PIN that a person chose (argon2id).

    Raises:
        AccountRefused: too short, too long, more than figures, or one of the first that anybody tries.
    """
    figures = pin.isascii() and pin.isdecimal() and SHORTEST_PIN <= len(pin) <= LONGEST_PIN
    steps = {int(after) - int(before) for before, after in pairwise(pin)} if figures else {0}
    if not figures or steps in ({0}, {1}, {-1}):
        raise AccountRefused(
            "figures of one kind or in their order" if figures else "this is no PIN",
            expected=f"{SHORTEST_PIN} to {LONGEST_PIN} figures", remedy="take some that nobody would try",
        )  # fmt: skip
    return _HASHER.hash(pin)


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
