"""Folding: resultants of equal and unequal singles, and take-up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.yarn.count import number_in, tex_of
from loopwright.yarn.folding import resultant_number, resultant_tex, take_up_of

singles = st.lists(st.floats(min_value=1, max_value=500), min_size=1, max_size=6)
take_ups = st.floats(min_value=0, max_value=0.15)


@given(singles, st.sampled_from(["Nm", "Ne", "NeW", "YSW", "NeL", "run"]))
def test_the_resultant_of_unequal_folds_is_the_same_by_numbers_and_by_tex(numbers: list[float], system: str) -> None:
    by_tex = resultant_tex([tex_of(number, system) for number in numbers])
    assert resultant_number(numbers) == pytest.approx(number_in(system, by_tex), rel=1e-9)


@given(singles, take_ups)
def test_take_up_makes_a_folded_yarn_heavier_never_lighter(singles_tex: list[float], take_up: float) -> None:
    assert resultant_tex(singles_tex, take_up=take_up) >= resultant_tex(singles_tex)


@given(singles, take_ups)
def test_the_take_up_read_back_from_a_weighed_yarn_is_the_one_it_was_folded_with(
    singles_tex: list[float], take_up: float
) -> None:
    assert take_up_of(singles_tex, resultant_tex(singles_tex, take_up=take_up)) == pytest.approx(take_up, abs=1e-9)


@given(singles, take_ups)
def test_folding_keeps_the_mass_of_the_singles(singles_tex: list[float], take_up: float) -> None:
    km_folded = 1 - take_up  # from one kilometre of each single
    assert resultant_tex(singles_tex, take_up=take_up) * km_folded == pytest.approx(sum(singles_tex), rel=1e-12)


@pytest.mark.parametrize("take_up", [-0.01, 1.0, 3.0])
def test_a_take_up_in_per_cent_or_below_zero_is_refused(take_up: float) -> None:
    with pytest.raises(Problem, match=r"write 0\.03 for 3 %"):
        resultant_tex([20, 20], take_up=take_up)


@pytest.mark.parametrize("weighed_tex", [30.0, 60.0])
def test_a_resultant_that_cannot_come_from_its_singles_is_refused_with_both_numbers(weighed_tex: float) -> None:
    with pytest.raises(Problem, match="40 tex") as refused:
        take_up_of([20, 20], weighed_tex)
    assert f"{weighed_tex:.4g} tex" in refused.value.what
