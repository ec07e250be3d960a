"""Fabric formulas against printed or definitional values F-14 to F-65 (fabric reference; each source named in its row).

Tolerances are those printed with the check values: rounding of the printed digits, or the scatter the reference gives.
"""

import math

import pytest

from loopwright.fabric.bulk import cover, porosity, stretched_cover
from loopwright.fabric.geometry import courses_per_cm, peirce_loop_length_mm
from loopwright.fabric.mass import mass_g_per_m2, piece_mass_g, repeat_mass_g_per_m2
from loopwright.fabric.relaxation import allowed_length, change_percent
from loopwright.fabric.spirality import feed_helix_deg, lean_percent, lean_percent_from_diagonals, torque_lean_deg
from loopwright.fabric.stretch import (
    course_spacing_when_pulled_mm,
    largest_course_spacing_mm,
    largest_wale_spacing_mm,
)
from loopwright.fabric.suitability import count_tex_for_gauge, gauge_of_cylinder
from loopwright.fabric.tightness import jamming_tightness, loop_length_mm_for_tightness, tightness_factor

NM_15 = 1000 / 15  # tex of 2/30 Nm
NE = 590.541  # tex of Ne 1

ROWS = [
    # id, computed, printed, relative tolerance, source
    ("F-14", count_tex_for_gauge(12), 55.4, 0.005, "Spencer 2001: worsted count = E²/9"),
    ("F-15", count_tex_for_gauge(7), 162.7, 0.005, "Spencer 2001: worsted count = E²/9"),
    ("F-16", count_tex_for_gauge(24, "circular_single"), 18.48, 0.005, "trade note: tex = 1650/g²"),
    ("F-17", count_tex_for_gauge(18, "circular_double"), 27.88, 0.005, "trade note: tex = 1400/g²"),
    ("F-18", gauge_of_cylinder(needles=400, diameter_in=4), 31.8, 0.1 / 31.8, "definition"),
    ("F-20 c", courses_per_cm(kc=5.0, loop_length_mm=6.0), 8.333, 0.002, "Munden 1959"),
    ("F-20 w", courses_per_cm(kc=3.8, loop_length_mm=6.0), 6.333, 0.002, "Munden 1959"),
    ("F-21 c", courses_per_cm(kc=5.3, loop_length_mm=6.0), 8.833, 0.002, "Munden 1959"),
    ("F-21 w", courses_per_cm(kc=4.1, loop_length_mm=6.0), 6.833, 0.002, "Munden 1959"),
    ("F-22 c", courses_per_cm(kc=5.5, loop_length_mm=6.0), 9.167, 0.002, "Knapton 1968"),
    ("F-22 w", courses_per_cm(kc=4.2, loop_length_mm=6.0), 7.000, 0.002, "Knapton 1968"),
    ("F-25 Peirce", peirce_loop_length_mm(course_spacing_mm=1.0, wale_spacing_mm=1.3, diameter_mm=0.3), 5.082, 0.001,
     "Fletcher and Roberts 1952"),
    ("F-26 c", courses_per_cm(kc=5.64, loop_length_mm=3.40), 16.59, 0.002, "Roy et al., interlock"),
    ("F-26 w", courses_per_cm(kc=4.00, loop_length_mm=3.40), 11.76, 0.002, "Roy et al., interlock"),
    ("F-27", tightness_factor(count_tex=NM_15, loop_length_mm=6.15), 13.28, 0.001, "eq 4.1"),
    ("F-28", tightness_factor(count_tex=NE / 30, loop_length_mm=2.80), 15.85, 0.001, "eq 4.1"),
    ("F-29", loop_length_mm_for_tightness(count_tex=1000 / 14, tightness=13.5), 6.26, 0.001, "eq 4.1"),
    ("F-30 loop", tightness_factor(count_tex=40, loop_length_mm=5.0), 12.65, 0.001, "eq 4.1"),
    ("F-30 cell", tightness_factor(count_tex=40, loop_length_mm=10.0), 6.32, 0.001, "eq 4.1"),
    ("F-31", jamming_tightness(density_g_per_cm3=1.31, packing=0.50), 13.61, 0.005, "eq 4.3, Chamberlain"),
    ("F-34", mass_g_per_m2(courses_per_cm=17.0, wales_per_cm=13.0, loop_length_mm=2.85, count_tex=19.69), 124.0, 0.001,
     "eq 5.1"),
    ("F-35", mass_g_per_m2(courses_per_cm=42 / 2.54, wales_per_cm=34 / 2.54, loop_length_mm=2.80, count_tex=NE / 30),
     122.0, 0.003, "textile handbook 2023, p. 147, inch form"),
    ("F-37", piece_mass_g(loops=200 * 300, loop_length_mm=6.15, count_tex=NM_15), 24.60, 0.001, "eq 5.4"),
    ("F-38", porosity(mass_g_per_m2=160, thickness_mm=0.60, density_g_per_cm3=1.52), 0.825, 0.002, "eq 5.6"),
    ("F-39 20", cover(loops_per_cm2_times_l2=21.6, loop_over_diameter=20), 0.864, 0.003, "eq 5.7"),
    ("F-39 25", cover(loops_per_cm2_times_l2=21.6, loop_over_diameter=25), 0.726, 0.003, "eq 5.7"),
    ("F-39 40", cover(loops_per_cm2_times_l2=21.6, loop_over_diameter=40), 0.486, 0.003, "eq 5.7"),
    ("F-40", stretched_cover(relaxed=cover(loops_per_cm2_times_l2=21.6, loop_over_diameter=25), width_factor=1.4,
                             length_factor=1.1), 0.471, 0.003, "eq 5.8"),
    ("F-42 length", change_percent(before=5.5, after=5.0), -9.09, 0.05 / 9.09, "eq 6.2 with Munden and Knapton"),
    ("F-42 width", change_percent(before=4.2, after=3.8), -9.52, 0.05 / 9.52, "eq 6.2 with Munden and Knapton"),
    ("F-43 length", change_percent(before=350, after=329), -6.00, 0.01 / 6, "ISO 5077 form"),
    ("F-43 width", change_percent(before=350, after=341), -2.57, 0.01 / 2.57, "ISO 5077 form"),
    ("F-44", allowed_length(finished=640, change_percent_signed=-4.5), 670.2, 0.1 / 670, "eq 6.3"),
    ("F-45 a", lean_percent(2.86), 5.0, 0.01 / 2.86, "eq 7.1"),
    ("F-45 b", lean_percent(5.71), 10.0, 0.01 / 5.71, "eq 7.1"),
    ("F-46", lean_percent_from_diagonals(rising_right_mm=362, rising_left_mm=345), 4.81, 0.01 / 4.81, "eq 7.2"),
    ("F-48", feed_helix_deg(courses_per_turn=90, wales_per_cm=13.5, needles=2256, courses_per_cm=20), 1.54, 0.005,
     "eq 7.4"),
    ("F-51", course_spacing_when_pulled_mm(loop_length_mm=5.082, wale_spacing_mm=1.69, diameter_mm=0.30), 0.805, 0.002,
     "eq 9.2, Peirce"),
    ("F-62", repeat_mass_g_per_m2(yarn_mm=2 * 5.2 + 2 * 4.4, count_tex=33.33, height_mm=1.55, width_mm=1.25), 330.3,
     0.002, "eq 3.2"),
    ("F-64", lean_percent(torque_lean_deg(alpha_tex=3350, tightness=15.0, finish_factor=0.5)), 7.96, 0.005, "eq 7.5"),
]  # fmt: skip


