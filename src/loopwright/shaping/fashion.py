"""Fashioning of one edge by the rule that the style chose: a classic one, or the exact plan of least cost.

In: needles to move and courses, or the curve between them; densities, rules. Out: `Fashioned`: steps, length of the
edge, and how the exact plan compares with the two-rate rule. The classic rules know straight lines; the exact plan
follows any curve.
Not covered: the search (`exact`), rounding (`needles`). Source: production reference 3.2, 3.3.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from loopwright.problems import Problem
from loopwright.shaping.exact_model import EdgeCosts, EdgeLimits, WantedEdge, wanted_edge
from loopwright.shaping.exact_pair import EdgePair, PairPlan, alternate, symmetric
from loopwright.shaping.exact_words import comparison_words
from loopwright.shaping.fashioning import Steps, shape, two_rate
from loopwright.shaping.panel import PanelGauge
from loopwright.shaping.rules import ALTERNATE, EXACT, ShapingRules

Curve = Callable[[float], float]  # share of the courses → share of the needles
STEP = 2  # events on even courses: the carriage is back where it began


@dataclass(frozen=True, slots=True)
class Fashioned:
    """Steps of an edge, its real length, and what the exact plan gains over the two-rate rule (empty: classic).

    `other` are the steps of the opposite edge where the two alternate; none when both narrow in the same courses.
    """

    steps: Steps
    length_cm: float
    compared: str = ""
    other: Steps | None = None


def fashioned(
    needles: int,
    courses: int,
    *,
    name: str,
    gauge: PanelGauge,
    rules: ShapingRules,
    widening: bool = False,
    corner: tuple[float, float] | None = None,
    curve: Curve | None = None,
) -> Fashioned:
    """Steps that move an edge by `needles` over `courses`.

    Args:
        name: what the edge is called.
        widening: whether needles are added.
        corner: (share of courses, share of needles) where a straight edge breaks into two.
        curve: a curve that only the exact plan can follow; classic rules take its chord.

    Raises:
        Problem: the events do not fit.
    """
    if needles == 0:
        return Fashioned((), courses / gauge.courses_per_cm)
    most = rules.widen_needles if widening else rules.narrow_needles
    if rules.fashioning != EXACT:
        line = wanted_line(name, needles, courses, gauge, corner)
        try:
            steps = _classic(needles, courses, most, rules, corner)
        except Problem as problem:
            raise Problem(name, problem.what, limit=problem.limit, tries=problem.tries) from None
        return Fashioned(steps, curve_length_cm(line))
    edge = _wanted(name, needles, courses, gauge, _curve_of(corner, curve))
    plan = _both_edges(edge, limits_of(rules, most), rules, widening=widening)
    compared = ""
    if corner is None and curve is None:
        classic = _classic(needles, courses, most, rules, None)
        compared = comparison_words(classic, plan.right, costs_of(rules, widening=widening))
    other = plan.left.steps if plan.left.steps != plan.right.steps else None
    return Fashioned(plan.right.steps, curve_length_cm(edge), compared, other)


def _both_edges(edge: WantedEdge, limits: EdgeLimits, rules: ShapingRules, *, widening: bool) -> PairPlan:
    """Both edges of a symmetrical panel as one plan: in the same courses, or one on even and one on odd courses."""
    costs = costs_of(rules, widening=widening)
    events = math.ceil(edge.needles / max(limits.needles_per_event))
    if rules.sides == ALTERNATE and not widening and STEP * events + STEP < edge.courses:
        alone = replace(costs, event_strokes=costs.event_strokes * rules.one_side_share)
        return alternate(EdgePair(edge, edge, replace(limits, courses_between=1, first_after=1), limits, alone))
    return symmetric(EdgePair(edge, edge, limits, limits, costs), costs.event_strokes)


def with_enough_needles(
    rules: ShapingRules, needles: int, courses: int, corner: tuple[float, float] | None
) -> ShapingRules:
    """The rules with as many needles at a time as an edge needs in its courses, two or three where fewer do not do."""
    share, reached = corner or (0.0, 0.0)
    parts = [(needles * reached, courses * share), (needles * (1 - reached), courses * (1 - share))]
    for most in dict.fromkeys([rules.narrow_needles, 2, MOST_NEEDLES]):
        if most >= rules.narrow_needles and all(
            rules.courses_between * math.ceil(part / most) <= height - STEP * bool(corner)
            for part, height in parts
            if part
        ):
            return replace(rules, narrow_needles=most)
    return rules


MOST_NEEDLES = 3  # common practice: more at once are bound off


def limits_of(rules: ShapingRules, most: int) -> EdgeLimits:
    """Limits of the machine for one edge."""
    return EdgeLimits(
        needles_per_event=tuple(range(1, most + 1)),
        courses_between=max(rules.step, rules.courses_between),
        step=rules.step,
        first_after=rules.step,
    )


def costs_of(rules: ShapingRules, *, widening: bool) -> EdgeCosts:
    """What an event of an edge costs against deviation."""
    strokes = 0.0 if widening else rules.narrowing_strokes
    return EdgeCosts(per_mm2=1 / rules.stroke_worth_mm2, per_stroke=1.0, event_strokes=strokes)


def _classic(needles: int, courses: int, most: int, rules: ShapingRules, corner: tuple[float, float] | None) -> Steps:
    """Steps of the classic rule; the two-rate rule stands for it while the exact plan is chosen."""
    rule = two_rate if rules.fashioning == EXACT else rules.rule
    even = courses - courses % rules.step
    if corner is None:
        return shape(needles, even, per_event=most, rule=rule, step=rules.step)
    lower = 2 * round(corner[0] * even / 2)
    first = round(corner[1] * needles)
    both = ((first, lower), (needles - first, even - lower))
    return tuple(
        step
        for part, height in both
        if part
        for step in shape(part, height, per_event=most, rule=rule, step=rules.step)
    )


def _curve_of(corner: tuple[float, float] | None, curve: Curve | None) -> Curve | None:
    if corner is None:
        return curve
    at, reached = corner
    return lambda share: reached * share / at if share <= at else reached + (1 - reached) * (share - at) / (1 - at)


def wanted_line(
    name: str, needles: int, courses: int, gauge: PanelGauge, corner: tuple[float, float] | None
) -> WantedEdge:
    """The line that an edge follows, broken at its corner where it has one."""
    return _wanted(name, needles, courses, gauge, _curve_of(corner, None))


def _wanted(name: str, needles: int, courses: int, gauge: PanelGauge, curve: Curve | None) -> WantedEdge:
    shares = [course / courses for course in range(courses + 1)]
    reached = shares if curve is None else [curve(share) for share in shares]
    moved = [needles * each for each in reached[:-1]] + [float(needles)]
    return wanted_edge(name, moved, needles_per_cm=gauge.needles_per_cm, courses_per_cm=gauge.courses_per_cm)


def curve_length_cm(edge: WantedEdge) -> float:
    """Length of a wanted edge, cm; the stair that follows it lies within a needle and is sewn to this length."""
    rise = 1 / edge.courses_per_cm
    return sum(
        math.hypot((after - before) / edge.needles_per_cm, rise) for before, after in pairwise(edge.needles_moved)
    )


def s_curve(swing: float) -> Curve:
    """The edge of a sleeve cap: fast, slow, fast; its slope is 1 ± `swing` times the mean at the ends and the middle.

    >>> curve = s_curve(0.5)
    >>> curve(0.0), curve(0.5), round(curve(1.0), 9)
    (0.0, 0.5, 1.0)
    """
    return lambda share: share + swing * math.sin(2 * math.pi * share) / (2 * math.pi)


def s_length_cm(needles: int, courses: int, swing: float, gauge: PanelGauge, chords: int = 64) -> float:
    """Length of the S that moves `needles` over `courses`, cm, by chords.

    >>> gauge = PanelGauge(6.5, 8.4, 6.9, 9.0)
    >>> round(s_length_cm(66, 88, 0.0, gauge), 2)    # P-21: 66 needles, 88 courses; √(10.154² + 10.476²)
    14.59
    """
    curve = s_curve(swing)
    reached = [curve(step / chords) * needles / gauge.needles_per_cm for step in range(chords + 1)]
    rise = courses / chords / gauge.courses_per_cm
    return sum(math.hypot(after - before, rise) for before, after in pairwise(reached))


def needs_room(name: str, size: str, events: int, between: int, courses: int, tries: list[str]) -> Problem:
    """The problem of an edge that is too short for its events."""
    return Problem(
        f"{name}, size {size}",
        f"{events} narrowings every {between} courses take {events * between} courses; the {name} has {courses}.",
        tries=tries,
    )
