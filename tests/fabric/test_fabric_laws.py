"""Laws that every fabric obeys, whatever structure, yarn and loop length; and what a swatch changes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loopwright.fabric.fabric import fabric_of
from loopwright.fabric.geometry import SwatchCounts
from loopwright.fabric.suitability import suitable_gauges, usual_count
from loopwright.figure import Basis, State, entered
from loopwright.problems import Problem, Sign
from loopwright.structure.library import library, structure_from
from loopwright.yarn.yarn import yarn_from_words

MERINO = yarn_from_words("2/30 Nm merino")
KEYS = list(library())


@pytest.mark.parametrize("key", KEYS)
def test_every_structure_makes_a_cloth_of_its_usual_loop(key):
    """Knits lie at a porosity of 0.75 to 0.90 (fabric reference 5, from memory); the band is a little wider here for
    structures whose dimensions are working assumptions. Jacquards of three and four colours are the densest."""
    fabric = fabric_of(library()[key], MERINO, gauge=12)
    assert 0.70 <= fabric.porosity.value <= 0.95
    assert 150 <= fabric.mass.value <= 1200
    assert all(figure.low <= figure.value <= figure.high for figure in fabric.figures().values())


@pytest.mark.parametrize("key", KEYS)
def test_only_published_structures_claim_to_be_published(key):
    fabric = fabric_of(library()[key], MERINO)
    claims = fabric.geometry.courses_per_cm.basis is Basis.PUBLISHED
    assert claims is (key in ("plain", "reverse-plain", "tubular"))  # interlock's constants are of cotton


def test_interlock_constants_are_those_of_cotton():
    cotton = fabric_of(library()["interlock"], yarn_from_words("Ne 30 cotton"))
    assert cotton.geometry.courses_per_cm.basis is Basis.PUBLISHED


@given(st.sampled_from(KEYS), st.floats(4.0, 8.0), st.floats(1.02, 1.3))
def test_a_longer_loop_opens_the_cloth_and_lightens_it(key, loop, factor):
    structure = library()[key]
    short = fabric_of(structure, MERINO, entered("l", loop, "mm"))
    long = fabric_of(structure, MERINO, entered("l", loop * factor, "mm"))
    assert long.geometry.wales_per_cm.value < short.geometry.wales_per_cm.value
    assert long.geometry.courses_per_cm.value < short.geometry.courses_per_cm.value
    assert long.mass.value < short.mass.value
    assert long.tightness.value == pytest.approx(short.tightness.value / factor)


@given(st.sampled_from(KEYS), st.floats(5.0, 8.0))
def test_two_ends_weigh_twice_one(key, loop):
    structure, length = library()[key], entered("l", loop, "mm")
    one = fabric_of(structure, yarn_from_words("Nm 60/2 merino"), length)
    two = fabric_of(structure, yarn_from_words("Nm 60/2 merino", ends=2), length)
    assert two.mass.value == pytest.approx(2 * one.mass.value)


@given(st.sampled_from(KEYS))
def test_relaxing_never_opens_the_cloth(key):
    states = (State.DRY_RELAXED, State.WET_RELAXED, State.FULLY_RELAXED)
    counts = [fabric_of(library()[key], MERINO, state=state).geometry for state in states]
    assert counts[0].courses_per_cm.value < counts[1].courses_per_cm.value < counts[2].courses_per_cm.value
    assert counts[0].wales_per_cm.value < counts[1].wales_per_cm.value < counts[2].wales_per_cm.value


SWATCH = SwatchCounts("swatch 2", 6.5, 8.4, 6.3, State.FINISHED, mass_g_per_m2=246)


def test_a_swatch_gives_its_own_counts_back_and_marks_them_measured():
    fabric = fabric_of(library()["plain"], MERINO, entered("l", 6.3, "mm"), swatch=SWATCH)
    assert fabric.geometry.wales_per_cm.value == pytest.approx(6.5)
    assert fabric.geometry.courses_per_cm.value == pytest.approx(8.4)
    assert fabric.mass.value == pytest.approx(246)
    assert {fabric.mass.basis, fabric.geometry.wales_per_cm.basis} == {Basis.MEASURED}


def test_a_swatch_is_carried_to_another_loop_length_and_warns_past_its_reach():
    near = fabric_of(library()["plain"], MERINO, entered("l", 6.6, "mm"), swatch=SWATCH)
    far = fabric_of(library()["plain"], MERINO, entered("l", 7.5, "mm"), swatch=SWATCH)
    assert near.geometry.wales_per_cm.value == pytest.approx(6.5 * 6.3 / 6.6)
    assert not any("swatch" in finding.sentence for finding in near.findings)
    assert any("swatch 2 was knitted at 6.30 mm" in finding.sentence for finding in far.findings)


def test_a_structure_of_ones_own_takes_its_nearest_kin_with_a_wider_band():
    own = structure_from("own", {"courses": ["F:KKT", "F:KKK"]})
    fabric = fabric_of(own, MERINO)
    assert fabric.geometry.wales_per_cm.basis is Basis.ASSUMED
    assert any(finding.sign is Sign.DECIDE and "nearest kin" in finding.sentence for finding in fabric.findings)


def test_a_lively_single_leans_past_the_limit_and_a_balanced_fold_does_not():
    """Eq 7.5: single ring cotton leans; balanced two-fold yarn leans 0 to 2 degrees (from memory)."""
    single = fabric_of(library()["plain"], yarn_from_words("Ne 30 cotton"), entered("l", 2.8, "mm"))
    assert single.spirality.value > 5
    assert any("lean" in finding.sentence for finding in single.findings)
    assert fabric_of(library()["plain"], MERINO).spirality.high < 5


@pytest.mark.parametrize(("loop", "words"), [(0.5, "tightness at which it jams"), (400, "tightness at which it jams")])
def test_loops_that_make_no_cloth_are_refused_with_a_length_that_does(loop, words):
    with pytest.raises(Problem, match=words) as caught:
        fabric_of(library()["plain"], MERINO, entered("l", loop, "mm"))
    assert "a loop between" in caught.value.tries[0]


def test_a_jammed_loop_is_told_with_the_length_that_frees_it():
    fabric = fabric_of(library()["plain"], MERINO, entered("l", 5.0, "mm"))
    assert any("jammed" in finding.sentence for finding in fabric.findings)


@pytest.mark.parametrize(
    ("gauge", "tex"), [(5, 319), (7, 163), (8, 125), (10, 79.7), (12, 55.4), (14, 40.7), (18, 24.6)]
)
def test_the_count_of_a_gauge_is_the_printed_one_and_suits_it(gauge, tex):
    """Printed table of counts by the flat rule (fabric reference 2.2; Spencer 2001, worsted count = E²/9)."""
    assert usual_count(gauge).value == pytest.approx(tex, rel=0.005)
    assert gauge in suitable_gauges(tex)
