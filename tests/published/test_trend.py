"""Trends against NIST's certified values, their intervals against another program."""

from __future__ import annotations

import pytest

from api.statistics.trend import Trend, trend_of

# NIST Statistical Reference Datasets, linear regression, Norris (calibration of ozone monitors), 36 points.
NORRIS_X = [
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
    447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3,
    229.2, 669.1, 448.9, 0.5,
]  # fmt: skip
NORRIS_Y = [
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
    448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6,
    228.9, 668.4, 449.2, 0.2,
]  # fmt: skip


@pytest.fixture(scope="module")
def norris() -> Trend:
    found = trend_of(NORRIS_X, NORRIS_Y)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("figure", "certified"),
    [
        # NIST StRD, Norris: certified values
        ("intercept", -0.262323073774029),
        ("slope", 1.00211681802045),
        ("intercept_se", 0.232818234301152),
        ("slope_se", 0.429796848199937e-03),
        ("residual_sd", 0.884796396144373),
    ],
)
def test_a_trend_is_what_is_certified(norris: Trend, figure: str, certified: float) -> None:
    assert getattr(norris, figure) == pytest.approx(certified, rel=1e-9)


def test_intervals_are_those_of_another_program(norris: Trend) -> None:
    sm = pytest.importorskip("statsmodels.api")
    fitted = sm.OLS(NORRIS_Y, sm.add_constant(NORRIS_X)).fit()
    assert norris.slope_interval() == pytest.approx(tuple(fitted.conf_int()[1]), rel=1e-9)
    assert norris.p_value == pytest.approx(float(fitted.pvalues[1]), abs=1e-12)
    told = fitted.get_prediction([[1.0, 500.0]]).summary_frame(alpha=0.05).iloc[0]
    assert norris.line_interval(500) == pytest.approx((told["mean_ci_lower"], told["mean_ci_upper"]))
    assert norris.next_interval(500) == pytest.approx((told["obs_ci_lower"], told["obs_ci_upper"]))


def test_p_value_of_a_weak_trend_is_that_of_another_program() -> None:
    sm = pytest.importorskip("statsmodels.api")
    xs, ys = [0.0, 1.0, 2.0, 3.0, 4.0], [1.0, 1.4, 0.9, 1.3, 1.5]
    found = trend_of(xs, ys)
    assert found is not None
    fitted = sm.OLS(ys, sm.add_constant(xs)).fit()
    assert 0.1 < found.p_value == pytest.approx(float(fitted.pvalues[1]), rel=1e-9)


@pytest.mark.parametrize(
    ("xs", "ys"), [([], []), ([1.0, 2.0], [1.0, 2.0]), ([5.0, 5.0, 5.0], [1.0, 2.0, 3.0])]
)
def test_too_little_makes_no_trend(xs: list[float], ys: list[float]) -> None:
    assert trend_of(xs, ys) is None


def test_points_of_two_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="3 places for 2 values"):
        trend_of([1.0, 2.0, 3.0], [1.0, 2.0])
