"""Laws of fashioning that hold for every edge, whatever its numbers."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from loopwright.garment.necks.neck import quarter_ellipse
from loopwright.problems import Problem
from loopwright.shaping.edges import spread_evenly
from loopwright.shaping.fashioning import (
    RULES,
    cap_zones,
    deviation_mm,
    event_places,
    needles_moved,
    shape,
    total_courses,
    total_needles,
)
from loopwright.shaping.neckline import curve_steps
from loopwright.shaping.needles import nearest_even

events = st.integers(1, 120)
rules = st.sampled_from(sorted(RULES))


@given(events, st.integers(1, 400), st.sampled_from([1, 2]), rules)
def test_intervals_fill_the_courses_exactly(count, extra, step, rule):
    courses = step * (count + extra)
    intervals = RULES[rule](count, courses, step)
    assert sum(intervals) == courses
    assert len(intervals) == count
    assert all(interval > 0 and interval % step == 0 for interval in intervals)
    assert max(intervals) - min(intervals) <= step


@given(events, st.integers(1, 3), st.integers(0, 300), rules)
def test_needles_after_the_last_narrowing_are_the_planned_ones(count, per_event, extra, rule):
    needles = count * per_event - (per_event - 1 if count > 1 else 0)
    courses = 2 * (count + extra)
    steps = shape(needles, courses, per_event=per_event, rule=RULES[rule])
    assert total_needles(steps) == needles
    assert total_courses(steps) == courses
    moved = needles_moved(steps, courses + 1)
    assert moved[-1] == needles
    assert np.all(np.diff(moved) >= 0)


@given(events, st.integers(1, 300))
def test_line_rule_stays_within_half_a_step_of_its_line(count, extra):
    courses = 2 * (count + extra)
    places, _ = event_places(shape(count, courses, per_event=1, rule=RULES["line"]))
    exact = np.arange(1, count + 1) * courses / count
    assert np.all(np.abs(places - exact) <= 1 + 1e-9)


@given(st.integers(1, 100), st.integers(1, 200))
def test_line_rule_is_never_further_from_the_line_than_one_needle_and_half_a_step(count, extra):
    courses = 2 * (count + extra)
    line = deviation_mm(shape(count, courses, per_event=1, rule=RULES["line"]), needles_per_cm=6.5)
    one_needle = 10 / 6.5
    assert line <= one_needle * (1 + count / courses) + 1e-6


@given(st.integers(2, 300), st.integers(1, 120))
def test_ellipse_steps_take_every_needle_and_end_steep(needles, half_courses):
    steps = curve_steps(needles, 2 * half_courses, quarter_ellipse)
    assert sum(steps) == needles
    assert min(steps) >= 0


@given(st.integers(0, 400), st.integers(1, 60))
def test_shoulder_steps_share_needles_evenly(needles, steps):
    taken = spread_evenly(needles, steps)
    assert sum(taken) == needles
    assert max(taken) - min(taken) <= 1


@given(st.integers(1, 120), st.integers(1, 3), st.integers(0, 120))
def test_cap_zones_close_in_courses_and_needles(count, per_event, slow):
    assume(slow <= count)
    needles, courses = count * per_event, 2 * count + 2 * slow
    steps = cap_zones(needles, courses, per_event=per_event)
    assert total_needles(steps) == needles
    assert total_courses(steps) == courses


def test_more_narrowings_than_courses_are_refused_with_both_numbers():
    with pytest.raises(Problem, match="40 narrowings do not fit into 60 courses"):
        shape(40, 60, per_event=1)


@given(st.floats(0.5, 2000))
def test_rounding_to_even_is_never_off_by_more_than_one(value):
    rounded = nearest_even(value)
    assert rounded % 2 == 0
    assert abs(rounded - value) <= 1
