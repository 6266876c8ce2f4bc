"""Intervals, lines and tests of the lessons pages against what others published and computed."""

from __future__ import annotations

import numpy as np
import pytest
from statsmodels.regression.linear_model import WLS
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint

from api.statistics.chance import holm, more_often, tarone, trend_of_shares, two_sided
from api.statistics.fitted_line import fitted_line, trend_of
from api.statistics.intervals import wilson

#: NIST Statistical Reference Datasets, linear regression, "Norris" (36 observations, lower difficulty), with
#: the certified values; read in the copies that several open programs carry as their own tests.
NORRIS_X = (
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9,
    338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0,
    11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
)  # fmt: skip
NORRIS_Y = (
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8,
    339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9,
    10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
)  # fmt: skip


@pytest.mark.parametrize(
    ("count", "total", "low", "high"),
    [
        # R. G. Newcombe, Statistics in Medicine 17 (1998) 857, Table I, method 3; read in the tests of
        # several open programs that quote it.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_wilson_intervals_are_those_of_the_published_table(
    count: int, total: int, low: float, high: float
) -> None:
    found = wilson(count, total)
    assert (found.low, found.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@pytest.mark.parametrize("total", [1, 2, 7, 30, 1000])
@pytest.mark.parametrize("level", [0.8, 0.95, 0.99])
def test_wilson_intervals_are_those_of_statsmodels(total: int, level: float) -> None:
    for count in {0, 1, total // 3, total // 2, total - 1, total}:
        expected = proportion_confint(count, total, alpha=1 - level, method="wilson")
        found = wilson(count, total, level)
        assert (found.low, found.high) == pytest.approx(expected, abs=1e-12)


def test_a_line_through_norris_has_the_certified_values() -> None:
    line = fitted_line(NORRIS_X, NORRIS_Y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.intercept_error == pytest.approx(0.232818234301152, rel=1e-11)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-11)
    assert line.residual_deviation == pytest.approx(0.884796396144373, rel=1e-11)
    assert line.freedom == 34


def test_a_line_far_from_zero_keeps_its_digits() -> None:
    # Norris, moved by a million: the slope and its error must not change.
    line = fitted_line([1e6 + x for x in NORRIS_X], [y - 1e6 for y in NORRIS_Y])
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-7)


def test_the_chance_of_a_weak_trend_is_that_of_statsmodels() -> None:
    x, y = [0.0, 1.0, 2.0, 3.0, 4.0], [1.0, 1.4, 0.9, 1.3, 1.5]
    found = trend_of(x, y)
    assert found is not None
    fit = WLS(y, np.column_stack([np.ones_like(x), x])).fit()
    assert 0.1 < found.chance == pytest.approx(float(fit.pvalues[1]), rel=1e-9)


@pytest.mark.parametrize(("x", "y"), [([], []), ([1.0, 2.0], [1.0, 2.0]), ([5.0, 5.0, 5.0], [1.0, 2.0, 3.0])])
def test_too_little_makes_no_trend(x: list[float], y: list[float]) -> None:
    assert trend_of(x, y) is None


def test_points_of_two_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="3 places for 2 values"):
        trend_of([1.0, 2.0, 3.0], [1.0, 2.0])


def test_a_weighted_line_its_intervals_and_band_are_those_of_statsmodels() -> None:
    draw = np.random.default_rng(5)
    x, weights = draw.uniform(0, 3, 24), draw.integers(1, 40, 24).astype(float)
    y = 0.1 + 0.05 * x + draw.normal(0, 0.2, 24) / np.sqrt(weights)
    fit = WLS(y, np.column_stack([np.ones_like(x), x]), weights=weights).fit()
    line = fitted_line(list(x), list(y), list(weights))
    assert (line.intercept, line.slope) == pytest.approx(tuple(fit.params), rel=1e-10)
    assert (line.intercept_error, line.slope_error) == pytest.approx(tuple(fit.bse), rel=1e-10)
    assert line.chance == pytest.approx(fit.pvalues[1], rel=1e-9)
    found = line.slope_interval()
    assert (found.low, found.high) == pytest.approx(tuple(fit.conf_int()[1]), rel=1e-9)
    band = fit.get_prediction([[1.0, 2.5]]).conf_int()[0]
    assert (line.band(2.5).low, line.band(2.5).high) == pytest.approx(tuple(band), rel=1e-9)


def test_shares_along_a_scale_have_the_textbooks_trend() -> None:
    # Drinks a day and malformations (Mills and Graubard 1987) as in A. Agresti, Categorical Data Analysis:
    # scores 0, 0.5, 1.5, 4, 7 give M² = 6.57, P = 0.010. Data read in stored copies, M² from memory.
    present, absent = (48, 38, 5, 1, 1), (17066, 14464, 788, 126, 37)
    totals = [one + other for one, other in zip(present, absent, strict=True)]
    z = trend_of_shares((0, 0.5, 1.5, 4, 7), present, totals)
    assert z**2 == pytest.approx(6.57, abs=0.005)
    assert two_sided(z) == pytest.approx(0.010, abs=0.0005)


@pytest.mark.parametrize(
    ("table", "chance"),
    [
        ((3, 4, 1, 4), 17 / 70),  # Fisher's lady tasting tea: three of four right
        ((4, 4, 0, 4), 1 / 70),  # all four right
        ((0, 9, 3, 9), 1.0),
    ],
)
def test_more_often_is_fishers_exact_test(table: tuple[int, int, int, int], chance: float) -> None:
    assert more_often(*table) == pytest.approx(chance, rel=1e-12)


def test_more_often_is_scipys_exact_test_on_large_tables() -> None:
    from scipy.stats import fisher_exact

    draw = np.random.default_rng(8)
    for _ in range(60):
        total, other = (int(n) for n in draw.integers(1, 4000, 2))
        count, other_count = int(draw.binomial(total, 0.1)), int(draw.binomial(other, 0.07))
        table = [[count, total - count], [other_count, other - other_count]]
        expected = fisher_exact(table, alternative="greater").pvalue
        assert more_often(count, total, other_count, other) == pytest.approx(expected, rel=1e-7, abs=1e-300)


def test_holm_points_out_what_the_published_example_does() -> None:
    # Y. Benjamini, Y. Hochberg, J. R. Statist. Soc. B 57 (1995) 289, their 15 chances: procedures that bound
    # the chance of any error reject the first three at 0.05 (from memory).
    chances = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
        0.6528, 0.7590, 1.0,
    ]  # fmt: skip
    assert [one <= 0.05 for one in holm(chances)] == [True] * 3 + [False] * 12


