"""Sleeves in needles and courses: widening from cuff to upper arm, and what closes into the real armholes of the body.

In: measures in cm, the body's knit-down, densities, rules. Out: `SleevePlan`. A set-in or saddle sleeve has a cap
whose height comes from the perimeter (S and H of the production reference, section 2); rounded to courses it is moved
by pairs of courses until the real perimeter eases into the armholes within the limits. A dropped sleeve ends
straight; a raglan sleeve is narrowed course for course with the body, its front edge lower.
Not covered: body (`body`), bands (`bands`). Sources: puri_2010 (perimeter method), production reference 2, 3.2, 3.7.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from loopwright.garment.measures import Measures
from loopwright.garment.set_in import block_row, cap_height_cm
from loopwright.garment.sleeves import sleeve_of, sleeve_row
from loopwright.problems import Problem
from loopwright.shaping.body import BodyPlan, cut_edge, raglan_edge_of
from loopwright.shaping.edges import Drafted, Edge, Foot, Stretch, assemble, split_edge, spread_evenly
from loopwright.shaping.fashion import MOST_NEEDLES, fashioned, s_curve, s_length_cm
from loopwright.shaping.fashioning import Steps, cap_zones, edge_length_cm, event_sizes
from loopwright.shaping.joins import Closure
from loopwright.shaping.needles import edge_angle_deg, nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan, Work
from loopwright.shaping.raglan import raglan_corner, sleeve_edge, tied
from loopwright.shaping.rules import EXACT, ShapingRules, rule_row

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
    opposite: Steps | None = None

    @property
    def ease_cm(self) -> float:
        """Perimeter of the cap less both armhole edges."""
        return self.perimeter_cm - self.armholes_cm


def close_cap(
    *,
    upper_arm: int,
    bind_off: int,
    armhole_edge_cm: float,
    gauge: PanelGauge,
    rules: ShapingRules,
    size: str,
    strap: int | None = None,
) -> Cap:
    """The cap whose real perimeter eases into the armholes, found by pairs of courses around the computed height.

    `strap` is the top of a saddle sleeve in needles: it runs on over the shoulder, and is no part of the seam.

    Raises:
        Problem: no cap closes (too wide a sleeve, or no rates that fit).
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    top = nearest_even(rules.cap_top_share * upper_arm) if strap is None else strap
    sewn = top if strap is None else 0
    slope = (upper_arm - 2 * bind_off - top) // 2
    if slope < 1:
        what = (
            f"2 × {bind_off} needles bound off and a top of {top} leave no slope of {upper_arm} needles of upper arm."
        )
        tries = ["a wider upper arm", "a narrower top", "less bound off at the underarm"]
        raise Problem(f"sleeve cap, size {size}", what, tries=tries)
    edge = (2 * armhole_edge_cm + rules.cap_ease_cm - sewn / w - 2 * bind_off / w) / 2
    try:
        height = cap_height_cm(edge_cm=edge, run_cm=slope / w, shape_factor=rules.cap_shape_factor)
    except Problem as problem:
        raise _cannot_close(problem, upper_arm / w, armhole_edge_cm, edge, slope / w, rules, size) from None
    start = nearest_even(height * c)
    wanted = _Wanted(slope, (top, sewn), bind_off, armhole_edge_cm, start)
    cap = _exact_cap(wanted, gauge, rules) if rules.fashioning == EXACT else _zoned_cap(wanted, gauge, rules)
    if cap is None:
        raise Problem(
            f"sleeve cap, size {size}",
            f"{slope} needles a side in about {start} courses fit no pair of narrowing rates.",
            tries=["another number of needles at a time", "a narrower upper arm", "a deeper armhole"],
        )
    return cap


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What a cap closes: needles a side, (top, top in the seam), needles bound off, armhole edge, courses near."""

    slope: int
    tops: tuple[int, int]
    bind_off: int
    armhole_edge_cm: float
    start: int

    def cap(self, courses: int, steps: Steps, edge_cm: float, needles_per_cm: float) -> Cap:
        """The cap of an edge of this length."""
        top, sewn = self.tops
        perimeter = sewn / needles_per_cm + 2 * (self.bind_off / needles_per_cm + edge_cm)
        return Cap(self.bind_off, self.slope, top, courses, steps, perimeter, 2 * self.armhole_edge_cm)


def _zoned_cap(wanted: _Wanted, gauge: PanelGauge, rules: ShapingRules) -> Cap | None:
    """The classic cap (fast, slow, fast) that eases in best near the computed height; none when no rates fit."""
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    caps = []
    for courses in _outwards(wanted.start):
        steps = _cap_steps(wanted.slope, courses, rules)
        if steps is not None:
            edge = edge_length_cm(steps, needles_per_cm=w, courses_per_cm=c)
            caps.append(wanted.cap(courses, steps, edge, w))
    eased = [cap for cap in caps if _is_eased(cap)]
    if not eased:
        return min(caps, key=lambda cap: abs(cap.ease_cm - rules.cap_ease_cm), default=None)
    return min(eased, key=lambda cap: (_is_steep(cap, gauge, rules), abs(cap.courses - wanted.start)))


def _exact_cap(wanted: _Wanted, gauge: PanelGauge, rules: ShapingRules) -> Cap | None:
    """The cap along an S that eases in best near the computed height, shaped by the plan of least cost.

    Its ends are as steep as the needles at a time allow; three at a time only where fewer do not do.
    """
    for most in dict.fromkeys([rules.narrow_needles, 2, MOST_NEEDLES]):
        wider = replace(rules, narrow_needles=most)
        cap = _eased_cap(wanted, gauge, wider, must_ease=most < MOST_NEEDLES)
        if cap is not None:
            curve = s_curve(_swing(wanted.slope, cap.courses, wider) or 0.0)
            made = fashioned(wanted.slope, cap.courses, name="cap", gauge=gauge, rules=wider, curve=curve)
            return replace(cap, steps=made.steps, opposite=made.other)
    return None


def _eased_cap(wanted: _Wanted, gauge: PanelGauge, rules: ShapingRules, *, must_ease: bool) -> Cap | None:
    """The cap nearest to the computed height that eases in as wanted, or else within the limits, or else at all."""
    caps = []
    for courses in _outwards(wanted.start):  # nearest first
        swing = _swing(wanted.slope, courses, rules)
        if swing is None:
            continue
        cap = wanted.cap(courses, (), s_length_cm(wanted.slope, courses, swing, gauge), gauge.needles_per_cm)
        if _is_eased(cap) and abs(cap.ease_cm - rules.cap_ease_cm) <= EVEN_CM:
            return cap
        caps.append(cap)
    eased = [cap for cap in caps if _is_eased(cap)]
    return next(iter(eased or ([] if must_ease else caps)), None)


EVEN_CM = 0.3  # caps whose ease is this near to the one wanted are as good as each other


def _swing(slope: int, courses: int, rules: ShapingRules) -> float | None:
    """How much faster than its mean a cap's ends can be; none when not even its mean can be knitted."""
    steepest, mean = rules.narrow_needles / max(rules.step, rules.courses_between), slope / courses
    swing = min(rule_row("cap_swing")["value"], steepest / mean - 1)
    return swing if swing >= 0 else None


