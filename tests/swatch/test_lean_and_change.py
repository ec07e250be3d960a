"""Lean by offset and by diagonals agree on a shear; change has the sign of the standard; limits are chances."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.swatch import change, lean, stretching
from loopwright.swatch.limits import Limit, chance_within, chance_words, limit_of, verdict
from loopwright.swatch.statistics import Estimate, standard_deviation, summary, usual_spread

TANGENTS = st.floats(-0.2, 0.2)
SIDES = st.floats(20, 500)


def sheared(side: float, tangent: float) -> tuple[float, float]:
    """Diagonals of a square whose courses stay level and whose wales tilt."""
    return math.hypot(side + side * tangent, side), math.hypot(side - side * tangent, side)


def rhombus(side: float, tangent: float) -> tuple[float, float]:
    """Diagonals of a square whose four sides keep their length."""
    half = (math.pi / 2 - math.atan(tangent)) / 2
    return 2 * side * math.cos(half), 2 * side * math.sin(half)


@pytest.mark.parametrize("shape", [sheared, rhombus])
@given(side=SIDES, tangent=TANGENTS)
def test_offset_and_diagonals_say_the_same_lean_up_to_the_third_power(shape, side, tangent):
    """t − t³/4, exactly to the fifth power, whatever the size of the square."""
    (by_offset,) = lean.from_offsets([(side * tangent, side)], "face")
    (by_diagonals,) = lean.from_diagonals([shape(side, tangent)], "face")
    assert by_offset == pytest.approx(100 * tangent)
    assert by_diagonals / 100 - tangent == pytest.approx(-(tangent**3) / 4, abs=0.2 * abs(tangent) ** 5 + 1e-12)


def test_the_worked_shear_of_five_per_cent():
    """F-49: a simple shear of tan 0.05 through the diagonals."""
    assert lean.from_diagonals([sheared(250, 0.05)], "face")[0] == pytest.approx(4.997, abs=0.0005)


@given(offset=st.floats(-30, 30), side=SIDES)
def test_from_the_back_the_same_cloth_leans_the_other_way(offset, side):
    assert lean.from_offsets([(offset, side)], "back")[0] == -lean.from_offsets([(offset, side)], "face")[0]
    assert lean.from_angles([offset], "back")[0] == -lean.from_angles([offset], "face")[0]


@given(before=SIDES, change_percent=st.floats(-30, 30))
def test_a_swatch_that_shrinks_has_a_negative_change(before, change_percent):
    after = before * (1 + change_percent / 100)
    assert change.changes_percent([before], [after])[0] == pytest.approx(change_percent, abs=1e-9)


def test_marks_measured_one_by_one_keep_their_own_change():
    """Three marks that differ before washing and shrink alike scatter by nothing."""
    before = [348.0, 350.0, 353.0]
    changes = change.changes_percent(before, [each * 0.94 for each in before])
    assert changes == pytest.approx([-6.0] * 3)
    assert standard_deviation(changes) == pytest.approx(0.0, abs=1e-9)


def test_a_mark_that_was_lost_is_set_against_the_mean_before():
    assert change.changes_percent([349.0, 351.0], [343.0]) == pytest.approx([-2.0])


def test_a_strip_that_comes_back_whole_recovers_whole():
    assert stretching.recovery_percent(extension=60.0, left=0.0) == 100.0
    assert stretching.extension_percent(before_mm=100, stretched_mm=160) == 60.0
    assert stretching.left_percent(before_mm=100, after_rest_mm=105) == 5.0
    assert stretching.load_n_per_cm(load_n=12.5, strip_cm=5) == 2.5


def test_limits_are_as_the_person_set_them():
    assert limit_of("lean", at_most=5, either_way=True) == Limit(-5, 5, "5")
    assert limit_of("length", at_least=-5, at_most=3).words == "−5 / +3"
    wales = limit_of("wales", wanted=6.5, percent=2)
    assert (wales.low, wales.high) == pytest.approx((6.37, 6.63))


@pytest.mark.parametrize(
    "given",
    [{}, {"wanted": 6.5}, {"percent": 2}, {"at_least": 3, "at_most": 1}],
    ids=["empty", "bare", "loose", "turned"],
)
def test_a_limit_that_says_nothing_is_refused(given):
    with pytest.raises(Problem):
        limit_of("lean", **given)


def test_chances_are_said_with_words_at_their_ends():
    assert chance_words(0.995) == "over 99 in 100"
    assert chance_words(0.18) == "18 in 100"
    assert chance_words(0.0) == "under 1 in 100"


def test_the_chance_is_right_over_many_drawers():
    """Over swatches of all true leans, a limit told to hold in x of 100 cases holds in x of 100.

    The true lean is spread far wider than the readings, so that the chance of t is the share of cases.
    """
    rng = np.random.default_rng(64)
    limit, n = Limit(-5.0, 5.0, "5"), 5
    truth = rng.uniform(-9, 9, 20000)
    readings = rng.normal(truth[:, None], 0.8, (20000, n))
    error = readings.std(axis=1, ddof=1) / math.sqrt(n)
    told = np.array([chance_within(m, e, n - 1, limit) for m, e in zip(readings.mean(axis=1), error, strict=True)])
    held = np.abs(truth) <= 5
    for low in np.arange(0.1, 0.9, 0.2):
        within = (told >= low) & (told < low + 0.2)
        assert held[within].mean() == pytest.approx(told[within].mean(), abs=0.06)


def test_the_next_piece_keeps_a_limit_as_often_as_simulated():
    rng = np.random.default_rng(65)
    limit = Limit(6.4, 6.6, "")
    t = rng.standard_t(8, 200000)
    pieces = 6.55 + 0.03 * t + rng.normal(0, 0.0001, t.size)
    told = chance_within(6.55, 0.03, 8, limit)
    assert told == pytest.approx(np.mean((pieces > 6.4) & (pieces < 6.6)), abs=0.005)


def test_a_piece_strays_more_than_the_mean():
    usual = usual_spread("lean_percent", 4.0)
    told = summary([4.0, 4.1, 3.9, 4.0, 4.0], usual).estimate
    found = verdict(told, usual.piece_sd, Limit(-5, 5, "5"))
    assert 0.5 < found.next_piece_passes < found.true_value_passes
    assert verdict(Estimate(7.2, 0.3, 8), 0.7, Limit(-5, 5, "5")).true_value_passes < 0.01
