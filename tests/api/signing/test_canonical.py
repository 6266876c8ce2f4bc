"""Canonical JSON against the RFC's own vectors, and what of it is ours."""

from __future__ import annotations

import math
import struct

import pytest
import rfc8785

from api.signing.canonical import MOST_INTEGER, canonical_bytes, canonical_sha256, decimal_strings
from shared.errors import SigningError


@pytest.mark.parametrize(
    ("bits", "printed"),
    [
        # RFC 8785, appendix B: IEEE 754 bits and ECMAScript's number.
        ("0000000000000000", "0"),
        ("8000000000000000", "0"),
        ("0000000000000001", "5e-324"),
        ("8000000000000001", "-5e-324"),
        ("7fefffffffffffff", "1.7976931348623157e+308"),
        ("4340000000000000", "9007199254740992"),
        ("c340000000000000", "-9007199254740992"),
        ("4430000000000000", "295147905179352830000"),
        ("44b52d02c7e14af5", "9.999999999999997e+22"),
        ("44b52d02c7e14af6", "1e+23"),
        ("44b52d02c7e14af7", "1.0000000000000001e+23"),
        ("444b1ae4d6e2ef4e", "999999999999999700000"),
        ("444b1ae4d6e2ef4f", "999999999999999900000"),
        ("444b1ae4d6e2ef50", "1e+21"),
        ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
        ("3eb0c6f7a0b5ed8d", "0.000001"),
        ("41b3de4355555553", "333333333.3333332"),
        ("41b3de4355555554", "333333333.33333325"),
        ("41b3de4355555555", "333333333.3333333"),
        ("41b3de4355555556", "333333333.3333334"),
        ("41b3de4355555557", "333333333.33333343"),
        ("becbf647612f3696", "-0.0000033333333333333333"),
        ("43143ff3c1cb0959", "1424953923781206.2"),
    ],
)
def test_the_library_prints_numbers_as_the_rfc_does(bits: str, printed: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert rfc8785.dumps(number).decode() == printed


def test_keys_are_sorted_as_in_the_rfc() -> None:
    # RFC 8785, section 3.2.3: sorted by UTF-16 code units.
    value = {
        "€": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
        "\U0001f600": "Emoji: Grinning Face", "\u0080": "Control", "ö": "Latin Small Letter O With Diaeresis",
    }  # fmt: skip
    printed = canonical_bytes(value).decode()
    order = ["Carriage Return", "One", "Control", "Latin Small", "Euro Sign", "Emoji", "Hebrew"]
    assert sorted(order, key=printed.index) == order


def test_strings_are_escaped_as_in_the_rfc() -> None:
    # RFC 8785, section 3.2.2: the sample's string and its literals.
    value = {"string": '€$\x0f\nA\'B"\\\\"/', "literals": [None, True, False]}
    wanted = '{"literals":[null,true,false],"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert canonical_bytes(value) == wanted.encode()


@pytest.mark.parametrize(
    ("number", "said"), [(0.031, "0.031"), (1.0, "1.0"), (1e-7, "1e-07"), (0.1 + 0.2, "0.30000000000000004")]
)
def test_a_fraction_is_a_decimal_string_that_reads_back_the_same(number: float, said: str) -> None:
    assert decimal_strings({"value": [number]}) == {"value": [said]}
    assert float(said) == number


def test_a_changed_measurement_changes_the_hash() -> None:
    assert canonical_sha256({"value": 0.031}) != canonical_sha256({"value": 0.0310000000000001})
    assert canonical_sha256({"a": 1, "b": 2}) == canonical_sha256({"b": 2, "a": 1})


@pytest.mark.parametrize("value", [math.inf, math.nan, MOST_INTEGER + 1, {1: 2}, object(), "\ud800"])
def test_what_has_no_canonical_form_is_refused(value: object) -> None:
    with pytest.raises(SigningError):
        canonical_bytes(value)
