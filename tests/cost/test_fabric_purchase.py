"""Fabric to buy for cut and sewn garments."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.cost.fabric_purchase import fabric_issued, marker_fabric_kg
from loopwright.figure import Basis, banded, entered
from loopwright.problems import Problem

MASS = entered("mass", 160.0, "g/m²")


@given(area=st.floats(100, 50_000), efficiency=st.floats(0.3, 1), loss=st.floats(0, 0.5))
def test_garment_offcuts_and_ends_make_up_the_fabric_bought(area: float, efficiency: float, loss: float) -> None:
    bought = marker_fabric_kg(area_cm2=area, mass_g_per_m2=160, efficiency=efficiency, end_loss=loss)
    assert bought * (1 - loss) * efficiency == pytest.approx(area * 160 / 1e7)


def test_a_better_marker_needs_less_fabric_and_the_band_says_so() -> None:
    usual = fabric_issued(9000, MASS)
    assert usual.basis is Basis.COMMON_PRACTICE
    assert fabric_issued(9000, MASS, entered("marker", 0.90, "")).value < usual.value
    assert usual.low < fabric_issued(9000, MASS, entered("marker", 0.86, "")).value < usual.value


def test_a_heavier_fabric_moves_the_mass_in_proportion() -> None:
    heavy = banded("mass", 160, "g/m²", low=144, high=176, basis=Basis.MEASURED, words="swatch")
    sure = {"efficiency": entered("marker", 0.8, ""), "end_loss": entered("ends", 0.05, "")}
    issued = fabric_issued(9000, heavy, **sure)
    assert (issued.low, issued.high) == pytest.approx((0.9 * issued.value, 1.1 * issued.value))


@pytest.mark.parametrize(("area", "efficiency"), [(0, 0.8), (-5, 0.8), (9000, 0.0), (9000, 83.0)])
def test_a_marker_that_leaves_no_garment_is_refused(area: float, efficiency: float) -> None:
    with pytest.raises(Problem) as caught:
        fabric_issued(area, MASS, entered("marker", efficiency, ""))
    assert caught.value.tries
