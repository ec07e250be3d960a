"""The set-in sleeve: widening from cuff to upper arm, and a cap that closes into the real armholes.

In: measures in cm, the real armhole edge of the body's knit-down, densities, rules. Out: `PanelPlan` and how the cap
closes. The cap height comes from the perimeter (S and H of the production reference, section 2); after rounding to
courses it is moved by pairs of courses until the real perimeter eases into the armholes within the limits.
Not covered: body (`body`), other sleeves (later). Sources: puri_2010 (perimeter method), production reference 2, 3.2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.garment.blocks.set_in_crew import block_row, cap_height_cm
from loopwright.garment.measures import Measures
from loopwright.problems import Problem
from loopwright.shaping.fashioning import (
    Steps,
    cap_zones,
    edge_length_cm,
    event_sizes,
    needles_moved,
    shape,
)
from loopwright.shaping.needles import edge_angle_deg, nearest_even
from loopwright.shaping.panel import Narrowing, PanelGauge, PanelPlan, Section, Work
from loopwright.shaping.rules import ShapingRules, rule_row

CAP_RATES = ((2, 4), (4, 6), (2, 6), (6, 8), (8, 10))  # courses between narrowings, fast and slow zone


@dataclass(frozen=True, slots=True)
class Cap:
    """A cap that closes: needles bound off, slope needles a side, courses, top, perimeter against armholes."""

    bind_off: int
    slope_needles: int
    top: int
    courses: int
    steps: Steps
    perimeter_cm: float
    armholes_cm: float

    @property
    def ease_cm(self) -> float:
        """Perimeter of the cap less both armhole edges."""
        return self.perimeter_cm - self.armholes_cm


def close_cap(
    *, upper_arm: int, bind_off: int, armhole_edge_cm: float, gauge: PanelGauge, rules: ShapingRules, size: str
) -> Cap:
    """The cap whose real perimeter eases into the armholes, found by pairs of courses around the computed height.

    Raises:
        Problem: no cap closes (too wide a sleeve, or no rates that fit).
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    top = nearest_even(rules.cap_top_share * upper_arm)
    slope = (upper_arm - 2 * bind_off - top) // 2
    edge = (2 * armhole_edge_cm + rules.cap_ease_cm - top / w - 2 * bind_off / w) / 2
    try:
        height = cap_height_cm(edge_cm=edge, run_cm=slope / w, shape_factor=rules.cap_shape_factor)
    except Problem as problem:
        raise _cannot_close(problem, upper_arm / w, armhole_edge_cm, edge, slope / w, rules, size) from None
    start = nearest_even(height * c)
    limits = block_row("cap_ease_cm")
    caps = [
        cap
        for courses in _outwards(start)
        if (cap := _cap(slope, top, bind_off, courses, armhole_edge_cm, gauge, rules)) is not None
    ]
    if not caps:
        raise Problem(
            f"sleeve cap, size {size}",
            f"{slope} needles a side in about {start} courses fit no pair of narrowing rates.",
            tries=["another number of needles at a time", "a narrower upper arm", "a deeper armhole"],
        )
    eased = [cap for cap in caps if limits["value_low"] <= cap.ease_cm <= limits["value_high"]]
    if not eased:
        return min(caps, key=lambda cap: abs(cap.ease_cm - rules.cap_ease_cm))
    return min(eased, key=lambda cap: (_is_steep(cap, gauge, rules), abs(cap.courses - start)))


def _is_steep(cap: Cap, gauge: PanelGauge, rules: ShapingRules) -> tuple[bool, bool]:
    """Whether an edge leans past what narrowings carry, and whether it needs more needles at a time than wanted."""
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    limit = rule_row("slope_limit_deg")["value"]
    angles = (
        edge_angle_deg(needles=step.needles, courses=step.courses, wales_per_cm=w, courses_per_cm=c)
        for step in cap.steps
    )
    return max(angles, default=0.0) > limit, any(step.needles > rules.narrow_needles for step in cap.steps)


