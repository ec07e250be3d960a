"""Plain of 2/30 Nm at 6.15 mm, fully relaxed, from trade words to grams: F-23, F-33, F-61, F-63, F-65.

Fabric reference. Constants of the fully relaxed state: Knapton 1968 from memory, pair read in a question bank (F-22).
Tolerances as printed.
"""

import pytest

from loopwright.fabric.bulk import thickness
from loopwright.fabric.mass import piece_mass_g
from loopwright.shaping.consumption import zone_yarn
from loopwright.shaping.needles import nearest_whole
from loopwright.structure.library import find_structure
from loopwright.study.parts import fabric_from_words
from loopwright.yarn.yarn import yarn_from_words

WIDTH_CM, LENGTH_CM = 52, 64


@pytest.fixture(scope="module")
def plain():
    return fabric_from_words("plain", "2/30 Nm wool", loop_length="6.15")


def test_wales_and_courses_f23(plain):
    """w 6.83 and c 8.94 per cm, 17.35 and 22.72 per inch (0.2 %)."""
    wales, courses = plain.geometry.wales_per_cm.value, plain.geometry.courses_per_cm.value
    assert (wales, courses) == (pytest.approx(6.83, rel=0.002), pytest.approx(8.94, rel=0.002))
    assert (2.54 * wales, 2.54 * courses) == (pytest.approx(17.35, rel=0.002), pytest.approx(22.72, rel=0.002))


def test_mass_f33(plain):
    """250.4 g/m² (0.2 %)."""
    assert plain.mass.value == pytest.approx(250.4, rel=0.002)


def test_a_rectangle_of_it_f61(plain):
    """52 × 64 cm: 355 needles, 572 courses (nearest whole), 1248.8 m, 83.25 g (0.3 %)."""
    needles = nearest_whole(WIDTH_CM * plain.geometry.needles_per_cm.value)
    courses = nearest_whole(LENGTH_CM * plain.geometry.courses_per_cm.value)
    assert (needles, courses) == (355, 572)
    used = zone_yarn("body", needles * courses, plain)
    assert sum(used.metres.values()) == pytest.approx(1248.8, rel=0.003)
    assert used.grams == pytest.approx(83.25, rel=0.003)
    by_formula = piece_mass_g(loops=needles * courses, loop_length_mm=6.15, count_tex=plain.yarn.tex.value)
    assert used.grams == pytest.approx(by_formula, rel=1e-9)


def test_the_same_rectangle_by_its_area_f61(plain):
    """83.34 g (0.3 %); the two routes differ by the rounding to whole needles and courses."""
    assert plain.mass.value * WIDTH_CM * LENGTH_CM / 1e4 == pytest.approx(83.34, rel=0.003)


def test_tightness_over_jamming_f63(plain):
    """Wool of packing 0.50: 0.976 (0.5 %)."""
    assert plain.yarn.packing.value == 0.50
    assert plain.tightness_over_jam.value == pytest.approx(0.976, rel=0.005)


@pytest.mark.parametrize("words", ["2/30 Nm wool", "Ne 30 cotton", "2/28 Nm wool"])
def test_thickness_of_plain_is_three_diameters_f65(words):
    """t 1.08 mm at a diameter of 0.360 (0.2 %), so in proportion for any yarn."""
    yarn = yarn_from_words(words)
    made = thickness(find_structure("plain"), yarn).value
    assert made * 0.360 / yarn.diameter_mm.value == pytest.approx(1.08, rel=0.002)
