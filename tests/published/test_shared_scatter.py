"""Trends of alike things judged together: the limits that moderated t must reach, and how often it errs."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from api.statistics.chance import holm
from api.statistics.fitted_line import FittedLine, trend_of
from api.statistics.shared_scatter import LEAST, chances_of, step_of


def trends(
    rng: np.random.Generator, spreads: list[float], *, gross: float = 0.0, n: int = 10
) -> list[FittedLine]:
    found = []
    for spread in spreads:
        x = np.sort(rng.uniform(0, 30, n))
        y = rng.normal(0, spread, n) + np.where(rng.random(n) < gross, 8 * spread, 0)
        one = trend_of(list(x), list(y))
        assert one is not None
        found.append(one)
    return found


def test_of_few_nothing_is_shared() -> None:
    # With nothing known of the others it is the ordinary t-test (NIST-checked in test_rates.py).
    some = trends(np.random.default_rng(1), [1.0] * (LEAST - 1))
    assert chances_of(some, 0.0) == pytest.approx([one.chance for one in some])


def test_where_all_scatter_alike_it_is_known_as_by_a_normal_deviate() -> None:
    # The limit of Smyth's section 3: a prior worth everything makes t normal.
    rng = np.random.default_rng(2)
    some = trends(rng, [1.0] * 400)
    clear = [one for one in some if one.residual_deviation < 1.0]
    found = dict(zip((id(one) for one in some), chances_of(some, 0.0), strict=True))
    for one in clear[:20]:
        z = abs(one.slope) * np.sqrt(one.squares)
        assert found[id(one)] == pytest.approx(2 * stats.norm.sf(z), abs=0.02)


def test_where_each_has_its_own_scatter_little_is_shared() -> None:
    rng = np.random.default_rng(3)
    some = trends(rng, list(np.exp(rng.normal(0, 3, 60))))
    found = list(zip(some, chances_of(some, 0.0), strict=True))
    # Nobody is made much surer; who scatters less than most is made less sure.
    assert all(chance > one.chance - 0.05 for one, chance in found)
    middle = np.median([one.residual_deviation for one in some])
    much = [(chance, one.chance) for one, chance in found if one.residual_deviation > middle]
    assert [chance for chance, _ in much] == pytest.approx([own for _, own in much], abs=0.1)


@pytest.mark.parametrize("gross", [0.0, 0.02, 0.05])
def test_scatter_is_seldom_called_a_trend(gross: float) -> None:
    rng = np.random.default_rng(5)
    types = 150
    wrong = sum(min(holm(chances_of(trends(rng, [1.0] * 12, gross=gross), 0.0))) < 0.01 for _ in range(types))
    # One page in a hundred is allowed; six of 150 would come by that in fewer than one run of a hundred.
    assert wrong <= 5


def test_a_scatter_finer_than_the_gauge_reads_is_none_that_was_seen() -> None:
    # Three readings in a row on a line by rounding alone: no certainty.
    lines = [trend_of([0.0, 1.0, 2.0], [0.1, 0.2, 0.3])] * 2
    chances = chances_of([one for one in lines if one is not None], step_of([0.1, 0.2, 0.3]))
    assert min(chances) > 0.05