def _is_eased(cap: Cap) -> bool:
    limits = block_row("cap_ease_cm")
    return limits["value_low"] <= cap.ease_cm <= limits["value_high"]


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


@dataclass(frozen=True, slots=True)
class SleevePlan:
    """One sleeve (a garment takes two), its cap where it has one, how its seam closes, what the exact plan gains."""

    panel: PanelPlan
    cap: Cap | None
    closures: tuple[Closure, ...]
    seam_cm: float
    compared: tuple[tuple[str, str], ...] = ()


def plan_sleeve(measures: Measures, body: BodyPlan, gauge: PanelGauge, rules: ShapingRules, size: str) -> SleevePlan:
    """One sleeve.

    Raises:
        Problem: the sleeve cannot be widened in its length, narrows upwards, or cannot close.
    """
    kind = sleeve_of(measures.shape)
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    cuff, upper = nearest_even(measures["cuff"] * w), nearest_even(measures["upper_arm"] * w)
    courses = nearest_even((measures["sleeve_underarm"] - measures["cuff_rib"]) * c)
    arm = _Arm(cuff, upper, _widening(cuff, upper, courses, gauge, rules, size))
    if kind.is_raglan:
        return _raglan(measures, body, arm, gauge, rules, size)
    if kind.has_cap:
        return _set_in(measures, body, arm, gauge, rules, size)
    return _dropped(measures, body, arm, gauge, rules, size)


