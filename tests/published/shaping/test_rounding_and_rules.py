"""Needles, courses and fashioning against published worked examples P-10 to P-25, P-65, P-66 (production reference 11).

Sources: P-10, P-11, P-12 set-in sleeve articles for hand-flat knitters (2007); P-13, P-14 decrease and increase
formulas (1997); the others are the reference's own worked examples, recalculated independently for it. Tolerance:
exact, or the printed digits.
"""

from collections import Counter

import pytest

from loopwright.garment.necks.neck import quarter_ellipse
from loopwright.garment.set_in import cap_height_cm
from loopwright.problems import Problem
from loopwright.shaping.bands import band_needles
from loopwright.shaping.fashioning import (
    RULES,
    cap_zones,
    edge_length_cm,
    line_rule,
    shape,
    total_needles,
    two_rate,
)
from loopwright.shaping.neckline import curve_steps
from loopwright.shaping.needles import edge_angle_deg, nearest_even, points_on_course_edge


def test_hand_flat_example_p10():
    assert nearest_even(62 * 2.8) == 174
    assert nearest_even((64 - 26) * 4) == 152
    left = 174 - 16 - 52
    assert left == 106
    assert left / 2.8 == pytest.approx(37.86, abs=0.01)
    assert pytest.approx(64.0 * 4) == 152 + 64 + 40


@pytest.mark.parametrize(
    ("key", "events", "courses", "step", "expected"),
    [
        ("P-11", 26, 64, 1, {3: 12, 2: 14}),
        ("P-12", 42, 176, 1, {5: 8, 4: 34}),
        ("P-17", 10, 58, 2, {6: 9, 4: 1}),
        ("P-18", 39, 284, 2, {8: 25, 6: 14}),
        ("P-22 body", 57, 126, 2, {4: 6, 2: 51}),
        ("P-22 sleeve", 59, 126, 2, {4: 4, 2: 55}),
        ("P-24 even", 59, 184, 2, {4: 33, 2: 26}),
        ("P-24 any", 59, 184, 1, {4: 7, 3: 52}),
    ],
)
def test_two_rate_rule_gives_the_published_intervals(key, events, courses, step, expected):
    assert Counter(two_rate(events, courses, step)) == expected, key


def test_gore_segments_share_needles_as_published_p23():
    """300 needles in 35 segments: 20 of 9 and 15 of 8; the same division as events over steps."""
    assert Counter(two_rate(35, 300)) == {9: 20, 8: 15}


def test_end_convention_b_leaves_a_straight_run_p13_p14():
    """18 events in 96 rows over 19 runs: every 5 with one gap of 6; 4 events in 20 rows: every 4, then 4 plain."""
    assert Counter(two_rate(19, 96)) == {6: 1, 5: 18}
    steps = shape(4, 20, per_event=1, step=1, plain_end=True)
    assert [(each.times, each.courses) for each in steps] == [(4, 4)]
    assert [(each.times, each.courses) for each in shape(4, 20, per_event=1, step=1)] == [(4, 5)]


def test_front_neck_of_example_b_follows_the_quarter_ellipse():
    printed = (
        13,
        6,
        4,
        3,
        3,
        3,
        2,
        2,
        2,
        2,
        2,
        1,
        1,
        2,
        1,
        1,
        1,
        1,
        1,
        1,
        1,
        1,
        0,
        1,
        0,
        1,
        0,
        1,
        0,
        1,
        0,
        0,
        0,
        1,
        0,
        0,
        0,
        0,
    )
    assert curve_steps(59, 76, quarter_ellipse) == printed


def test_cap_of_example_b_p20_p21():
    assert cap_height_cm(edge_cm=14.861, run_cm=10.154, shape_factor=1.02) == pytest.approx(10.45, abs=0.01)
    assert nearest_even(10.45 * 8.4) == 88
    steps = cap_zones(66, 88, per_event=2)
    assert [(each.times, each.needles, each.courses) for each in steps] == [(9, 2, 2), (11, 2, 4), (13, 2, 2)]
    assert total_needles(steps) == 66
    edge = edge_length_cm(steps, needles_per_cm=6.5, courses_per_cm=8.4)
    assert edge == pytest.approx(14.796, abs=0.001)


@pytest.mark.parametrize(("courses", "events", "slow"), [(88, 33, 11), (96, 36, 12)])
def test_cap_zones_p65(courses, events, slow):
    steps = cap_zones(2 * events, courses, per_event=2)
    assert sum(each.times for each in steps if each.courses == 4) == slow


def test_a_cap_outside_its_two_rates_is_refused():
    with pytest.raises(Problem, match="33 narrowings every 2 or 4 courses take 66 to 132"):
        cap_zones(66, 140, per_event=2)


@pytest.mark.parametrize(
    ("needles", "courses", "printed"),
    [(1, 2, 32.9), (1, 4, 17.9), (1, 8, 9.2), (2, 4, 32.9), (2, 6, 23.3), (2, 2, 52.3)],
)
def test_angles_of_edges_p25(needles, courses, printed):
    angle = edge_angle_deg(needles=needles, courses=courses, wales_per_cm=6.5, courses_per_cm=8.4)
    assert angle == pytest.approx(printed, abs=0.1)


def test_band_and_pick_up_p27_p66():
    assert band_needles(seam_cm=47.93, rib_needles_per_cm=6.9, pick_up=0.95) == 314
    assert points_on_course_edge(courses=156, wales_per_cm=6.5, courses_per_cm=8.4) == 121


def test_every_rule_is_offered_by_name():
    assert RULES["two-rate"](3, 8, 1) == (3, 3, 2)
    assert RULES["two-rate, short first"](3, 8, 1) == (2, 3, 3)
    assert line_rule(3, 8) == (3, 2, 3)
