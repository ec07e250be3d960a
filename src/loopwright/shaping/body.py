"""Back and front of an upper-body garment: needles, courses and fashioning from measures and gauge, part by part.

In: measures in cm, densities of the finished fabric, rules. Out: `BodyPlan`: back, front and the real lengths of the
edges that sleeves and bands are joined to. Both panels have the same side, armhole and shoulder, so that they meet
course for course in the seams; the front differs in its neck, a cardigan's front is half a body, a raglan's is lower.
Not covered: sleeves (`sleeve`), bands (`bands`). Source: production reference 3.1-3.9.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from loopwright.garment.measures import Measures
from loopwright.garment.necks import neck_called
from loopwright.garment.outline import raglan_base_cm, raglan_front_lower_cm, shoulder_lowered_cm, side_points
from loopwright.garment.sleeves import Sleeve, sleeve_of
from loopwright.problems import Problem
from loopwright.shaping.edges import Drafted, Edge, Foot, Insert, Opening, Stretch, assemble, split_edge, spread_evenly
from loopwright.shaping.fashion import fashioned, needs_room, with_enough_needles
from loopwright.shaping.fashioning import later_steps, total_needles
from loopwright.shaping.neckline import back_length_cm, back_opening, front_length_cm, front_opening
from loopwright.shaping.needles import nearest_even, nearest_whole
from loopwright.shaping.panel import PanelGauge, PanelPlan, Work
from loopwright.shaping.raglan import RaglanEdge, raglan_corner, sleeve_edge, tied
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.shortrows import bust_dart, folds, hem_rows

KEPT_AT_A_POINT = 1  # needles that knit to the top where neck and raglan, or neck and a level shoulder, run together
BIND_OFF_FROM_NEEDLES = 3  # common practice: three or more needles at once are bound off or held, not narrowed


@dataclass(frozen=True, slots=True)
class BodyCounts:
    """Needles of the whole width and courses that back and front share; a raglan has no shoulder."""

    chest: int
    across: int
    neck: int
    bind_off: int
    rib_courses: int
    body: int
    armhole: int
    shoulder: int

    @property
    def shoulder_needles(self) -> int:
        """Needles of one shoulder."""
        return (self.across - self.neck) // 2


@dataclass(frozen=True, slots=True)
class BodyPlan:
    """Back and front, and the real lengths in cm of one armhole edge of each and of the neck edges.

    `compared` says what the exact plan gains, by edge.
    """

    counts: BodyCounts
    back: PanelPlan
    front: PanelPlan
    armhole_edge_cm: float
    front_neck_cm: float
    back_neck_cm: float
    front_armhole: int
    compared: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class _Armhole:
    """An armhole as one stretch up to the neck or the shoulder, with its real edge length."""

    stretch: Stretch
    length_cm: float
    compared: str = ""


def plan_body(
    measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str, sleeve_gauge: PanelGauge | None = None
) -> BodyPlan:
    """Back and front of one size. A raglan is planned together with the edge of its sleeve (`sleeve_gauge`).

    Raises:
        Problem: the armhole, the shoulder, the neck or the side cannot be made; with both numbers and what to try.
    """
    kind = sleeve_of(measures.shape)
    counts = body_counts(measures, gauge, rules, size)
    side = _side(measures, gauge, rules, size)
    if kind.is_raglan:
        armhole = raglan_armhole(counts, measures, gauge, sleeve_gauge or gauge, rules, size)
    else:
        armhole = _armhole(counts, measures, gauge, rules, size)
    shoulder = _shoulder(counts)
    edge = Edge(side[0].needles, (*(each.stretch for each in side), armhole.stretch, *shoulder))
    back = _back(edge, counts, measures, gauge, rules, size)
    front_armhole, front_edge = counts.armhole, edge
    if kind.is_raglan:
        front_armhole = counts.armhole - nearest_even(raglan_front_lower_cm(measures) * gauge.courses_per_cm)
        front_edge = cut_edge(edge, front_armhole)
    front, front_neck = _front(front_edge, counts, measures, gauge, rules, size)
    name = "raglan" if kind.is_raglan else "armhole"
    compared = ((name, armhole.compared),) if armhole.compared else ()
    return BodyPlan(
        counts=counts,
        back=assemble(back),
        front=assemble(front),
        armhole_edge_cm=armhole.length_cm,
        front_neck_cm=front_neck,
        back_neck_cm=back_length_cm(back.opening, gauge) if back.opening else 0.0,
        front_armhole=front_armhole,
        compared=compared,
    )


def body_counts(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> BodyCounts:
    """Round the measures to needles and courses.

    Raises:
        Problem: they leave no shoulder, no armhole or no body.
    """
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    kind, lowered = sleeve_of(measures.shape), shoulder_lowered_cm(measures)
    chest = nearest_even(measures["half_chest"] * w)
    neck = nearest_even(measures["neck_width"] * w)
    rib = nearest_even(measures["hem_rib"] * gauge.rib_courses_per_cm)
    body = nearest_even((measures["length"] - measures["armhole_depth"] - measures["hem_rib"]) * c)
    if kind.is_raglan:
        base = nearest_whole(raglan_base_cm(measures) * w)
        counts = BodyCounts(chest, chest, neck, base, rib, body, nearest_even(measures["raglan_depth"] * c), 0)
    else:
        across = nearest_even(measures.by_name.get("across_shoulder", measures["half_chest"]) * w)
        armhole = nearest_even((measures["armhole_depth"] - measures["shoulder_drop"] - lowered) * c)
        shoulder = nearest_even(measures["shoulder_drop"] * c)
        off = _bind_off(kind, (chest - across) // 2, rules, w)
        counts = BodyCounts(chest, across, neck, off, rib, body, armhole, shoulder)
    _check(size, measures, counts)
    return counts


def _bind_off(kind: Sleeve, inset: int, rules: ShapingRules, needles_per_cm: float) -> int:
    """Needles bound off at each underarm."""
    wanted = (
        inset if kind.name == "modified drop" else min(nearest_whole(rules.armhole_base_cm * needles_per_cm), inset)
    )
    return wanted if wanted >= BIND_OFF_FROM_NEEDLES else 0


def _check(size: str, measures: Measures, counts: BodyCounts) -> None:
    where = f"body, size {size}"
    if counts.across > counts.chest:
        across, chest = measures["across_shoulder"], measures["half_chest"]
        what = f"across shoulder {across:g} cm is wider than half chest {chest:g} cm."
        raise Problem(where, what, tries=["a narrower shoulder", "a drop shoulder"])
    if counts.neck + 2 * BIND_OFF_FROM_NEEDLES > counts.across:
        across = measures.by_name.get("across_shoulder", measures["half_chest"])
        what = f"neck {measures['neck_width']:g} cm leaves no shoulder within {across:g} cm."
        raise Problem(where, what, tries=["a narrower neck", "a wider shoulder"])
    if counts.body < 2 or counts.armhole < 2:
        left = measures["length"] - measures["armhole_depth"] - measures["hem_rib"]
        what = (
            f"length {measures['length']:g} cm less armhole {measures['armhole_depth']:.1f} and rib "
            f"{measures['hem_rib']:g} leaves {left:.1f} cm of body."
        )
        raise Problem(where, what, tries=["a longer body", "a shallower armhole", "a lower rib"])


@dataclass(frozen=True, slots=True)
class _Sided:
    needles: int
    stretch: Stretch


def _side(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> list[_Sided]:
    """The side from the rib to the underarm: straight, or through hip and waist."""
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    points = side_points(measures)
    half = nearest_even(measures["half_chest"] * w) // 2
    if measures.shape.side != "shaped" and points[0][0] == points[-1][0]:
        courses = nearest_even((points[-1][1] - points[0][1]) * c)
        return [_Sided(half, Stretch("body", courses))]
    foot = points[0][1]
    levels = [nearest_even((y - foot) * c) for _, y in points]
    needles = [nearest_whole(x * w) for x, _ in points[:-1]] + [half]
    needles[-2] = half if points[-2][0] == points[-1][0] else needles[-2]
    names = _side_names(len(points) - 1)
    made = []
    for name, (n1, n2), (k1, k2) in zip(names, pairwise(needles), pairwise(levels), strict=True):
        made.append(_Sided(n1, _side_stretch(name, n1, n2, k2 - k1, gauge, rules, size)))
    return [each for each in made if each.stretch.courses] or made


def _side_names(count: int) -> list[str]:
    return ["hem", "hip", "waist", "body"][-count:] if count <= 4 else [f"side {n}" for n in range(1, count + 1)]


def _side_stretch(
    name: str, start: int, end: int, courses: int, gauge: PanelGauge, rules: ShapingRules, size: str
) -> Stretch:
    moved = abs(start - end)
    if not moved:
        return Stretch(name, courses)
    widening = end > start
    most = rules.widen_needles if widening else rules.narrow_needles
    events = math.ceil(moved / most)
    if courses < 2 * events:
        tries = ["less shaping", "a longer body", "more needles at a time"]
        raise needs_room(name, size, events, 2, courses, tries)
    plan = fashioned(moved, courses, name=name, gauge=gauge, rules=rules, widening=widening)
    return Stretch(name, courses, steps=plan.steps, widening=widening, opposite=plan.other)


def _armhole(counts: BodyCounts, measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> _Armhole:
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    needles = (counts.chest - counts.across) // 2 - counts.bind_off
    if not needles:
        length = counts.bind_off / w + counts.armhole / c
        return _Armhole(Stretch("armhole", counts.armhole, bind_off=counts.bind_off), length)
    courses = nearest_even(rules.armhole_slope_share * (measures["armhole_depth"] - measures["shoulder_drop"]) * c)
    events = math.ceil(needles / rules.narrow_needles)
    courses = max(min(counts.armhole, courses), rules.courses_between * events)
    if courses > counts.armhole:
        tries = ["a wider across shoulder", "more needles bound off", "a deeper armhole", "more needles at a time"]
        raise needs_room("armhole", size, events, rules.courses_between, counts.armhole, tries)
    plan = fashioned(needles, courses, name="armhole", gauge=gauge, rules=rules)
    slope = math.hypot(needles / w, courses / c) if plan.steps else 0.0
    length = counts.bind_off / w + slope + (counts.armhole - courses) / c
    stretch = Stretch("armhole", counts.armhole, bind_off=counts.bind_off, steps=plan.steps, opposite=plan.other)
    return _Armhole(stretch, length, plan.compared)


def raglan_armhole(
    counts: BodyCounts,
    measures: Measures,
    gauge: PanelGauge,
    sleeve_gauge: PanelGauge,
    rules: ShapingRules,
    size: str,
) -> _Armhole:
    """The raglan edge of the back: bound off at the underarm, then narrowed all the way to the neck."""
    edge, sleeve = raglan_edge_of(counts, gauge), sleeve_edge(measures, counts.bind_off, sleeve_gauge)
    corner = raglan_corner(measures)
    of_body = ["a deeper raglan", "a wider neck", "more needles at a time", "a wider underarm base"]
    of_sleeve = ["a wider upper arm", "a narrower top of the sleeve", "a deeper raglan"]
    for name, one, tries in (("raglan", edge, of_body), ("raglan of the sleeve", sleeve, of_sleeve)):
        enough = with_enough_needles(rules, one.needles, counts.armhole, corner)
        check_events(name, size, one.needles, counts.armhole, enough, tries)
    plan = tied(edge, sleeve, counts.armhole, rules, corner)[0]
    length = counts.bind_off / gauge.needles_per_cm + plan.length_cm
    stretch = Stretch("raglan", counts.armhole, bind_off=counts.bind_off, steps=plan.steps)
    return _Armhole(stretch, length, plan.compared)


def raglan_edge_of(counts: BodyCounts, gauge: PanelGauge) -> RaglanEdge:
    """The body's edge of the raglan seam."""
    return RaglanEdge((counts.chest - counts.neck) // 2 - counts.bind_off, gauge)


def check_events(name: str, size: str, needles: int, courses: int, rules: ShapingRules, tries: list[str]) -> None:
    """Refuse an edge that has fewer courses than its narrowings take, or no needles to narrow.

    Raises:
        Problem: with both numbers.
    """
    if needles < 0:
        what = f"{-needles} needles too few are left to narrow: the underarm and the neck already take them."
        raise Problem(f"{name}, size {size}", what, tries=["a narrower neck or top", "less bound off at the underarm"])
    events = math.ceil(needles / rules.narrow_needles)
    if courses < rules.courses_between * events:
        raise needs_room(name, size, events, rules.courses_between, courses, tries)


def _shoulder(counts: BodyCounts) -> tuple[Stretch, ...]:
    if not counts.shoulder:
        return ()
    hold = spread_evenly(counts.shoulder_needles, counts.shoulder // 2)
    return (Stretch("shoulder", counts.shoulder, hold=hold, work=Work.SHORT_ROWS),)


def cut_edge(edge: Edge, courses: int) -> Edge:
    """An edge whose last stretch ends after `courses`, its later events left out."""
    return Edge(edge.needles, split_edge(edge, courses, "cut off")[:-1])


def _back(
    edge: Edge, counts: BodyCounts, measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str
) -> Drafted:
    drop = max(0.0, measures["back_neck_drop"] - shoulder_lowered_cm(measures))
    top = counts.armhole + counts.shoulder
    courses = min(max(2, nearest_even(drop * gauge.courses_per_cm)), top)
    kept = 0 if counts.shoulder else KEPT_AT_A_POINT
    opening = back_opening(
        needles=counts.neck // 2, courses=courses, panel_courses=edge.courses, rules=rules, kept=kept
    )
    return _draft(
        "back", edge.facing, edge, counts, gauge, rules, size, opening, _hem_rows("back", measures, edge, gauge)
    )


def _front(
    edge: Edge, counts: BodyCounts, measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str
) -> tuple[Drafted, float]:
    """The front and the real length of its whole neck edge.

    Raises:
        Problem: the neck would start below the rib, or take needles that the raglan has already narrowed.
    """
    c, neck = gauge.courses_per_cm, neck_called(measures.shape.neck)
    kind = sleeve_of(measures.shape)
    lowered = raglan_front_lower_cm(measures) if kind.is_raglan else shoulder_lowered_cm(measures)
    drop = measures["front_neck_drop"] - lowered
    courses = max(2, nearest_even(drop * c))
    if courses > edge.courses:
        what = (
            f"a neck drop of {measures['front_neck_drop']:g} cm takes {courses} courses; the front has {edge.courses}."
        )
        raise Problem(f"front neck, size {size}", what, tries=["a shallower neck", "a longer body"])
    half = counts.neck // 2 if not kind.is_raglan else edge.end
    opening = front_opening(
        neck, needles=half, courses=courses, panel_courses=edge.courses, gauge=gauge, rules=rules,
        kept=0 if counts.shoulder else KEPT_AT_A_POINT,
    )  # fmt: skip
    _check_neck(edge, opening, size)
    length = front_length_cm(neck, opening, gauge)
    inserts = (*_hem_rows("front", measures, edge, gauge), *bust_dart(measures, edge, gauge))
    draft = _draft("front", edge.facing, edge, counts, gauge, rules, size, opening, inserts)
    draft = replace(draft, gathers=folds(measures.shape, courses=counts.body, gauge=gauge))
    if measures.shape.block == "cardigan":
        return _half(draft, measures, gauge), length
    return draft, length


def _check_neck(edge: Edge, opening: Opening, size: str) -> None:
    left = edge.in_work() - opening.right
    if int(left.min(initial=1)) < 1:
        at = int(left.argmin())
        what = f"the neck takes {opening.right[at]} needles a side where half the front has {edge.in_work()[at]}."
        tries = ["a shallower or narrower neck", "a wider waist or a deeper raglan"]
        raise Problem(f"front neck, size {size}", what, tries=tries)


def _hem_rows(name: str, measures: Measures, edge: Edge, gauge: PanelGauge) -> tuple[Insert, ...]:
    return hem_rows(name, measures.shape, needles=edge.needles, gauge=gauge)


def _half(draft: Drafted, measures: Measures, gauge: PanelGauge) -> Drafted:
    """A cardigan's front: the right half of the front, less half of the band that laps over its edge.

    Raises:
        Problem: half of the band is as wide as half of the neck.
    """
    less = nearest_whole(measures["front_band"] / 2 * gauge.needles_per_cm)
    if draft.opening is not None and less >= draft.opening.needles // 2:
        half_cm = draft.opening.needles / 2 / gauge.needles_per_cm
        what = (
            f"half the front band, {measures['front_band'] / 2:.1f} cm, takes all of half the neck, {half_cm:.1f} cm."
        )
        raise Problem(f"front, size {draft.size}", what, tries=["a narrower front band", "a wider neck"])
    right = Edge(draft.right.needles - less, draft.right.stretches)
    straight = Edge(0, tuple(Stretch(each.name, each.courses, work=each.work) for each in right.stretches))
    foot = Foot(right.needles, draft.foot.rib_courses, draft.foot.zone, draft.foot.rib_zone)
    opening, finish = draft.opening, draft.finish_needles // 2 - less
    if opening is not None:
        side = (opening.right - less).clip(min=0)
        nothing = side * 0
        taken = opening.needles // 2 - less
        steps = later_steps(opening.steps, less)
        finish += total_needles(opening.steps) - total_needles(steps)
        opening = Opening(nothing, side, taken, opening.courses, how="edge", steps=steps)
    inserts = tuple(
        Insert(each.name, each.course, tuple((0, max(0, right_needles - less)) for _, right_needles in each.pairs))
        for each in draft.inserts
    )
    return Drafted(
        draft.name, draft.size, straight, right, foot, draft.gauge, 2, draft.mark_needles,
        finish, opening, inserts, is_half=True, gathers=draft.gathers,
    )  # fmt: skip


def _draft(
    name: str,
    left: Edge,
    right: Edge,
    counts: BodyCounts,
    gauge: PanelGauge,
    rules: ShapingRules,
    size: str,
    opening: Opening,
    inserts: tuple[Insert, ...],
) -> Drafted:
    foot = Foot(left.needles + right.needles, counts.rib_courses)
    across = counts.across if counts.shoulder else left.end + right.end
    finish = across - 2 * total_needles(opening.steps)
    return Drafted(name, size, left, right, foot, gauge, 1, rules.mark_needles, finish, opening, inserts)
