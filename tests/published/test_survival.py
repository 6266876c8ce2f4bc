"""How long things last, some still running: published worked examples, and another program."""

from __future__ import annotations

import math

import pytest

from api.statistics.survival import Survival, survival_of


def lasted(text: str) -> tuple[list[float], list[bool]]:
    """Read spans as textbooks write them: 6+ still runs after 6."""
    words = text.split()
    return [float(one.rstrip("+")) for one in words], [not one.endswith("+") for one in words]


def found_in(text: str) -> Survival:
    found = survival_of(*lasted(text))
    assert found is not None
    return found


#: Remission in weeks under 6-mercaptopurine, Freireich et al., Blood 21 (1963) 699, 21 patients.
TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
#: The same trial, placebo: nobody left it, as in Cox and Oakes, Analysis of Survival Data (1984), table 1.1.
PLACEBO = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"


def test_shares_are_those_of_a_worked_example() -> None:
    # Bewick, Cheek and Ball, Statistics review 12: survival analysis, Critical Care 8 (2004) 389, table 2
    found = found_in("1 1 4 5 6+ 9 9+ 22")
    told = {1: 0.750, 4: 0.625, 5: 0.500, 9: 0.333, 22: 0.0}
    assert {t: round(found.share_after(t), 3) for t in told} == told
    assert found.median == 5
    assert (found.spans, found.ended) == (8, 6)


@pytest.mark.parametrize(
    ("week", "share"),
    # The usual table of this trial (e.g. Kleinbaum and Klein, Survival Analysis, ch. 2), to four places
    [(6, 0.8571), (7, 0.8067), (10, 0.7529), (13, 0.6902), (16, 0.6275), (22, 0.5378), (23, 0.4482)],
)
def test_shares_of_a_trial_with_many_that_still_run(week: float, share: float) -> None:
    assert found_in(TREATED).share_after(week) == pytest.approx(share, abs=5e-5)


def test_median_of_the_trial() -> None:
    # Kleinbaum and Klein, same chapter: median remission 23 weeks treated, 8 weeks placebo
    assert found_in(TREATED).median == 23
    assert found_in(PLACEBO).median == 8


def test_without_any_still_running_it_is_plain_counting() -> None:
    # Lecture notes after Cox and Oakes: S(10) = 8/21 = 0.381, standard error 0.106
    found = found_in(PLACEBO)
    assert found.share_after(10) == pytest.approx(8 / 21)
    at = found.times.index(8.0)
    se = math.sqrt(8 / 21 * 13 / 21 / 21)
    assert round(se, 3) == 0.106
    # The log-log interval by hand: S to the power of exp(±1.96 se / (S |ln S|))
    reach = math.exp(1.959964 * se / (8 / 21 * abs(math.log(8 / 21))))
    assert found.lows[at] == pytest.approx((8 / 21) ** reach, rel=1e-5)
    assert found.highs[at] == pytest.approx((8 / 21) ** (1 / reach), rel=1e-5)


def test_mean_is_the_plain_one_where_all_have_ended() -> None:
    spans, ended = lasted(PLACEBO)
    found = survival_of(spans, ended)
    assert found is not None
    assert found.mean == pytest.approx(sum(spans) / 21)
    assert found.mean_whole


def test_mean_is_at_least_what_was_seen_where_the_longest_still_runs() -> None:
    found = found_in(TREATED)
    assert not found.mean_whole
    assert found.mean_to == 35
    # From memory: survfit of R's survival package prints rmean 23.29, se(rmean) 2.83 for these, up to week 35
    assert found.mean == pytest.approx(23.29, abs=0.005)
    assert found.mean_se == pytest.approx(2.83, abs=0.005)


@pytest.mark.parametrize("text", [TREATED, PLACEBO, "3 5+ 7 7 9+ 12", "4 4+ 4 8"])
def test_shares_and_errors_are_those_of_another_program(text: str) -> None:
    duration = pytest.importorskip("statsmodels.duration.survfunc")
    spans, ended = lasted(text)
    told = duration.SurvfuncRight(spans, [int(one) for one in ended])
    found = found_in(text)
    for time, share in zip(told.surv_times, told.surv_prob, strict=True):
        assert found.share_after(time) == pytest.approx(share)


def test_half_is_reached_where_rounding_would_hide_it() -> None:
    found = found_in("1 2 3 4 5 6")
    assert found.median == 3


def test_nothing_that_ended_says_nothing() -> None:
    assert survival_of([3.0, 4.0], [False, False]) is None
    assert survival_of([], []) is None


def test_one_that_ended() -> None:
    found = found_in("90")
    assert (found.median, found.mean, found.mean_se) == (90, 90, None)
