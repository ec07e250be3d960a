"""Necks in needles and courses: which needles are held beside the centre in every course.

In: needles of half the neck, its depth in courses, its curve. Out: `Opening` for `edges.assemble`, and the real length
of the edge. A held neck takes its needles before their two courses; a fashioned one (a V) narrows with moved loops.
Not covered: the wanted curve (`garment.necks`), the band (`bands`). Source: production reference 3.4, 3.6, 3.9.
"""

from __future__ import annotations

import math

import numpy as np

from loopwright.garment.necks.neck import Curve, Neck
from loopwright.shaping.edges import Opening, spread_evenly
from loopwright.shaping.fashion import fashioned, with_enough_needles
from loopwright.shaping.fashioning import needles_moved
from loopwright.shaping.panel import PanelGauge, Whole
from loopwright.shaping.rules import ShapingRules

STEP = 2


def curve_steps(needles: int, courses: int, curve: Curve) -> tuple[int, ...]:
    """Needles taken on one side before every two courses so that the edge follows a curve, the lowest first.

    >>> from loopwright.garment.necks.neck import quarter_ellipse
    >>> taken = curve_steps(59, 76, quarter_ellipse)    # worked example B, front neck
    >>> taken[:6], sum(taken)
    ((13, 6, 4, 3, 3, 3), 59)
    """
    steps = courses // STEP
    reached = [0, *(math.floor(needles * curve(step / steps) + 0.5) for step in range(1, steps + 1))]
    return tuple(int(each) for each in np.diff(reached))


def front_opening(
    neck: Neck, *, needles: int, courses: int, panel_courses: int, gauge: PanelGauge, rules: ShapingRules, kept: int = 0
) -> Opening:
    """The front neck: `needles` on each side of the centre, over the last `courses` of a panel.

    `kept` of them knit up to the top: where no shoulder is beside the neck, something must knit with the sleeve.
    """
    taken = needles - kept
    if neck.is_fashioned:
        rules = with_enough_needles(rules, taken, courses, None)
        steps = fashioned(taken, courses, name="neck", gauge=gauge, rules=rules).steps
        held = needles_moved(steps, courses)
    else:
        steps = ()
        held = np.repeat(np.cumsum(np.array(curve_steps(taken, courses, neck.curve), dtype=np.int64)), STEP)
    side = _at_the_top(held, panel_courses)
    return Opening(side, side, 2 * needles, courses, steps=steps)


def back_opening(*, needles: int, courses: int, panel_courses: int, rules: ShapingRules, kept: int = 0) -> Opening:
    """The back neck: a flat centre held first, then the slope in equal steps; `kept` needles a side knit to the top."""
    slope = math.floor(2 * needles * (1 - rules.back_neck_flat_share) / 2 + 0.5 + 1e-9)
    steps = np.array(spread_evenly(slope, courses // STEP), dtype=np.int64)
    held = np.repeat(needles - slope + np.cumsum(steps) - steps, STEP).clip(max=needles - kept)
    side = _at_the_top(held, panel_courses)
    return Opening(side, side, 2 * needles, courses, how="scoop")


def _at_the_top(held: Whole, panel_courses: int) -> Whole:
    """Needles held in the last courses of a panel, shape (panel_courses,)."""
    whole = np.zeros(panel_courses, dtype=np.int64)
    whole[panel_courses - len(held) :] = held
    return whole


def back_length_cm(opening: Opening, gauge: PanelGauge) -> float:
    """Real back neck edge, both sides: flat centre and two slopes."""
    if opening.courses == 0:
        return opening.needles / gauge.needles_per_cm
    first = len(opening.left) - opening.courses
    flat = int(opening.left[first] + opening.right[first])
    slope_cm = math.hypot((opening.needles - flat) / 2 / gauge.needles_per_cm, opening.courses / gauge.courses_per_cm)
    return flat / gauge.needles_per_cm + 2 * slope_cm


def front_length_cm(neck: Neck, opening: Opening, gauge: PanelGauge) -> float:
    """Real front neck edge, both sides: the neck's curve over its real width and depth."""
    width_cm = opening.needles / gauge.needles_per_cm
    return neck.front_length_cm(width_cm=width_cm, drop_cm=opening.courses / gauge.courses_per_cm)
