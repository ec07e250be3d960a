"""Back and front of a set-in pullover: needles, courses and fashioning from measures and gauge.

In: measures in cm, densities of the finished fabric, rules. Out: `PanelPlan`. Both panels have the same side, armhole
and shoulder, so that they meet course for course in the seams; the front differs in its neck.
Not covered: sleeve (`sleeve`), other blocks (later). Source: production reference 3.1-3.6.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.garment.measures import Measures
from loopwright.problems import Problem
from loopwright.shaping.fashioning import (
    Steps,
    needles_moved,
    quarter_ellipse_steps,
    shape,
    total_courses,
)
from loopwright.shaping.needles import nearest_even, nearest_whole
from loopwright.shaping.panel import Narrowing, PanelGauge, PanelPlan, Section, Whole, Work
from loopwright.shaping.rules import ShapingRules

BIND_OFF_FROM_NEEDLES = 3  # common practice: three or more needles at once are bound off or held, not narrowed


@dataclass(frozen=True, slots=True)
class BodyCounts:
    """Needles and courses that back and front share."""

    chest: int
    across: int
    neck: int
    bind_off: int
    rib_courses: int
    body: int
    armhole: int
    shoulder: int
    slope: Steps

    @property
    def shoulder_needles(self) -> int:
        """Needles of one shoulder."""
        return (self.across - self.neck) // 2

    @property
    def courses(self) -> int:
        """Courses of the main fabric."""
        return self.body + self.armhole + self.shoulder


def body_counts(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> BodyCounts:
    """Round the measures to needles and courses and plan the armhole.

    Raises:
        Problem: the armhole or the shoulder cannot be made (inset negative, slope too flat, neck too wide).
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    chest = nearest_even(measures.half_chest_cm * w)
    across = nearest_even(measures.across_shoulder_cm * w)
    neck = nearest_even(measures.neck_width_cm * w)
    armhole_cm = measures.armhole_depth_cm - measures.shoulder_drop_cm
    armhole = nearest_even(armhole_cm * c)
    shoulder = max(2, nearest_even(measures.shoulder_drop_cm * c))
    body = nearest_even((measures.length_cm - measures.armhole_depth_cm - measures.hem_rib_cm) * c)
    rib = nearest_even(measures.hem_rib_cm * gauge.rib_courses_per_cm)
    _check(size, measures, chest, across, neck, body, armhole)
    inset = (chest - across) // 2
    bind_off = min(nearest_whole(rules.armhole_base_cm * w), inset)
    if bind_off < BIND_OFF_FROM_NEEDLES:
        bind_off = 0
    slope = _armhole_slope(inset - bind_off, armhole_cm, armhole, c, rules, size)
    return BodyCounts(chest, across, neck, bind_off, rib, body, armhole, shoulder, slope)


def _check(size: str, measures: Measures, chest: int, across: int, neck: int, body: int, armhole: int) -> None:
    where = f"body, size {size}"
    if across > chest:
        raise Problem(
            where,
            f"across shoulder {measures.across_shoulder_cm:g} cm is wider than "
            f"half chest {measures.half_chest_cm:g} cm.",
            tries=["a narrower shoulder", "a drop shoulder block"],
        )
    if neck + 2 * BIND_OFF_FROM_NEEDLES > across:
        raise Problem(
            where,
            f"neck {measures.neck_width_cm:g} cm leaves no shoulder within {measures.across_shoulder_cm:g} cm.",
            tries=["a narrower neck", "a wider shoulder"],
        )
    if body < 2 or armhole < 2:
        left = measures.length_cm - measures.armhole_depth_cm - measures.hem_rib_cm
        raise Problem(
            where,
            f"length {measures.length_cm:g} cm less armhole {measures.armhole_depth_cm:g} and rib "
            f"{measures.hem_rib_cm:g} leaves {left:.1f} cm of body.",
            tries=["a longer body", "a shallower armhole", "a lower rib"],
        )


def _armhole_slope(
    needles: int, armhole_cm: float, armhole: int, courses_per_cm: float, rules: ShapingRules, size: str
) -> Steps:
    if needles == 0:
        return ()
    courses = min(armhole, nearest_even(rules.armhole_slope_share * armhole_cm * courses_per_cm))
    events = math.ceil(needles / rules.narrow_needles)
    shortest = rules.courses_between * events
    courses = max(courses, shortest)
    if courses > armhole:
        raise Problem(
            f"armhole, size {size}",
            f"{events} narrowings every {rules.courses_between} courses take {shortest} courses; "
            f"the armhole has {armhole}.",
            tries=["a wider across shoulder", "more needles bound off", "a deeper armhole", "more needles at a time"],
        )
    return shape(needles, courses, per_event=rules.narrow_needles, rule=rules.rule)