@pytest.mark.parametrize(("key", "computed", "printed", "tolerance", "source"), ROWS, ids=[row[0] for row in ROWS])
def test_a_formula_gives_its_printed_value(key, computed, printed, tolerance, source):
    assert computed == pytest.approx(printed, rel=tolerance), source


def test_mass_falls_with_loop_length_and_grows_with_tightness_as_printed():
    """F-32, F-33 (eq 5.2: M = ks·T/l) and F-36 (eq 5.3) through the counted form c·w·l·T/100; tolerance 0.2 %."""

    def mass(ks: float, count_tex: float, loop_length_mm: float) -> float:
        per_cm = math.sqrt(ks) * 10 / loop_length_mm
        return mass_g_per_m2(
            courses_per_cm=per_cm, wales_per_cm=per_cm, loop_length_mm=loop_length_mm, count_tex=count_tex
        )

    assert mass(21.6, 20, 2.90) == pytest.approx(149.0, rel=0.002)
    assert mass(23.1, NM_15, 6.15) == pytest.approx(250.4, rel=0.002)
    count = (14.5 * 0.45) ** 2
    assert count == pytest.approx(42.58, rel=0.002)
    assert mass(21.6, count, 4.50) == pytest.approx(204.4, rel=0.002)


def test_munden_wet_relaxed_fabric_is_consistent_with_peirce_loop():
    """F-24: kc 5.3 and kw 4.1 in l = 2p + a + 5.94 d give l/d = 15.68 (± 0.3 %)."""
    loop = 10.0
    p, a = 10 / courses_per_cm(kc=5.3, loop_length_mm=loop), 10 / courses_per_cm(kc=4.1, loop_length_mm=loop)
    without_yarn = peirce_loop_length_mm(course_spacing_mm=p, wale_spacing_mm=a, diameter_mm=0)
    yarn_term = peirce_loop_length_mm(course_spacing_mm=0, wale_spacing_mm=0, diameter_mm=1)
    diameter = (loop - without_yarn) / yarn_term
    assert loop / diameter == pytest.approx(15.68, rel=0.003)


def test_geometric_ceilings_of_plain_at_the_jam():
    """F-50: length +104 %, width +162 % at l/d 16.67 with kc 5.5 and kw 4.2 (± 2 points)."""
    loop, d = 16.67, 1.0
    p, a = 10 / courses_per_cm(kc=5.5, loop_length_mm=loop), 10 / courses_per_cm(kc=4.2, loop_length_mm=loop)
    length = 100 * (largest_course_spacing_mm(loop_length_mm=loop, diameter_mm=d) / p - 1)
    width = 100 * (largest_wale_spacing_mm(loop_length_mm=loop, diameter_mm=d) / a - 1)
    assert length == pytest.approx(104, abs=2)
    assert width == pytest.approx(162, abs=2)


def test_a_simple_shear_reads_the_same_by_angle_and_by_diagonals():
    """F-49: wales tilted by tan 0.05 on level courses give 4.997 % through the diagonals (± 0.005)."""
    rising_right, rising_left = math.hypot(1.05, 1), math.hypot(0.95, 1)
    read = lean_percent_from_diagonals(rising_right_mm=rising_right, rising_left_mm=rising_left)
    assert read == pytest.approx(4.997, abs=0.005)


def test_area_change_and_mass_follow_from_both_directions():
    """F-42: area −17.75 %, mass × 1.216; F-43: area −8.42 %."""
    area = (5.0 / 5.5) * (3.8 / 4.2)
    assert 100 * (area - 1) == pytest.approx(-17.75, abs=0.05)
    assert 1 / area == pytest.approx(1.216, abs=0.001)
    both = (1 + change_percent(before=350, after=329) / 100) * (1 + change_percent(before=350, after=341) / 100)
    assert 100 * (both - 1) == pytest.approx(-8.42, abs=0.01)
