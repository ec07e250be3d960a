"""What readings of a swatch say of their mean: intervals, how many are needed, readings that stand apart, people."""

import math

import numpy as np
import pytest
from scipy import stats

from loopwright.figure import NINE_IN_TEN_SD
from loopwright.swatch.combining import birge_ratio, combined, disagreement
from loopwright.swatch.operators import precision
from loopwright.swatch.statistics import (
    Estimate,
    grubbs_critical,
    needed_if_spread_known,
    needed_readings,
    outliers,
    summary,
    t_half_width,
    usual_spread,
)

WALES = usual_spread("wales_per_cm", 6.5, resolution=0.05)


def test_the_interval_is_the_one_of_scipy():
    values = [6.5, 6.45, 6.55, 6.6, 6.4]
    low, high = stats.t.interval(0.95, 4, loc=np.mean(values), scale=stats.sem(values))
    told = summary(values, WALES)
    assert told.mean == pytest.approx(np.mean(values))
    assert told.half_95 == pytest.approx((high - low) / 2)


@pytest.mark.parametrize("n", [3, 5, 10])
def test_the_interval_holds_the_true_count_in_95_of_100_swatches(n):
    rng = np.random.default_rng(60)
    draws = rng.normal(6.5, 0.1, size=(20000, n))
    half = np.array([t_half_width(sd=1.0, n=n)]) * draws.std(axis=1, ddof=1)
    held = np.mean(np.abs(draws.mean(axis=1) - 6.5) <= half)
    assert held == pytest.approx(0.95, abs=0.006)


@pytest.mark.parametrize("n", [1, 2, 5])
def test_the_belief_that_travels_on_holds_nine_in_ten_where_swatches_scatter_as_usual(n):
    """Spreads drawn as the usual one says: worth four degrees of freedom, s² = 4·s₀²/χ²₄."""
    rng = np.random.default_rng(61)
    held = []
    usual = usual_spread("wales_per_cm", 6.5, resolution=1e-6)
    for _ in range(4000):
        sd = usual.sd * math.sqrt(4 / rng.chisquare(4))
        told = summary(list(rng.normal(6.5, sd, n)), usual).estimate
        held.append(abs(told.value - 6.5) <= told.half_90)
    assert np.mean(held) == pytest.approx(0.90, abs=0.015)


def test_a_single_reading_stands_on_the_usual_spread_and_says_so():
    told = summary([6.5], WALES)
    assert told.sd is None
    assert told.half_95 is None
    assert "working assumption" in told.words
    assert told.estimate.half_90 > 1.64 * 0.015 * 6.5


def test_readings_that_are_all_alike_keep_the_spread_of_the_ruler():
    told = summary([6.5] * 5, WALES)
    assert told.half_95 == pytest.approx(t_half_width(sd=0.05 / math.sqrt(12), n=5))


def test_needed_readings_are_the_least_whose_interval_is_narrow_enough():
    for cv in (0.8, 1.5, 2.47, 4.0):
        n = needed_readings(cv_percent=cv, error_percent=2)
        assert t_half_width(sd=cv, n=n) <= 2
        assert n == 2 or t_half_width(sd=cv, n=n - 1) > 2
        assert n >= needed_if_spread_known(cv_percent=cv, error_percent=2)


def test_a_slip_of_the_count_is_named_and_stays_in_the_mean():
    told = summary([6.5, 6.45, 6.55, 6.5, 7.0], WALES)
    (found,) = told.outliers
    assert (found.index, found.value) == (4, 7.0)
    assert "stands apart" in found.words
    assert told.n == 5
    assert told.mean == pytest.approx(6.6)


def test_two_alike_of_three_are_nothing_odd():
    """Grubbs' test marks the third of any three of which two are alike; half a stitch is no slip."""
    assert outliers([6.5, 6.5, 6.55])
    assert not summary([6.5, 6.5, 6.55], WALES).outliers


def test_chance_marks_one_swatch_in_twenty_and_no_more():
    rng = np.random.default_rng(62)
    marked = np.mean([bool(outliers(list(rng.normal(65, 1, 6)))) for _ in range(4000)])
    assert marked == pytest.approx(0.05, abs=0.011)
    assert grubbs_critical(6, 0.05) < grubbs_critical(6, 0.01)


def test_people_are_told_apart_as_the_analysis_of_variance_does():
    rng = np.random.default_rng(63)
    readings = {name: list(rng.normal(mean, 0.5, 6)) for name, mean in (("MK", 65), ("JO", 66), ("LI", 64.5))}
    found = precision(readings)
    assert found is not None
    across_over_within = stats.f_oneway(*readings.values()).statistic
    assert 1 + 6 * (found.between_sd / found.repeatability_sd) ** 2 == pytest.approx(across_over_within)
    assert found.reproducibility_sd == pytest.approx(math.hypot(found.repeatability_sd, found.between_sd))


def test_what_would_help_follows_from_who_scatters():
    apart = precision({"MK": [65.0, 65.1, 64.9], "JO": [67.0, 67.1, 66.9]})
    alike = precision({"MK": [63.0, 66.5, 65.0], "JO": [66.0, 63.5, 65.2]})
    assert apart is not None
    assert alike is not None
    assert "another person would help" in apart.advice
    assert "more readings would help" in alike.advice


def test_one_person_or_no_repeated_reading_tells_nothing_of_people():
    assert precision({"MK": [65.0, 65.5]}) is None
    assert precision({"MK": [65.0], "JO": [66.0]}) is None


def test_ruler_and_picture_together_are_the_weighted_mean():
    ruler, picture = Estimate(6.50, 0.06, 8), Estimate(6.53, 0.02, 60)
    both = combined([ruler, picture], common_error=0.0325)
    weights = np.array([1 / 0.06**2, 1 / 0.02**2])
    assert both.value == pytest.approx(np.average([6.50, 6.53], weights=weights))
    assert both.standard_error == pytest.approx(math.sqrt(1 / weights.sum() + 0.0325**2))


def test_however_many_pictures_there_are_the_common_error_stays():
    many = combined([Estimate(6.5, 0.05, 60)] * 400, common_error=0.03)
    assert many.standard_error == pytest.approx(0.03, rel=0.01)


def test_estimates_that_contradict_each_other_widen_the_spread():
    apart = [Estimate(6.2, 0.02, 60), Estimate(6.6, 0.02, 60)]
    assert disagreement(*apart) > 10
    assert birge_ratio(apart) == pytest.approx(math.sqrt(2 * (0.2 / 0.02) ** 2))
    assert combined(apart, common_error=0.0).half_90 > NINE_IN_TEN_SD * 0.1
