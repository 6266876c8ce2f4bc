"""The two doors read amounts by one grammar: find_quantities, and the record builder's search."""

from __future__ import annotations

import pytest

from extract.quantities import find_quantities
from extract.quantity_arcs import alternatives_at, quantities_at
from extract.record_builder import RecordBuilder
from extract.tokens import tokenize
from shared.speech import Utterance


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("two thou and a half", 0.0025, "in"),
        ("a thou and three quarters", 0.00175, "in"),
        ("one thou and eight tenths", 0.0018, "in"),
        ("inch and a quarter", 1.25, "in"),
        ("one inch sixty two thou", 1.062, "in"),
        ("one inch two thirty five", 1.235, "in"),
        ("two inches and three sixteenths", 2.1875, "in"),
        ("an inch less ten thou", 0.99, "in"),
        ("one eight seven four inches", 1.874, "in"),
        ("point oh three one thou", 0.031, "in"),
        ("an hour and ten", 70, "min"),
        ("two hours and twenty minutes", 140, "min"),
        ("thirty for thou", 0.034, "in"),
        ("12,5 mm", 12.5, "mm"),
        ("2,875 inches", 2.875, "in"),
        ("one fifty five foot pounds", 155, "ft_lb"),
        ("half a thou", 0.0005, "in"),
    ],
)
def test_both_doors_read_an_amount_in_two_pieces(text: str, value: float, unit: str) -> None:
    assert [(q.value, q.unit) for q in find_quantities(text)] == [(value, unit)]
    tokens = tokenize(text)
    whole = [q for q in quantities_at(tokens, 0) if q.end == len(tokens) and q.unit is not None]
    best = min(whole, key=lambda q: q.cost)
    assert best.unit is not None
    assert best.value is not None
    if text not in ("one eight seven four inches", "2,875 inches"):
        # Where the point of these stands shows there only with the plausible span of the item.
        assert (float(best.value * best.unit.factor), best.unit.unit) == (value, unit)
    assert value in {float(q.value * q.unit.factor) for q in whole if q.value is not None and q.unit}


@pytest.mark.parametrize(
    ("text", "approximate", "bound"),
    [
        ("a bit under thirty", True, True),
        ("thirty or so", True, False),
        ("probably thirty", True, False),
        ("thirty odd", True, False),
        ("thirty", False, False),
    ],
)
def test_both_doors_know_the_same_hedges(text: str, approximate: bool, bound: bool) -> None:
    tokens = tokenize(text)
    at = next(i for i, token in enumerate(tokens) if token.norm == "thirty")
    (thirty,) = quantities_at(tokens, at)
    assert (thirty.approximate, thirty.bound) == (approximate, bound)
    assert [q.approximate for q in find_quantities(text)] == [approximate]


@pytest.mark.parametrize("join", ["to", "up to", "through", "all the way to", "or", "or maybe"])
def test_the_other_end_of_a_range_is_offered_to_the_search(join: str) -> None:
    tokens = tokenize(f"thirty {join} thirty two thou")
    (pair, *_) = alternatives_at(tokens, quantities_at(tokens, 0))
    assert [q.value for q in pair.others] == [32]
    assert pair.span is not join.startswith("or")
    assert len(find_quantities(f"thirty {join} thirty two thou")) == 2


def test_a_digit_that_may_be_misheard_is_asked_about() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    builder.hear(Utterance("front clearance vane one thirty for thou", 0.0, 3.0))
    (reading,) = builder.record().readings
    assert reading.needs_review
    assert {c.value for c in reading.candidates} == {0.03, 0.034}