@dataclass(frozen=True, slots=True)
class _Arm:
    """A sleeve up to the underarm."""

    cuff: int
    upper: int
    below: Stretch


def _draft(
    arm: _Arm, right: tuple[Stretch, ...], measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str,
    left: tuple[Stretch, ...] | None = None, finish: int = 0,
) -> PanelPlan:  # fmt: skip
    rib = nearest_even(measures["cuff_rib"] * gauge.rib_courses_per_cm)
    right_edge = Edge(arm.cuff // 2, (arm.below, *right))
    left_edge = right_edge.facing if left is None else Edge(arm.cuff // 2, (arm.below, *left))
    foot = Foot(arm.cuff, rib, "sleeve", "cuff")
    return assemble(Drafted("sleeve", size, left_edge, right_edge, foot, gauge, 2, rules.mark_needles, finish))


def _set_in(
    measures: Measures, body: BodyPlan, arm: _Arm, gauge: PanelGauge, rules: ShapingRules, size: str
) -> SleevePlan:
    strap = measures.by_name.get("saddle_width")
    top = nearest_even(strap * gauge.needles_per_cm) if strap else None
    cap = close_cap(
        upper_arm=arm.upper, bind_off=body.counts.bind_off, armhole_edge_cm=body.armhole_edge_cm, gauge=gauge,
        rules=rules, size=size, strap=top,
    )  # fmt: skip
    above = [Stretch("cap", cap.courses, bind_off=cap.bind_off, steps=cap.steps, work=Work.CAP, opposite=cap.opposite)]
    if strap:
        shoulder = math.hypot((measures["across_shoulder"] - measures["neck_width"]) / 2, measures["shoulder_drop"])
        above.append(Stretch("strap", nearest_even(shoulder * gauge.courses_per_cm), work=Work.CAP))
    panel = _draft(arm, tuple(above), measures, gauge, rules, size, finish=cap.top)
    limits = block_row("cap_ease_cm")
    tries = ("an upper arm wider or narrower by a few needles", "an armhole deeper by a course or two")
    closure = Closure(
        "sleeve cap", "the sleeve cap", cap.perimeter_cm, "the armholes", cap.armholes_cm,
        limits["value_low"], limits["value_high"], tries,
    )  # fmt: skip
    return SleevePlan(panel, cap, (closure,), body.armhole_edge_cm)


def _dropped(
    measures: Measures, body: BodyPlan, arm: _Arm, gauge: PanelGauge, rules: ShapingRules, size: str
) -> SleevePlan:
    """A dropped sleeve: its top is as wide as both armholes are high; a modified drop runs on straight first."""
    above: tuple[Stretch, ...] = ()
    inset = (body.counts.chest - body.counts.across) / 2 / body.back.gauge.needles_per_cm
    straight = nearest_even(inset * gauge.courses_per_cm)
    if straight:
        above = (Stretch("top", straight),)
    panel = _draft(arm, above, measures, gauge, rules, size, finish=arm.upper)
    height = 2 * body.counts.armhole / body.back.gauge.courses_per_cm
    give = 1.0 / gauge.needles_per_cm + 2.0 / body.back.gauge.courses_per_cm
    tries = ("an armhole deeper by a course or two", "the sleeve by a needle wider")
    closure = Closure(
        "sleeve top",
        "the top of the sleeve",
        arm.upper / gauge.needles_per_cm,
        "the armholes",
        height,
        -give,
        give,
        tries,
    )
    return SleevePlan(panel, None, (closure,), height / 2)


def _raglan(
    measures: Measures, body: BodyPlan, arm: _Arm, gauge: PanelGauge, rules: ShapingRules, size: str
) -> SleevePlan:
    """A raglan sleeve: as many courses as the body's edge; its front edge ends lower and its top is held in steps.

    Raises:
        Problem: the sleeve runs out of needles, or its edge is longer or shorter than the body's.
    """
    w, courses = gauge.needles_per_cm, body.counts.armhole
    base = body.counts.bind_off
    edge, corner = sleeve_edge(measures, base, gauge), raglan_corner(measures)
    plan = tied(raglan_edge_of(body.counts, body.back.gauge), edge, courses, rules, corner)[1]
    back = Edge(arm.upper // 2, (Stretch("raglan", courses, bind_off=base, steps=plan.steps),))
    front = cut_edge(back, body.front_armhole)
    lower = courses - body.front_armhole
    held = top_hold(front.end, back.end, lower, size)
    right = (*front.stretches, *((Stretch("sleeve top", lower, hold=held, work=Work.SHORT_ROWS),) if lower else ()))
    left = split_edge(back, body.front_armhole, "sleeve top")
    panel = _draft(arm, right, measures, gauge, rules, size, left=left if lower else None, finish=front.end + back.end)
    one = base / w + plan.length_cm
    percent = sleeve_row("raglan_edge_percent")["women"] / 100
    tries_seam = ("an upper arm or a top of the sleeve nearer to the body's slope", "another neck width")
    closure = Closure(
        "raglan seam", "the raglan edge of the sleeve", one, "the body's", body.armhole_edge_cm,
        -percent * body.armhole_edge_cm, percent * body.armhole_edge_cm, tries_seam,
    )  # fmt: skip
    return SleevePlan(panel, None, (closure,), body.armhole_edge_cm)


def top_hold(front: int, back: int, courses: int, size: str) -> tuple[int, ...]:
    """Needles held every two courses along the sloped top of a raglan sleeve, from its front to its back corner.

    Raises:
        Problem: nothing is left to hold.
    """
    if front + back < 2:
        what = f"the raglan sleeve has {front + back} needles left at its top."
        raise Problem(f"sleeve, size {size}", what, tries=["a wider upper arm", "a shallower raglan"])
    return spread_evenly(front + back, courses // 2) if courses else ()


def _widening(cuff: int, upper: int, courses: int, gauge: PanelGauge, rules: ShapingRules, size: str) -> Stretch:
    if upper < cuff:
        raise Problem(
            f"sleeve, size {size}",
            f"the cuff has {cuff} needles and the upper arm {upper}: this sleeve widens upwards.",
            tries=["a narrower cuff", "a wider upper arm"],
        )
    events = math.ceil((upper - cuff) / 2 / rules.widen_needles)
    straight = nearest_even(rules.sleeve_straight_cm * gauge.courses_per_cm)
    if courses - straight < 2 * events:
        straight = max(0, courses - 2 * events)
    if courses < 2 * max(events, 1):
        raise Problem(
            f"sleeve, size {size}",
            f"{events} widenings on each side need {2 * events} courses; the sleeve has {courses} above its rib.",
            tries=["a longer sleeve", "a wider cuff", "a narrower upper arm"],
        )
    slope = (courses - straight) // 2 * 2
    plan = fashioned((upper - cuff) // 2, slope, name="sleeve", gauge=gauge, rules=rules, widening=True)
    return Stretch("sleeve", courses, steps=plan.steps, widening=True)
