"""Whatever is typed, a shop calculation answers or refuses in its own words; nothing else is raised."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.shop.amounts import SHOP_UNITS, Amount, converted, parse_amount, parse_number, unit_named
from extract.shop.fits import hole_zone, shaft_zone
from extract.shop.grades import grade_for
from extract.shop.threads import parse_thread
from extract.shop.wear_ring import least_clearance
from shared.errors import RebuildError

#: Pieces of what is really typed, so that the search gets past the first character.
PIECES = st.lists(
    st.sampled_from(
        ["M12", "x1.25", "5/8", "-11", " UNC", "1/2", "1e99", "-", " ", "µm", "in", '"', "·", "ft", "lb",
         "H7", "k6", "8.8", "J429", "grade", "½", "\u0000", "９", "0", "1", "/0", ".", ","]
    ),
    max_size=8,
).map("".join)  # fmt: skip
TEXT = st.one_of(PIECES, st.text(max_size=60))


def quiet(work: Callable[[], object]) -> None:
    with suppress(RebuildError):
        work()


@given(TEXT)
def test_any_text_is_read_or_refused(text: str) -> None:
    quiet(lambda: parse_amount(text))
    quiet(lambda: parse_number(text))
    quiet(lambda: unit_named(text))
    quiet(lambda: parse_thread(text))
    quiet(lambda: grade_for(text, parse_thread("M12")))
    quiet(lambda: hole_zone(Fraction(50), text))
    quiet(lambda: shaft_zone(Fraction(50), text))


@pytest.mark.parametrize("unit", list(SHOP_UNITS))
def test_every_unit_goes_there_and_back_exactly(unit: str) -> None:
    kind = SHOP_UNITS[unit][0]
    for other in (name for name, (theirs, _) in SHOP_UNITS.items() if theirs == kind):
        value = Fraction("12.345")
        assert converted(converted(value, unit, other), other, unit) == value


@given(st.decimals(min_value=0, max_value=10**6, places=4), st.sampled_from(["in", "mm", "thou", "um"]))
def test_an_amount_is_read_as_it_was_printed(value: object, unit: str) -> None:
    assert parse_amount(f"{value} {unit}", "length") == Amount(Fraction(str(value)), unit)


@given(st.fractions(min_value=0, max_value=1000))
def test_a_ring_clearance_grows_with_its_ring(diameter: Fraction) -> None:
    try:
        least = least_clearance(diameter)
        larger = least_clearance(diameter + 25)
    except RebuildError:
        return
    assert least.clearance_mm <= larger.clearance_mm + Fraction("0.01")
