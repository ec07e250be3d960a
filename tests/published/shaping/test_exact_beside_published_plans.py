"""Exact plans of the edges that worked examples print, beside the printed plans (production reference 3.5 to 3.9).

The printed plan of an edge keeps the same limits (needles at a time, even courses) and ends on the same needle, so the
exact plan may take as many strokes and must lie as near to the outline or nearer. Lengths of P-22 and the 2 % of
section 2 are printed.
"""

from itertools import pairwise

import pytest

from loopwright.shaping.exact import events_of, exact_edge, shaped_edge
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, straight_edge, wanted_edge
from loopwright.shaping.exact_pair import EdgePair, together
from loopwright.shaping.fashioning import Step, needles_moved, total_courses, total_needles

BLOCK_B = {"needles_per_cm": 6.5, "courses_per_cm": 8.4}
RAGLAN_C = {"needles_per_cm": 3.6, "courses_per_cm": 5.0}
COSTS = EdgeCosts(per_mm2=1.0, per_stroke=1.0, event_strokes=3.0)

PRINTED = [
    ("P-11 sloped part", (Step(12, 1, 3), Step(14, 1, 2)), 1, {"needles_per_cm": 2.8, "courses_per_cm": 4.0}),
    ("P-12 drop sleeve", (Step(34, 1, 4), Step(8, 1, 5)), 1, {"needles_per_cm": 2.8, "courses_per_cm": 4.0}),
    ("P-17 armhole", (Step(9, 2, 6), Step(1, 2, 4)), 2, BLOCK_B),
    ("P-18 sleeve", (Step(25, 1, 8), Step(14, 1, 6)), 2, BLOCK_B),
    ("P-22 raglan body", (Step(6, 1, 4), Step(51, 1, 2)), 2, RAGLAN_C),
    ("P-22 raglan sleeve", (Step(4, 1, 4), Step(55, 1, 2)), 2, RAGLAN_C),
    ("P-24 V neck, even", (Step(33, 1, 4), Step(26, 1, 2)), 2, BLOCK_B),
    ("P-24 V neck, any course", (Step(7, 1, 4), Step(52, 1, 3)), 1, BLOCK_B),
]


@pytest.mark.parametrize(("name", "printed", "step", "density"), PRINTED, ids=[row[0] for row in PRINTED])
def test_the_exact_plan_moves_the_printed_needles_with_the_printed_events_nearer_to_the_line(
    name, printed, step, density
):
    needles, courses = total_needles(printed), total_courses(printed)
    edge = straight_edge(name, needles, courses, **density)
    plan = exact_edge(edge, EdgeLimits((printed[0].needles,), step=step), COSTS)
    classic = shaped_edge(edge, events_of(printed), COSTS)
    assert total_needles(plan.steps) == needles
    assert len(plan.shaped.events) == len(classic.events)
    assert plan.shaped.cost <= classic.cost
    assert plan.shaped.rms_deviation_mm < classic.rms_deviation_mm


def test_the_line_of_the_printed_cap_is_followed_within_one_event_p21():
    """9 @ 2 + 11 @ 4 + 13 @ 2, two needles each: the printed plan's own corners are the outline."""
    printed = (Step(9, 2, 2), Step(11, 2, 4), Step(13, 2, 2))
    corners = [(0, 0), (18, 18), (62, 40), (88, 66)]
    wanted = [
        low + (course - start) * (high - low) / (end - start)
        for (start, low), (end, high) in pairwise(corners)
        for course in range(start, end)
    ]
    edge = wanted_edge("cap", [*wanted, 66], **BLOCK_B)
    plan = exact_edge(edge, EdgeLimits((2,)), COSTS)
    classic = shaped_edge(edge, events_of(printed), COSTS)
    assert total_needles(plan.steps) == 66
    assert plan.shaped.strokes == classic.strokes == 99
    assert plan.shaped.max_deviation_mm <= 20 / 6.5
    assert plan.shaped.cost < classic.cost


def test_a_straight_run_stays_before_the_next_section_p13():
    """18 events in 96 rows, convention B: at least the five printed rows stay straight at the end."""
    edge = straight_edge("edge", 18, 96, needles_per_cm=2.8, courses_per_cm=4.0)
    plan = exact_edge(edge, EdgeLimits((1,), step=1, straight_end=5), COSTS)
    assert total_needles(plan.steps) == 18
    assert total_courses(plan.steps) <= 96 - 5


def test_raglan_edges_of_example_c_meet_course_to_course_p22():
    body = straight_edge("raglan of the body", 57, 126, **RAGLAN_C)
    sleeve = straight_edge("raglan of the sleeve", 59, 126, **RAGLAN_C)
    assert body.length_cm == pytest.approx(29.76, abs=0.005)
    assert sleeve.length_cm == pytest.approx(30.06, abs=0.005)
    limits = EdgeLimits((1,))
    pair = EdgePair(body, sleeve, limits, limits, COSTS)
    assert sleeve.length_cm / body.length_cm - 1 == pytest.approx(0.010, abs=0.0005)
    plan = together(pair, 4.0)
    assert total_needles(plan.left.steps) == 57
    assert total_needles(plan.right.steps) == 59
    assert plan.shared_courses >= 57 + 59 - 126 // 2
    assert plan.is_optimal


def test_the_printed_armhole_leaves_the_printed_needles_in_work_p16_p17():
    """318 needles at the chest, 15 bound off and 20 narrowed on each side: 248 across the shoulder, for 98 courses."""
    wanted = [15 + 20 * min(course, 58) / 58 for course in range(157)]
    edge = wanted_edge("armhole", wanted, **BLOCK_B)
    limits = EdgeLimits((2,), bind_off_from=15, bind_off_courses=(0,), straight_end=98)
    plan = exact_edge(edge, limits, COSTS)
    in_work = 318 - 2 * needles_moved(plan.steps, 156)
    assert in_work[0] == 288
    assert set(in_work[58:].tolist()) == {248}