def test_holm_is_that_of_statsmodels() -> None:
    chances = list(np.random.default_rng(3).uniform(0, 0.2, 40) ** 2)
    assert holm(chances) == pytest.approx(list(multipletests(chances, method="holm")[1]), rel=1e-12)
    assert holm([]) == []


@pytest.mark.parametrize(
    ("chances", "least", "out"),
    [
        # Nine tests that could never come below 0.05 do not cost the tenth anything (R. E. Tarone, Biometrics
        # 46 (1990) 515, the principle; from memory): Bonferroni and Holm ask for 0.005 there.
        ([0.02] + [0.3] * 9, [0.001] + [0.2] * 9, {0}),
        # Where all could, it is Bonferroni.
        ([0.02] + [0.3] * 9, [0.0001] * 10, set()),
        ([0.004] + [0.3] * 9, [0.0001] * 10, {0}),
        ([0.04], [0.04], {0}),
        ([], [], set()),
    ],
)
def test_tests_that_could_raise_no_alarm_are_not_counted(
    chances: list[float], least: list[float], out: set[int]
) -> None:
    assert tarone(chances, least, 0.05) == out


def test_tarone_points_out_no_oftener_than_it_says() -> None:
    draw = np.random.default_rng(21)
    alarms = 0
    for _ in range(300):
        cases = draw.binomial(60, 0.08, (30, 2))
        tests = [(more_often(int(a), 60, int(b), 60), more_often(int(a + b), 60, 0, 60)) for a, b in cases]
        alarms += bool(tarone([one for one, _ in tests], [one for _, one in tests], 0.05))
    # 15 at most are to be expected; 26 would come up less than once in a hundred such runs.
    assert alarms <= 25
