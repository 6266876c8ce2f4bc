"""What a page points out is no chance; what chance makes is not pointed out."""

from __future__ import annotations

import numpy as np
import pytest

from api.lessons.counted import Groups, Tally, Told
from api.lessons.figures import commonest, figures_of, key_words
from api.lessons.rate_trend import Month, rate_trend

CREWS = ("north", "south", "night")
MONTHS = [f"{2022 + n // 12}-{n % 12 + 1:02d}" for n in range(36)]


def page(
    draw: np.random.Generator, shares: dict[str, float], rise: float = 0.0, one_crew: float | None = None
) -> tuple[Told, Groups]:
    """Draw three years of 15 rebuilds a month; ``step:0`` may rise by the year or be one crew's."""
    told: Told = {}
    groups: Groups = {}
    for key, share in shares.items():
        months, tally = [], dict.fromkeys(CREWS, (0, 0))
        for n, month in enumerate(MONTHS):
            lacking = 0
            for crew in CREWS:
                here = share + (rise * n / 12 if key == "0" else 0.0)
                if key == "0" and one_crew is not None and crew == "night":
                    here = one_crew
                seen = int(draw.binomial(5, min(1.0, here)))
                tally[crew] = (tally[crew][0] + 5, tally[crew][1] + seen)
                lacking += seen
            months.append(Month(month, 15, lacking))
        told["step", key] = months
        groups["step", key] = {crew: Tally(*both) for crew, both in tally.items()}
    return told, groups


def shares_of(draw: np.random.Generator, count: int) -> dict[str, float]:
    return {str(n): float(share) for n, share in enumerate(draw.uniform(0.005, 0.4, count))}


def test_chance_alone_is_pointed_out_on_one_page_in_a_hundred_at_most() -> None:
    draw = np.random.default_rng(11)
    alarms = 0
    for _ in range(100):
        told, groups = page(draw, shares_of(draw, 20))
        alarms += any(one.changes or one.groups for one in figures_of(told, groups, CREWS))
    # One expected; four or more would come up twice in a hundred such tests.
    assert alarms <= 3


def test_a_step_forgotten_by_one_crew_is_found_and_nothing_else() -> None:
    draw = np.random.default_rng(12)
    shares = shares_of(draw, 60) | {"0": 0.04}
    told, groups = page(draw, shares, one_crew=0.3)
    found = figures_of(told, groups, CREWS)
    assert [(one.key, one.groups) for one in found if one.groups] == [("0", ("night",))]
    assert commonest(found, "step", 5)[0].key == "0"
    # A crew of one or two people is not compared.
    assert not [one for one in figures_of(told, groups, ("north", "south")) if one.groups]


def test_a_rate_that_rises_is_found_with_its_slope() -> None:
    draw = np.random.default_rng(13)
    told, groups = page(draw, shares_of(draw, 60) | {"0": 0.05}, rise=0.09)
    changing = [one for one in figures_of(told, groups, CREWS) if one.changes]
    assert [one.key for one in changing] == ["0"]
    assert changing[0].rises
    assert changing[0].trend is not None
    known = changing[0].trend.line.slope_interval()
    assert known.low < 0.09 < known.high


@pytest.mark.parametrize(
    "months",
    [
        [],
        [Month(one, 10, 5) for one in MONTHS[:5]],
        [Month(one, 10, int(one == MONTHS[3])) for one in MONTHS],
        [Month("", 500, 250)],
    ],
    ids=["nothing", "five months", "one case", "no date"],
)
def test_of_too_little_no_trend_is_told(months: list[Month]) -> None:
    assert rate_trend(months) is None


def test_a_rate_that_stays_has_a_slope_of_nothing() -> None:
    trend = rate_trend([Month(one, 10, 5) for one in MONTHS])
    assert trend is not None
    assert (trend.line.slope, trend.chance) == (0.0, 1.0)


@pytest.mark.parametrize(
    ("kind", "key", "words"),
    [
        ("step", "rotate_by_hand", "Rotate by hand"),
        ("reading", "front_clearance@1", "Front clearance, 1"),
        ("corrected", "reading:front_clearance@seal_area", "Front clearance, seal area"),
        ("corrected", "part:seal", "Seal (part)"),
    ],
)
def test_keys_of_the_roll_up_are_told_in_words(kind: str, key: str, words: str) -> None:
    assert key_words(kind, key) == words


def test_nothing_filed_gives_no_figures() -> None:
    assert figures_of({}, {}, CREWS) == []