def _outwards(start: int) -> list[int]:
    """Even course counts around a start, nearest first, up to a third away."""
    reach = range(2, max(6, start // 3), 2)
    return [start, *(start + sign * away for away in reach for sign in (1, -1) if start + sign * away > 0)]


def _cap(
    slope: int, top: int, bind_off: int, courses: int, armhole_edge_cm: float, gauge: PanelGauge, rules: ShapingRules
) -> Cap | None:
    steps = _cap_steps(slope, courses, rules)
    if steps is None:
        return None
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    edge = edge_length_cm(steps, needles_per_cm=w, courses_per_cm=c)
    perimeter = top / w + 2 * (bind_off / w + edge)
    return Cap(bind_off, slope, top, courses, steps, perimeter, 2 * armhole_edge_cm)


def _cap_steps(slope: int, courses: int, rules: ShapingRules) -> Steps | None:
    for per_event in dict.fromkeys([rules.narrow_needles, 1, 2, 3]):
        events = len(event_sizes(slope, per_event))
        for fast, slow in CAP_RATES:
            slow_events, rest = divmod(courses - fast * events, slow - fast)
            if fast >= rules.courses_between and not rest and 0 <= slow_events <= events:
                share = rules.cap_bottom_share
                return cap_zones(slope, courses, per_event=per_event, fast=fast, slow=slow, bottom_share=share)
    return None


def _cannot_close(
    problem: Problem,
    upper_arm_cm: float,
    armhole_cm: float,
    edge_cm: float,
    run_cm: float,
    rules: ShapingRules,
    size: str,
) -> Problem:
    """The same problem with what would mend it: how much narrower the arm, or deeper the armhole."""
    short = run_cm - edge_cm / rules.cap_shape_factor
    arm = upper_arm_cm - 2 * short / (1 - rules.cap_top_share * (1 - 1 / rules.cap_shape_factor)) - 1.0
    deeper = short * rules.cap_shape_factor + 0.5
    return Problem(
        f"sleeve cap, size {size}",
        f"upper arm {upper_arm_cm:.1f} cm round, armhole edges 2 × {armhole_cm:.1f} cm: {problem.what}",
        limit=problem.limit,
        tries=[f"an upper arm near {arm:.1f} cm", f"an armhole about {deeper:.1f} cm deeper", "more ease in the cap"],
    )


def plan_sleeve(
    measures: Measures, armhole_edge_cm: float, bind_off: int, gauge: PanelGauge, rules: ShapingRules, size: str
) -> tuple[PanelPlan, Cap]:
    """One sleeve and its cap; a garment takes two.

    Raises:
        Problem: the sleeve cannot be widened in its length, narrows upwards, or the cap cannot close.
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    cuff, upper = nearest_even(measures.cuff_cm * w), nearest_even(measures.upper_arm_cm * w)
    rib = nearest_even(measures.cuff_rib_cm * gauge.rib_courses_per_cm)
    body = nearest_even((measures.sleeve_underarm_cm - measures.cuff_rib_cm) * c)
    widening = _widening(cuff, upper, body, c, rules, size)
    cap = close_cap(
        upper_arm=upper, bind_off=bind_off, armhole_edge_cm=armhole_edge_cm, gauge=gauge, rules=rules, size=size
    )
    wide = cuff + 2 * needles_moved(widening, body)
    narrow = upper - 2 * cap.bind_off - 2 * needles_moved(cap.steps, cap.courses)
    work = np.concatenate([np.full(body, Work.PLAIN), np.full(cap.courses, Work.CAP)]).astype(np.int64)
    widenings = (Narrowing("sleeve", 0, widening, widening=True),) if widening else ()
    plan = PanelPlan(
        name="sleeve",
        size=size,
        pieces=2,
        rib_needles=cuff,
        rib_courses=rib,
        span=np.concatenate([wide, narrow]),
        held=np.zeros(body + cap.courses, dtype=np.int64),
        work=work,
        sections=(Section("sleeve", 0, body), Section("cap", body, cap.courses)),
        fashionings=(*widenings, Narrowing("cap", body, cap.steps)),
        bind_offs=((body, cap.bind_off),) if cap.bind_off else (),
        gauge=gauge,
        mark_needles=rules.mark_needles,
        finish_needles=cap.top,
    )
    return plan, cap


def _widening(cuff: int, upper: int, courses: int, courses_per_cm: float, rules: ShapingRules, size: str) -> Steps:
    if upper < cuff:
        raise Problem(
            f"sleeve, size {size}",
            f"the cuff has {cuff} needles and the upper arm {upper}: this block widens upwards.",
            tries=["a narrower cuff", "a wider upper arm"],
        )
    events = math.ceil((upper - cuff) / 2 / rules.widen_needles)
    straight = nearest_even(rules.sleeve_straight_cm * courses_per_cm)
    if courses - straight < 2 * events:
        straight = max(0, courses - 2 * events)
    if courses < 2 * max(events, 1):
        raise Problem(
            f"sleeve, size {size}",
            f"{events} widenings on each side need {2 * events} courses; the sleeve has {courses} above its rib.",
            tries=["a longer sleeve", "a wider cuff", "a narrower upper arm"],
        )
    slope = (courses - straight) // 2 * 2
    return shape((upper - cuff) // 2, slope, per_event=rules.widen_needles, rule=rules.rule)


def band_needles(*, seam_cm: float, rib_needles_per_cm: float, pick_up: float) -> int:
    """Needles of a neckband: seam × rib density × pick-up ratio, even.

    >>> band_needles(seam_cm=47.93, rib_needles_per_cm=6.9, pick_up=0.95)    # P-27
    314
    """
    return nearest_even(seam_cm * rib_needles_per_cm * pick_up)