def plan_back(counts: BodyCounts, measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> PanelPlan:
    """The back: a flat centre held first, then the slope of the neck in equal steps every two courses."""
    wanted = nearest_even(measures.back_neck_drop_cm * gauge.courses_per_cm)
    courses = min(max(2, wanted), counts.armhole + counts.shoulder)
    slope = nearest_whole(counts.neck * (1 - rules.back_neck_flat_share) / 2)
    steps = spread_evenly(slope, courses // 2)
    centre = counts.neck - 2 * slope
    held = np.zeros(counts.courses, dtype=np.int64)
    held[counts.courses - courses :] = np.repeat(centre + 2 * (np.cumsum(steps) - steps), 2)
    return _panel("back", size, counts, held, gauge, rules)


def plan_front(counts: BodyCounts, measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> PanelPlan:
    """The front: a half-ellipse neck, split from its lowest course on.

    Raises:
        Problem: the neck would start below the rib.
    """
    courses = max(2, nearest_even(measures.front_neck_drop_cm * gauge.courses_per_cm))
    if courses > counts.courses:
        raise Problem(
            f"front neck, size {size}",
            f"a neck drop of {measures.front_neck_drop_cm:g} cm takes {courses} courses; "
            f"the front has {counts.courses}.",
            tries=["a shallower neck", "a longer body"],
        )
    held = np.zeros(counts.courses, dtype=np.int64)
    taken = np.cumsum(quarter_ellipse_steps(counts.neck // 2, courses))
    held[counts.courses - courses :] = np.repeat(2 * taken, 2)
    return _panel("front", size, counts, held, gauge, rules)


def spread_evenly(needles: int, steps: int) -> Whole:
    """Needles of each of `steps` steps, as even as whole needles allow, the larger ones first; shape (steps,)."""
    few, more = divmod(needles, steps)
    return np.repeat(np.array([few + 1, few], dtype=np.int64), [more, steps - more])


def _panel(name: str, size: str, counts: BodyCounts, held: Whole, gauge: PanelGauge, rules: ShapingRules) -> PanelPlan:
    span = _span(counts)
    top = counts.body + counts.armhole
    work = np.full(counts.courses, Work.PLAIN, dtype=np.int64)
    work[top:] = Work.SHORT_ROWS
    split = held > 0 if name == "front" else (held > 0) & (np.arange(counts.courses) < top)
    work[split] = Work.SPLIT
    return PanelPlan(
        name=name,
        size=size,
        pieces=1,
        rib_needles=counts.chest,
        rib_courses=counts.rib_courses,
        span=span,
        held=held,
        work=work,
        sections=(
            Section("body", 0, counts.body),
            Section("armhole", counts.body, counts.armhole),
            Section("shoulder", top, counts.shoulder),
        ),
        fashionings=(Narrowing("armhole", counts.body, counts.slope),) if counts.slope else (),
        bind_offs=((counts.body, counts.bind_off),) if counts.bind_off else (),
        gauge=gauge,
        mark_needles=rules.mark_needles,
        neck_needles=counts.neck,
        finish_needles=counts.across,
    )


def _span(counts: BodyCounts) -> Whole:
    """Needles from first to last in work, course by course."""
    body = np.full(counts.body, counts.chest, dtype=np.int64)
    armhole = counts.chest - 2 * counts.bind_off - 2 * needles_moved(counts.slope, counts.armhole)
    steps = spread_evenly(counts.shoulder_needles, counts.shoulder // 2)
    shoulder = counts.across - 2 * np.repeat(np.cumsum(steps) - steps, 2)
    return np.concatenate([body, armhole, shoulder])


def armhole_edge_cm(counts: BodyCounts, gauge: PanelGauge) -> float:
    """Real length of one armhole edge of one panel: bind-off, slope, straight.

    >>> gauge = PanelGauge(6.5, 8.4, 6.9, 9.0)
    >>> counts = BodyCounts(318, 248, 118, 15, 54, 290, 156, 26, shape(20, 58, per_event=2))
    >>> round(armhole_edge_cm(counts, gauge), 2)    # P-19, slope taken as one line of 20 needles over 58 courses
    21.53
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    needles = (counts.chest - counts.across) // 2 - counts.bind_off
    courses = total_courses(counts.slope)
    return counts.bind_off / w + math.hypot(needles / w, courses / c) + (counts.armhole - courses) / c
