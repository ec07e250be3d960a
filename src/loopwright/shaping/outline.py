"""The real outline of a knit-down in cm: true steps from needles and courses, nothing smoothed.

In: `PanelPlan`. Out: `garment.outline.Outline`, so that wanted and real can be laid over each other. The area of the
main fabric is exactly its loops over the loops per cm². Not covered: drawing (`draw`).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.garment.outline import Outline, Point
from loopwright.shaping.panel import PanelPlan, Whole, Work
from loopwright.shaping.rules import rule_row


def real_outline(panel: PanelPlan) -> Outline:
    """The panel as it will lie: rib as wide as it lies, then every course."""
    right = _half(panel, panel.right, panel.held_right)
    if panel.is_half:
        return Outline(panel.name, right, ())
    if panel.is_symmetrical:
        return Outline(panel.name, right)
    return Outline(panel.name, right, _half(panel, panel.left, panel.held_left))


def notch_courses(panel: PanelPlan) -> list[int]:
    """Courses of the main fabric with a linking notch: every so many up to the first shaping, short rows left out."""
    spacing = int(rule_row("notch_spacing_courses")["value"])
    body = panel.sections[0].courses if panel.sections else 0
    return [course for course in range(spacing, body, spacing) if panel.work[course] != Work.SHORT_ROWS]


def notch_points(panel: PanelPlan) -> tuple[Point, ...]:
    """Where the linking notches lie on the edges, cm, in the coordinates of `real_outline`."""
    height = _heights_cm(panel)
    sides = [(panel.right, 1)] if panel.is_half else [(panel.right, 1), (panel.left, -1)]
    return tuple(
        (
            sign * float(needles[course]) * float(panel.slack_of_courses[course]) / panel.gauge.needles_per_cm,
            float(height[course]),
        )
        for course in notch_courses(panel)
        for needles, sign in sides
    )


def _heights_cm(panel: PanelPlan) -> NDArray[np.float64]:
    """Height at which every course of the main fabric begins, and at which the last one ends."""
    courses = np.concatenate([[0.0], np.cumsum(panel.slack_of_courses)])
    return panel.rib_length_cm + courses / panel.gauge.courses_per_cm


def _half(panel: PanelPlan, needles: Whole, held: Whole) -> tuple[Point, ...]:
    """One half from the centre of its base up and round to the centre of its top."""
    w = panel.gauge.needles_per_cm
    rib = panel.rib_needles / panel.gauge.rib_needles_per_cm
    rib_half = rib if panel.is_half else rib / 2
    points: list[Point] = [(0.0, 0.0)]
    if panel.rib_courses:
        points += [(rib_half, 0.0), (rib_half, panel.rib_length_cm)]
    if not panel.courses:
        return (*points, (0.0, panel.rib_length_cm))
    slack = panel.slack_of_courses
    height = _heights_cm(panel)
    points += _stair(needles * slack / w, height)
    top = float(height[-1])
    if panel.neck_needles and held.any():
        first = int(np.flatnonzero(held)[0])
        inner = _stair(held[first:] / w, height[first:])
        neck = panel.neck_needles if panel.is_half else panel.neck_needles / 2
        return (*points, (neck / w, top), *reversed(inner), (0.0, float(height[first])))
    return (*points, (0.0, top))


def _stair(half_cm: NDArray[np.float64], height_cm: NDArray[np.float64]) -> list[Point]:
    """Corners of a stair of half widths over course heights; level runs become one step."""
    changes = np.concatenate([[0], np.flatnonzero(np.diff(half_cm)) + 1, [len(half_cm)]])
    corners: list[Point] = []
    for start, end in pairwise(changes.tolist()):
        corners += [(float(half_cm[start]), float(height_cm[start])), (float(half_cm[start]), float(height_cm[end]))]
    return corners
