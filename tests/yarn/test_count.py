"""Count systems: conversions against outside arithmetic, and what a count must obey."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.yarn.count import count_of, in_all_systems, number_in, slash_is_plain, system_of, systems, tex_of

POUND_G = Fraction("453.59237")
YARD_M = Fraction("0.9144")
HANK_YARDS = {"Ne": 840, "NeW": 560, "YSW": 256, "NeL": 300, "run": 1600}

numbers = st.floats(min_value=0.01, max_value=5000)
fine_numbers = st.floats(min_value=1, max_value=2000)
system_keys = st.sampled_from(sorted(systems()))


@given(numbers)
def test_direct_systems_agree_with_an_independent_library_of_units(number: float) -> None:
    ureg = pint.get_application_registry()
    for system in ("tex", "dtex", "denier"):
        assert tex_of(number, system) == pytest.approx(ureg.Quantity(number, system).to("tex").magnitude, rel=1e-9)


@given(numbers)
def test_metric_and_cotton_counts_agree_with_an_independent_library_of_units(number: float) -> None:
    ureg = pint.get_application_registry()
    for system in ("Nm", "Ne"):
        mass_per_length = (1 / ureg.Quantity(number, system)).to("tex")
        assert tex_of(number, system) == pytest.approx(mass_per_length.magnitude, rel=1e-9)


@pytest.mark.parametrize("system", HANK_YARDS)
@given(hundredths=st.integers(min_value=1, max_value=100_000))
def test_hank_systems_are_exact_arithmetic_on_yard_and_pound(system: str, hundredths: int) -> None:
    metres_per_gram = Fraction(hundredths, 100) * HANK_YARDS[system] * YARD_M / POUND_G
    assert tex_of(hundredths / 100, system) == pytest.approx(float(1000 / metres_per_gram), rel=1e-12)


@given(number=numbers, system=system_keys)
def test_a_count_turned_to_tex_and_back_is_the_same_count(number: float, system: str) -> None:
    assert number_in(system, tex_of(number, system)) == pytest.approx(number, rel=1e-12)


@given(count_tex=numbers, one=system_keys, other=system_keys)
def test_a_count_carried_through_any_two_systems_is_the_same_yarn(count_tex: float, one: str, other: str) -> None:
    through = tex_of(number_in(one, count_tex), one)
    assert tex_of(number_in(other, through), other) == pytest.approx(count_tex, rel=1e-12)


@given(number=numbers, step=st.floats(min_value=0.01, max_value=100), system=system_keys)
def test_a_bigger_number_is_finer_in_indirect_systems_and_coarser_in_direct_ones(
    number: float, step: float, system: str
) -> None:
    becomes_coarser = tex_of(number + step, system) > tex_of(number, system)
    assert becomes_coarser == system_of(system).is_direct


@given(number=fine_numbers, folds=st.integers(1, 12), ends=st.integers(1, 12), system=system_keys)
def test_twice_the_ends_are_twice_the_tex(number: float, folds: int, ends: int, system: str) -> None:
    count = count_of(number, system, folds=folds, ends=ends)
    assert count.with_ends(2 * ends).tex == pytest.approx(2 * count.tex, rel=1e-12)
    assert count.with_ends(2 * ends).resultant_tex == count.resultant_tex


@given(number=fine_numbers, folds=st.integers(1, 12), system=system_keys)
def test_a_yarn_of_equal_folds_is_as_many_singles_heavy(number: float, folds: int, system: str) -> None:
    count = count_of(number, system, folds=folds)
    assert count.resultant_tex == pytest.approx(folds * count.single_tex, rel=1e-12)


def test_a_count_is_shown_in_every_system_of_the_trade() -> None:
    assert set(in_all_systems(50)) == {"tex", "dtex", "denier", "Nm", "Ne", "NeW", "YSW", "NeL", "run"}


@pytest.mark.parametrize("number", [0, -1, float("nan"), float("inf"), float("-inf")])
def test_a_count_that_is_not_above_zero_is_refused(number: float) -> None:
    with pytest.raises(Problem, match="more than 0"):
        tex_of(number, "Nm")
    with pytest.raises(Problem, match="more than 0"):
        number_in("Nm", number)


def test_an_unknown_count_system_is_refused_with_the_known_ones() -> None:
    with pytest.raises(Problem, match="NeW") as refused:
        tex_of(30, "grist")
    assert "grist" in refused.value.what


@pytest.mark.parametrize(("number", "system"), [(0.09, "tex"), (1.1e6, "tex"), (0.0009, "Nm"), (11_000, "Nm")])
def test_a_yarn_finer_or_coarser_than_any_yarn_is_refused_with_the_limit(number: float, system: str) -> None:
    with pytest.raises(Problem, match=r"yarns from 0\.1 to 1000000 tex"):
        count_of(number, system)


def test_the_finest_and_the_coarsest_yarn_are_still_yarns() -> None:
    assert count_of(0.1, "tex").tex == 0.1
    assert count_of(1e6, "tex").tex == 1e6


def test_a_slash_is_plain_when_the_larger_is_at_least_twice_the_smaller() -> None:
    assert slash_is_plain(4, 2)
    assert slash_is_plain(18.5, 12)
    assert slash_is_plain(2, 2)
    assert not slash_is_plain(3, 2)
    assert not slash_is_plain(2, 6)
