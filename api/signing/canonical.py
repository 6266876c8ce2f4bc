"""The one spelling of a JSON value: the bytes that are hashed and signed.

RFC 8785 (JSON Canonicalization Scheme) sorts the keys, drops all space and writes numbers as ECMAScript
does, so that whoever has the value has the bytes. Its numbers are IEEE doubles; a measurement must not
hang on how a program prints those, so fractions become decimal strings first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Any

import rfc8785

from shared.errors import SigningError

#: Beyond it not every whole number is a double (RFC 8785, appendix D; RFC 7493, section 2.2).
MOST_INTEGER = 2**53 - 1


def canonical_bytes(value: Any) -> bytes:
    """Return the canonical UTF-8 bytes of a JSON value, fractions as decimal strings.

    Args:
        value: dict, list, string, number, boolean or None, nested.

    Raises:
        SigningError: something in it is no JSON, not finite, or a whole number beyond 2**53 - 1.

    Source: RFC 8785, section 3.2.
    """
    try:
        return rfc8785.dumps(decimal_strings(value))
    except rfc8785.CanonicalizationError as exc:
        raise SigningError(f"this cannot be put into canonical JSON: {exc}", expected="plain JSON") from exc


def canonical_sha256(value: Any) -> str:
    """Return SHA-256 over the canonical bytes of a JSON value, as hexadecimal digits."""
    return sha256(canonical_bytes(value)).hexdigest()


def decimal_strings(value: Any) -> Any:
    """Return a JSON value with every fraction as the shortest decimal string that reads back the same.

    Whole numbers stay numbers only where they are integers already: ``1.0`` becomes "1.0" and so differs
    from ``1``, as it does in the record's own JSON.

    Raises:
        SigningError: infinity or not a number.
    """
    if isinstance(value, float):
        if not math.isfinite(value):
            raise SigningError(f"{value} is no measurement", expected="a finite number")
        return repr(value)
    if isinstance(value, Mapping):
        return {key: decimal_strings(one) for key, one in value.items()}
    if isinstance(value, Sequence) and not isinstance(value, str | bytes):
        return [decimal_strings(one) for one in value]
    return value
