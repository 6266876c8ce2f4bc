"""The comparison of find_quantities with chains of general libraries."""

from __future__ import annotations

import pytest

from bench.quantities import TABLES, ours, read_phrases, same_amount, score_chain
from bench.quantity_chains import figures_with_units, installed_chains, missing_chains


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("31 thou", [(31.0, "thou")]),
        ("155 ft-lbs", [(155.0, "foot_pound")]),
        ("1,750 rpm and 4.5 mm/s", [(1750.0, "revolutions_per_minute"), (4.5, "millimeter / second")]),
        ("30 newton metres", [(30.0, "meter * newton")]),
        ("vane 3", [(3.0, None)]),
    ],
)
def test_a_chain_offers_what_stands_behind_figures_to_pint(
    text: str, found: list[tuple[float, str | None]]
) -> None:
    assert figures_with_units(text) == found


@pytest.mark.parametrize(
    ("found", "said", "same"),
    [
        ((31.0, "thou"), (0.031, "in"), True),
        ((155.0, "foot_pound"), (155.0, "ft_lb"), True),
        ((31.0, None), (31.0, None), True),
        ((31.0, None), (0.031, "in"), False),
        ((31.0, "second"), (0.031, "in"), False),
        ((30.0, "thou"), (0.031, "in"), False),
    ],
)
def test_an_amount_is_the_same_in_whatever_unit(
    found: tuple[float, str | None], said: tuple[float | None, str | None], same: bool
) -> None:
    assert same_amount(found, said) is same


def test_exact_and_wrong_are_counted_by_phrase_and_by_value() -> None:
    phrases = [row for row in read_phrases(TABLES["held out"]) if "twenty one thou" in row.words][:1]
    assert score_chain(ours, phrases, printed=False) == {"exact_percent": 100.0, "wrong": 0}
    assert score_chain(lambda _: [], phrases, printed=False) == {"exact_percent": 0.0, "wrong": 0}
    assert score_chain(lambda _: [(5.0, "thou")], phrases, printed=True) == {"exact_percent": 0.0, "wrong": 1}


def test_every_chain_is_measured_or_named_as_missing() -> None:
    assert {"text2num + pint", "word2number + pint", "quantulum3"} == {*installed_chains(), *missing_chains()}
