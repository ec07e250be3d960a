"""Laws of exact shaping that hold for every edge, and the words it speaks."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.problems import Problem
from loopwright.shaping.exact import EdgePlan, events_of, exact_edge, shaped_edge
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, WantedEdge, straight_edge, wanted_edge
from loopwright.shaping.exact_pair import EdgePair, alternate, symmetric, together
from loopwright.shaping.exact_words import comparison_words
from loopwright.shaping.fashioning import RULES, Step, event_places, needles_moved, shape, total_courses, total_needles

DENSITY = {"needles_per_cm": 6.5, "courses_per_cm": 8.4}
COSTS = EdgeCosts(per_mm2=1.0, per_stroke=0.5, event_strokes=2.0, back_strokes=0.0, bind_off_strokes=2.0)
FREE = replace(COSTS, per_stroke=0.0)


def line(needles: int, courses: int) -> WantedEdge:
    return straight_edge("edge", needles, courses, **DENSITY)


def plan_or_none(edge: WantedEdge, limits: EdgeLimits, costs: EdgeCosts = COSTS) -> EdgePlan | None:
    try:
        return exact_edge(edge, limits, costs)
    except Problem:
        return None


@st.composite
def curves(draw) -> WantedEdge:
    """Outlines that wander at will and end on a whole needle."""
    courses, needles = draw(st.integers(2, 80)), draw(st.integers(0, 30))
    bend = draw(st.floats(0.3, 3.0))
    wave = draw(st.floats(-2.0, 2.0))
    t = np.linspace(0, 1, courses + 1)
    return wanted_edge("curve", [*(needles * t**bend + wave * np.sin(np.pi * t))[:-1].tolist(), needles], **DENSITY)


@st.composite
def limits(draw) -> EdgeLimits:
    step = draw(st.integers(1, 3))
    return EdgeLimits(
        draw(st.sampled_from([(1,), (2,), (1, 2), (1, 2, 3)])),
        courses_between=draw(st.integers(1, 6)),
        step=step,
        parity=draw(st.integers(0, step - 1)),
        first_after=draw(st.integers(0, 6)),
        straight_end=draw(st.integers(0, 6)),
    )


@given(curves(), limits())
def test_every_plan_ends_on_its_needle_and_keeps_its_limits(edge, limits):
    plan = plan_or_none(edge, limits)
    assume(plan is not None)
    places, sizes = event_places(plan.steps)
    assert total_needles(plan.steps) == edge.needles
    assert set(sizes.tolist()) <= set(limits.needles_per_event)
    assert all(later - earlier >= limits.courses_between for earlier, later in pairwise(places))
    assert all(place % limits.step == limits.parity for place in places)
    assert all(limits.first_after <= place <= edge.courses - limits.straight_end for place in places)
    assert plan.is_optimal


@given(curves(), limits())
def test_strokes_and_deviations_are_those_of_the_steps(edge, limits):
    plan = plan_or_none(edge, limits)
    assume(plan is not None)
    deviation = edge.deviation_mm(needles_moved(plan.steps, edge.courses))
    assert plan.shaped.strokes == 2.0 * sum(step.times for step in plan.steps)
    assert plan.shaped.max_deviation_mm == pytest.approx(np.abs(deviation).max())
    assert plan.shaped.rms_deviation_mm == pytest.approx(np.sqrt(np.mean(deviation**2)))


@given(st.integers(1, 40), st.integers(0, 120), st.integers(1, 3), st.sampled_from(sorted(RULES)))
def test_no_classic_rule_is_cheaper_than_the_exact_plan(events, extra, per_event, rule):
    needles, courses = events * per_event, 2 * (events + extra)
    edge = line(needles, courses)
    classic = shape(needles, courses, per_event=per_event, rule=RULES[rule])
    plan = exact_edge(edge, EdgeLimits((per_event,)), COSTS)
    counted = shaped_edge(edge, events_of(classic), COSTS)
    assert plan.shaped.cost <= counted.cost + 1e-9
    assert plan.shaped.strokes == counted.strokes


@given(curves(), limits())
def test_one_more_size_of_event_never_makes_an_edge_dearer(edge, limits):
    plan = plan_or_none(edge, limits)
    assume(plan is not None)
    freer = replace(limits, needles_per_event=(*limits.needles_per_event, 4))
    assert exact_edge(edge, freer, COSTS).shaped.cost <= plan.shaped.cost + 1e-9


@given(curves(), limits())
def test_an_edge_knitted_from_its_other_end_costs_the_same(edge, limits):
    """Read backwards, an event after k courses is one after courses − k; what is left to move is what was moved."""
    plan = plan_or_none(edge, limits)
    back = [edge.needles - moved for moved in reversed(edge.needles_moved)]
    assume(back[-1] == round(back[-1]))
    turned = replace(edge, needles_moved=tuple(back))
    mirrored = replace(
        limits,
        parity=(edge.courses - limits.parity) % limits.step,
        first_after=limits.straight_end,
        straight_end=limits.first_after,
    )
    other = plan_or_none(turned, mirrored)
    assert (plan is None) == (other is None)
    assert plan is None or other.shaped.cost == pytest.approx(plan.shaped.cost)


@given(st.integers(1, 60), st.integers(0, 200))
def test_with_nothing_in_its_way_a_stair_is_its_outline_rounded_to_whole_needles(needles, extra):
    edge = line(needles, needles + extra)
    plan = exact_edge(edge, EdgeLimits((1,), courses_between=1, step=1, first_after=0), FREE)
    nearest = np.rint(edge.mid_course) - edge.mid_course
    assert plan.shaped.cost == pytest.approx(float(np.sum((nearest * 10 / 6.5) ** 2)))
    assert plan.shaped.max_deviation_mm <= 5 / 6.5 + 1e-9


def test_two_needles_at_a_time_pay_from_the_stroke_on_that_the_stair_of_theory_says():
    """50 / (w²·strokes·slope) mm² per stroke, from the variance of a saw tooth; the armhole of worked example B.

    The ends, where half a tooth stands, are left to either size.
    """
    edge = line(20, 58)
    pays = 50 / (6.5**2 * 2.0 * 20 / 58)
    cheap = exact_edge(edge, EdgeLimits((1, 2)), replace(COSTS, per_stroke=0.5 * pays))
    dear = exact_edge(edge, EdgeLimits((1, 2)), replace(COSTS, per_stroke=2 * pays))
    assert len(cheap.shaped.events) > 15
    assert len(dear.shaped.events) <= 11


def test_a_waist_narrows_and_widens_again():
    t = np.linspace(0, 1, 121)
    waist = wanted_edge("waist", [*(12 * np.sin(np.pi * t) ** 2)[:-1].tolist(), 0], **DENSITY)
    plan = exact_edge(waist, EdgeLimits((1, 2), needles_back=(1,), courses_between=4), COSTS)
    assert total_needles(plan.steps) == 0
    assert max(needles_moved(plan.steps, 120)) in (11, 12)
    assert plan.shaped.strokes == 2.0 * sum(step.times for step in plan.steps if step.needles > 0)
    assert plan.is_optimal


def test_a_bind_off_takes_the_flat_part_of_an_armhole_at_once():
    """Worked example B: 15 needles at the underarm, then 20 over 58 courses, then 98 straight."""
    wanted = [15 + 20 * min(course, 58) / 58 for course in range(157)]
    armhole = wanted_edge("armhole", wanted, **DENSITY)
    plan = exact_edge(armhole, EdgeLimits((1, 2), bind_off_courses=(0,)), COSTS)
    first = plan.shaped.events[0]
    assert (first.course, first.change.is_bind_off) == (0, True)
    assert 14 <= first.needles <= 16
    assert total_needles(plan.steps) == 35
    assert 50 <= total_courses(plan.steps) <= 58


def test_windows_hold_the_first_and_the_last_event():
    windows = EdgeLimits((1, 2), first_after=20, first_before=30, last_after=50)
    places, _ = event_places(exact_edge(line(10, 60), windows, COSTS).steps)
    assert 20 <= places[0] <= 30
    assert places[-1] >= 50


def test_an_edge_that_stays_straight_has_no_events():
    plan = exact_edge(line(0, 40), EdgeLimits((1,), first_before=10, last_after=30), COSTS)
    assert plan.steps == ()
    assert plan.shaped.cost == 0


def test_too_many_needles_are_refused_with_both_numbers():
    with pytest.raises(
        Problem, match=r"59 needles do not fit into 100 courses at 1 needle every 2 courses\. Limit: at"
    ) as told:
        exact_edge(line(59, 100), EdgeLimits((1,)), COSTS)
    assert told.value.limit == "at most 50 needles in 50 events"


def test_too_many_needles_for_every_course_are_refused():
    with pytest.raises(Problem, match="45 needles do not fit into 20 courses at 2 needles every course"):
        exact_edge(line(45, 20), EdgeLimits((1, 2), courses_between=1, step=1), COSTS)


def test_needles_that_the_events_cannot_add_up_to_are_refused():
    with pytest.raises(Problem, match="No plan moves 5 needles in 40 courses by 2 needles at a time"):
        exact_edge(line(5, 40), EdgeLimits((2,)), COSTS)


def test_an_edge_without_a_course_for_events_says_so():
    with pytest.raises(Problem, match="at most 0 needles in 0 events"):
        exact_edge(line(5, 10), EdgeLimits((1,), first_after=6, straight_end=6), COSTS)


@pytest.mark.parametrize(
    "wrong",
    [{"needles_moved": (0.0, 1.5)}, {"needles_moved": (1.0,)}, {"needles_moved": (0.0, math.nan, 1.0)}],
)
def test_an_outline_is_whole_at_its_end_and_finite(wrong):
    with pytest.raises(ValueError, match="outline"):
        replace(line(4, 8), **wrong)


HALF_STROKE = replace(COSTS, event_strokes=0.5)


@pytest.mark.parametrize(
    ("classic", "sizes", "costs", "words"),
    [
        ((Step(4, 1, 4),), (2,), COSTS, "4 fewer transfer strokes, as close to the outline"),
        ((Step(1, 1, 2), Step(3, 1, 4)), (2,), COSTS, "4 fewer transfer strokes but 0.5 mm further from the outline"),
        ((Step(2, 2, 8),), (1,), COSTS, "4 more transfer strokes but 1.3 mm closer to the outline"),
        ((Step(4, 1, 4),), (1,), COSTS, "as many transfer strokes, 0.5 mm closer to the outline"),
        ((Step(1, 1, 2), Step(3, 1, 4)), (1,), COSTS, "as many transfer strokes, as close to the outline"),
        ((Step(4, 1, 4),), (2,), HALF_STROKE, "1 fewer transfer stroke, as close to the outline"),
        ((Step(2, 2, 8),), (2,), HALF_STROKE, "as many transfer strokes, 0.9 mm closer to the outline"),
    ],
)
def test_a_person_reads_what_an_exact_plan_saves_and_costs(classic, sizes, costs, words):
    """4 needles over 16 courses by hand: singles late 0.573 needles rms, singles centred 0.280, doubles centred 0.573,
    doubles late 1.152; one needle is 1.538 mm.
    """
    plan = exact_edge(line(4, 16), EdgeLimits(sizes), costs)
    assert comparison_words(classic, plan.shaped, costs) == words


EVERY_COURSE = EdgeLimits((1, 2), step=1)


def pair_of(left: WantedEdge, right: WantedEdge, each: EdgeLimits = EVERY_COURSE) -> EdgePair:
    return EdgePair(left, right, each, each, COSTS)


def narrowing_courses(shaped) -> set[int]:
    return {event.course for event in shaped.events}


@given(st.integers(1, 14), st.integers(1, 14), st.integers(0, 20))
def test_alternating_edges_narrow_on_even_and_on_odd_courses(left, right, extra):
    courses = 2 * max(left, right) + 3 + extra
    pair = pair_of(line(left, courses), line(right, courses))
    plan = alternate(pair)
    parities = [{course % 2 for course in narrowing_courses(side)} for side in (plan.left, plan.right)]
    assert sorted(map(sorted, parities)) == [[0], [1]]


@given(st.integers(1, 14), st.integers(0, 20))
def test_two_equal_edges_planned_together_are_symmetric_and_share_every_course(needles, extra):
    edge = line(needles, 2 * needles + extra)
    pair = pair_of(edge, edge)
    same = symmetric(pair, 3.0)
    assert same.left.steps == same.right.steps
    assert same.strokes == 3.0 * len(same.left.events)
    assert together(pair, 3.0).cost == pytest.approx(same.cost)
    assert same.is_optimal


def test_shared_courses_that_save_nothing_leave_each_edge_its_own_best_plan():
    left, right = line(9, 40), line(13, 40)
    limits = EdgeLimits((1, 2), courses_between=3, step=1)
    alone = [exact_edge(edge, limits, COSTS).shaped.cost for edge in (left, right)]
    assert together(pair_of(left, right, limits), 4.0).cost == pytest.approx(sum(alone))


def test_edges_of_different_courses_are_not_planned_course_by_course():
    with pytest.raises(Problem, match="58 and 60 courses cannot be planned course by course"):
        pair_of(line(20, 58), line(20, 60))


def test_edges_that_end_on_different_needles_are_not_symmetric():
    with pytest.raises(Problem, match="20 and 22 needles cannot be moved by the same events"):
        symmetric(pair_of(line(20, 58), line(22, 58)), 3.0)


def test_the_edge_that_has_no_plan_alone_is_the_one_named():
    with pytest.raises(Problem, match="50 needles do not fit into 20 courses"):
        together(pair_of(line(5, 20), line(50, 20)), 3.0)


def test_two_edges_too_large_to_be_searched_together_are_refused():
    wide = line(80, 300)
    with pytest.raises(Problem, match="The two edges together have 125 million states"):
        together(pair_of(wide, wide, EdgeLimits((1, 2), courses_between=8, step=1)), 3.0)
