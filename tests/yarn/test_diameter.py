"""Diameter: geometry of a round yarn, and the packing of each spinning."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.yarn.diameter import diameter_mm, packing, spinning_named, spinnings

counts_tex = st.floats(min_value=1, max_value=2000)
densities = st.floats(min_value=0.9, max_value=1.6)
packings = st.floats(min_value=0.1, max_value=0.9)


@given(counts_tex, densities, packings)
def test_the_fibre_in_a_kilometre_of_the_round_yarn_weighs_its_tex(
    count_tex: float, density: float, packed: float
) -> None:
    radius_cm = diameter_mm(count_tex, density, packed) / 20
    volume_cm3 = math.pi * radius_cm**2 * 100_000
    assert volume_cm3 * packed * density == pytest.approx(count_tex, rel=1e-9)


@given(counts_tex, densities, packings)
def test_four_times_the_tex_is_twice_as_thick(count_tex: float, density: float, packed: float) -> None:
    thick = diameter_mm(count_tex, density, packed)
    assert diameter_mm(4 * count_tex, density, packed) == pytest.approx(2 * thick, rel=1e-12)


def test_woollen_yarn_is_thicker_than_worsted_of_the_same_count_and_filament_thinnest() -> None:
    thick = {key: diameter_mm(70, 1.31, packing(key).value) for key in spinnings()}
    assert thick["brushed"] > thick["woollen"] > thick["worsted_two_fold"] > thick["flat_filament"]


@pytest.mark.parametrize(
    ("heard", "key"),
    [
        ("worsted", "worsted_two_fold"),
        ("Open  End", "rotor_cotton"),
        ("ring", "ring_cotton"),
        ("carded", "woollen"),
        ("woollen", "woollen"),
        ("textured_filament", "textured_filament"),
    ],
)
def test_a_spinning_is_known_by_the_names_of_the_trade(heard: str, key: str) -> None:
    assert spinning_named(heard) == key
    assert packing(heard) == packing(key)


def test_an_unknown_spinning_is_refused_with_the_known_ones() -> None:
    with pytest.raises(Problem, match="worsted_two_fold") as refused:
        packing("hand cranked")
    assert len(refused.value.tries) == len(spinnings())
