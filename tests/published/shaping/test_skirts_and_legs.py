"""The sideways skirt of the reference's example D and its leg on a cylinder, number for number."""

from collections import Counter
from itertools import pairwise

import pytest

from loopwright.garment.blocks import measures_of
from loopwright.garment.shape import Shape
from loopwright.problems import Problem
from loopwright.shaping.blocks import plan_garment
from loopwright.shaping.blocks.scarf import rectangle
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import usual_rules
from loopwright.shaping.tube import TubeFabric, TubeLevel, least_stretch_ratio, plan_tube, wales_per_cm

SIDEWAYS = Shape(block="skirt", skirt="sideways")
DENSITY = (5.0, 7.0)
POINTS = {  # example D: waist 74, hem 150, length 60 cm; the other points do not shape it
    "half_waist": 37.0,
    "half_hem": 75.0,
    "skirt_length": 60.0,
    "half_hip": 49.7,
    "hip_level": 20.0,
    "waistband": 3.0,
    "waist_stretched": 96.0,
}


@pytest.fixture(scope="module")
def example_d() -> GarmentPlan:
    gauges = ZoneGauges(tuple((zone, DENSITY) for zone in ("body", "hem", "neckband")))
    measures = measures_of(POINTS, "M", SIDEWAYS)
    return plan_garment(measures, gauges, usual_rules(7, narrowing_strokes=4), "M")


@pytest.fixture(scope="module")
def piece(example_d) -> PanelPlan:
    return example_d.first


def test_example_d_has_eight_gores_of_64_courses_at_the_waist_and_132_at_the_hem(piece):
    """P-23: the waist is the right edge, its needles knit only the whole courses; the hem is the left one."""
    at_waist = int((piece.right == 150).sum())
    assert (at_waist, piece.courses) == (8 * 64, 8 * 132)
    assert [rows.courses for rows in piece.short_rows] == [68] * 8


def test_example_d_steps_by_twenty_times_nine_and_fifteen_times_eight_needles(piece):
    """P-23: 34 pairs cut 300 needles into 35 segments."""
    rows = piece.short_rows[0]
    knits = [300, *(int(each) for each in piece.span[rows.start : rows.start + rows.courses : 2]), 0]
    segments = Counter(before - after for before, after in pairwise(knits))
    assert segments == {9: 20, 8: 15}


def test_example_d_holds_235_200_stitches(piece):
    """P-23: the nines and eights interleaved."""
    assert (piece.widest, piece.loops) == (300, 235_200)


def test_example_d_measures_73_1_at_the_waist_and_150_9_at_the_hem(example_d):
    real = example_d.real_cm
    assert 2 * real["half_waist"] == pytest.approx(73.1, abs=0.05)
    assert 2 * real["half_hem"] == pytest.approx(150.9, abs=0.05)
    assert real["skirt_length"] == 60.0


def test_example_d_closes_with_one_seam_of_its_300_loops(example_d):
    seam = example_d.joins[0]
    assert (seam.name, seam.points) == ("back seam", 300)


THIGH, ANKLE = 61.6, 21.6
FABRIC = TubeFabric(
    wales_per_cm=16, courses_per_cm=22, loop_length_mm=2.8
)  # a swatch; it does not move what is checked


def test_one_stitch_cam_asks_the_thigh_to_stretch_1_782_times_as_far_as_the_ankle():
    """P-31."""
    ratio = least_stretch_ratio(wide_cm=THIGH, narrow_cm=ANKLE, loop_ratio=1.6)
    assert ratio == pytest.approx(1.782, abs=0.0005)
    assert 1.10 * ratio == pytest.approx(1.96, abs=0.005)


def test_400_needles_lie_12_7_to_a_cm_at_the_thigh_and_20_4_at_the_ankle():
    """P-31."""
    assert wales_per_cm(needles=400, body_cm=THIGH, stretch=1.96) == pytest.approx(12.7, abs=0.05)
    assert wales_per_cm(needles=400, body_cm=ANKLE, stretch=1.10) == pytest.approx(20.4, abs=0.05)
    leg = [TubeLevel("ankle", 0, ANKLE, 1.10), TubeLevel("thigh", 68, THIGH, 1.96)]
    (zone,) = plan_tube(leg, needles=400, fabric=FABRIC, loop_ratio=1.6).zones
    assert zone.wales_per_cm == pytest.approx((20.4, 12.7), abs=0.05)


def test_a_thigh_that_stretches_less_cannot_be_knitted_on_the_same_needles():
    """P-31: 1.7 at the thigh is less than 1.96; both numbers are said."""
    leg = [TubeLevel("ankle", 0, ANKLE, 1.10), TubeLevel("thigh", 68, THIGH, 1.7)]
    with pytest.raises(Problem) as refused:
        plan_tube(leg, needles=400, fabric=FABRIC, loop_ratio=1.6)
    sentence = refused.value.sentence()
    assert "36.2 cm relaxed at the thigh and 19.6 cm at the ankle" in sentence
    assert "1.6 times" in sentence
    assert "1.96 at the thigh" in sentence


def test_a_rectangle_of_62_by_64_cm_has_the_needles_and_rows_of_the_printed_hand_flat_piece():
    """P-10: 28 stitches and 40 rows to 10 cm."""
    piece = rectangle("blanket", "M", width_cm=62, length_cm=64, gauge=PanelGauge(2.8, 4.0, 2.8, 4.0))
    assert (piece.widest, piece.courses) == (174, 256)
