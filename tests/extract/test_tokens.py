"""One token stream for words and print."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.tokens import tokenize


@pytest.mark.parametrize(
    ("text", "norms"),
    [
        ('Vane 3, 0.031"', ["vane", "3", ",", "0.031", '"']),
        ("one's thirty", ["one", "'s", "thirty"]),
        ("two’s", ["two", "'s"]),
        ("don't", ["don't"]),
        ("five o'clock", ["five", "o'clock"]),
        ("5'clock", ["5", "o'clock"]),
        ("31thou", ["31", "thou"]),
        ("0.031in", ["0.031", "in"]),
        ("110C", ["110", "c"]),
        ("110°C", ["110", "°", "c"]),
        ("20psi", ["20", "psi"]),
        ("M12", ["m12"]),
        ("30,000ths", ["30,000ths"]),
        ("1-7/8", ["1", "-", "7", "/", "8"]),
        ("31-thou shim", ["31", "thou", "shim"]),
        ("twenty-one", ["twenty", "one"]),
        ("155 ft-lbs", ["155", "ft", "lbs"]),
        ("W-208", ["w", "-", "208"]),
        ("1.3745.", ["1.3745", "."]),
        ("30½", ["30", "½"]),
        (".031", [".031"]),
        ("1,750", ["1,750"]),
        ("±8", ["±", "8"]),
        ("+/- 8", ["±", "8"]),
        ("66–74", ["66", "-", "74"]),
        ("−1.5", ["-", "1.5"]),
        ("25 μm", ["25", "µm"]),
        ("7/32nds", ["7", "/", "32nds"]),
        ("Vane 3.031 and", ["vane", "3", ".031", "and"]),
        ("bore 3.031 and", ["bore", "3.031", "and"]),
        ("", []),
        (" \n\t", []),
    ],
)
def test_text_is_cut_into(text: str, norms: list[str]) -> None:
    assert [token.norm for token in tokenize(text)] == norms


@given(st.text(max_size=200))
def test_tokens_stand_where_they_say_in_any_text(text: str) -> None:
    tokens = tokenize(text)
    assert all(text[token.start : token.end] == token.text and token.norm for token in tokens)
    assert all(first.end <= second.start for first, second in itertools.pairwise(tokens))


@given(st.text(max_size=200))
def test_nothing_but_white_space_and_joining_hyphens_is_left_out(text: str) -> None:
    inside = {i for token in tokenize(text) for i in range(token.start, token.end)}
    left = "".join(char for i, char in enumerate(text) if i not in inside)
    assert not left.replace("-", "").replace("‐", "").replace("‑", "").strip()
