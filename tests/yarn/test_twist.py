"""Twist: the scales of the twist factor, and the slope of the fibres on the surface."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.figure import Basis
from loopwright.yarn.count import number_in
from loopwright.yarn.diameter import diameter_mm
from loopwright.yarn.twist import (
    alpha_metric_from_tex,
    alpha_tex_from_english,
    alpha_tex_from_metric,
    english_multiplier,
    surface_helix_deg,
    tpm_from_tpi,
    twist_factor_tex,
    twist_tpm_of,
    usual_twist_factor,
)

twists_tpm = st.floats(min_value=50, max_value=2000)
counts_tex = st.floats(min_value=5, max_value=1000)


@given(twists_tpm, counts_tex)
def test_the_twist_of_a_twist_factor_is_the_twist_it_came_from(tpm: float, count_tex: float) -> None:
    assert twist_tpm_of(twist_factor_tex(tpm, count_tex), count_tex) == pytest.approx(tpm, rel=1e-12)


@given(twists_tpm, counts_tex)
def test_the_metric_factor_is_turns_per_metre_over_the_root_of_the_metric_count(tpm: float, count_tex: float) -> None:
    by_definition = tpm / math.sqrt(number_in("Nm", count_tex))
    assert alpha_metric_from_tex(twist_factor_tex(tpm, count_tex)) == pytest.approx(by_definition, rel=1e-12)


@given(st.floats(min_value=1, max_value=80), counts_tex)
def test_the_english_multiplier_is_turns_per_inch_over_the_root_of_the_cotton_count(
    tpi: float, count_tex: float
) -> None:
    by_definition = tpi / math.sqrt(number_in("Ne", count_tex))
    alpha_tex = twist_factor_tex(tpm_from_tpi(tpi), count_tex)
    assert english_multiplier(alpha_tex) == pytest.approx(by_definition, rel=1e-12)


@given(st.floats(min_value=0.1, max_value=200))
def test_the_scales_turn_back_into_each_other(factor: float) -> None:
    assert alpha_metric_from_tex(alpha_tex_from_metric(factor)) == pytest.approx(factor, rel=1e-12)
    assert english_multiplier(alpha_tex_from_english(factor)) == pytest.approx(factor, rel=1e-12)


@given(st.floats(min_value=500, max_value=6000), counts_tex, counts_tex)
def test_equal_twist_factors_slope_alike_whatever_the_count(alpha_tex: float, one_tex: float, other_tex: float) -> None:
    slopes = [
        surface_helix_deg(diameter_mm=diameter_mm(tex, 1.52, 0.6), twist_tpm=twist_tpm_of(alpha_tex, tex))
        for tex in (one_tex, other_tex)
    ]
    assert slopes[0] == pytest.approx(slopes[1], rel=1e-9)


@given(twists_tpm, st.floats(min_value=0.05, max_value=2))
def test_fibres_slope_between_along_and_across_the_yarn(tpm: float, thick_mm: float) -> None:
    assert 0 < surface_helix_deg(diameter_mm=thick_mm, twist_tpm=tpm) < 90
    assert surface_helix_deg(diameter_mm=thick_mm, twist_tpm=2 * tpm) > surface_helix_deg(
        diameter_mm=thick_mm, twist_tpm=tpm
    )


def test_one_turn_as_long_as_its_girth_slopes_at_45_degrees() -> None:
    assert surface_helix_deg(diameter_mm=1 / math.pi, twist_tpm=1000) == pytest.approx(45)


@pytest.mark.parametrize(
    ("spinning", "part", "low_metric", "high_metric"),
    [("worsted_two_fold", "single", 75, 95), ("worsted_two_fold", "fold", 80, 110), ("woollen", "single", 90, 120)],
)
def test_usual_metric_factors_are_the_range_of_the_table(
    spinning: str, part: str, low_metric: float, high_metric: float
) -> None:
    alpha = usual_twist_factor(spinning, part)  # type: ignore[arg-type]
    assert alpha is not None
    assert alpha_metric_from_tex(alpha.low) == pytest.approx(low_metric)
    assert alpha_metric_from_tex(alpha.high) == pytest.approx(high_metric)
    assert alpha.basis is Basis.COMMON_PRACTICE


def test_no_usual_twist_is_made_up_for_a_spinning_without_one() -> None:
    assert usual_twist_factor("flat_filament") is None
    assert usual_twist_factor("woollen", "fold") is None
