"""Print any value in any spoken or printed style, and read it back."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.numbers import numbers_at
from extract.quantities import find_quantities
from extract.tokens import tokenize
from tests.extract.speaking import STYLES

_SEED = 20_251_125
_VALUES = 10_500
#: Units in which each kind of value is usual, and how they are said.
_UNITS = {"mm": "millimetres", "N_m": "newton metres", "um": "microns"}


def bench_values(count: int) -> Iterator[Fraction]:
    """Values as benches have them: counts, thousandths, tenths of them, inch fractions, halves."""
    rng = random.Random(_SEED)
    for _ in range(count):
        kind = rng.randrange(6)
        if kind == 0:
            yield Fraction(rng.randrange(10_000))
        elif kind == 1:
            yield Fraction(rng.randrange(1, 10_000), 10_000)
        elif kind == 2:
            yield Fraction(rng.randrange(1, 3_000_000), rng.choice([1000, 10_000]))
        elif kind == 3:
            yield rng.randrange(60) + Fraction(rng.randrange(1, 64), 64)
        elif kind == 4:
            yield Fraction(rng.randrange(1, 200), rng.choice([2, 4, 8, 10, 100]))
        else:
            yield Fraction(rng.randrange(100, 1000))


@pytest.mark.long
def test_every_value_reads_back_in_every_style() -> None:
    said: Counter[str] = Counter()
    lost: list[tuple[str, str]] = []
    for value in bench_values(_VALUES):
        for name, style in STYLES.items():
            text = style(value)
            if text is None:
                continue
            said[name] += 1
            tokens = tokenize(text)
            if not any(r.end == len(tokens) and r.value == value for r in numbers_at(tokens, 0)):
                lost.append((name, text))
    assert not lost
    assert set(said) == set(STYLES)
    assert min(said.values()) > 300


@pytest.mark.long
def test_each_value_with_its_unit_is_found_as_said() -> None:
    rng = random.Random(_SEED)
    wrong: list[tuple[str, object]] = []
    for value in bench_values(_VALUES):
        name, text = rng.choice(
            [(n, text) for n, style in STYLES.items() if (text := style(value)) is not None]
        )
        if name in ("thousandths", "print_thousandths"):
            unit, phrase = "in", text
        elif name == "pairs_run_on":
            unit, phrase = "rpm", f"{text} r p m"
        else:
            unit = rng.choice(list(_UNITS))
            phrase = f"{text} {_UNITS[unit]}"
        found = [(quantity.value, quantity.unit) for quantity in find_quantities(phrase)]
        if found != [(float(value), unit)] and not _may_be_a_misprint(name, value, unit):
            wrong.append((phrase, found))
    assert not wrong


def _may_be_a_misprint(style: str, value: Fraction, unit: str) -> bool:
    """Leave out figures that are odd for their unit and may stand for a number run on."""
    return style == "print_plain" and unit == "N_m" and value < 1


@given(st.fractions(min_value=0, max_value=9999, max_denominator=64), st.sampled_from(sorted(STYLES)))
def test_any_value_that_can_be_said_so_reads_back(value: Fraction, name: str) -> None:
    text = STYLES[name](value)
    if text is not None:
        tokens = tokenize(text)
        assert any(r.end == len(tokens) and r.value == value for r in numbers_at(tokens, 0))
