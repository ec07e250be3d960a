"""The real outline of a knit-down in cm: true steps from needles and courses, nothing smoothed.

In: `PanelPlan`. Out: `garment.outline.Outline`, so that wanted and real can be laid over each other. The area of the
main fabric is exactly its loops over the loops per cm². Not covered: drawing (`draw`).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from loopwright.garment.outline import Outline, Point
from loopwright.shaping.panel import PanelPlan


def real_outline(panel: PanelPlan) -> Outline:
    """Right half of the panel as it will lie: rib as wide as it lies, then every course."""
    w = panel.gauge.needles_per_cm
    rib_half = panel.rib_needles / panel.gauge.rib_needles_per_cm / 2
    points: list[Point] = [(0.0, 0.0), (rib_half, 0.0), (rib_half, panel.rib_length_cm)]
    if not panel.courses:
        return Outline(panel.name, (*points, (0.0, panel.rib_length_cm)))
    height = panel.rib_length_cm + np.arange(panel.courses + 1) / panel.gauge.courses_per_cm
    points += _stair(panel.span / 2 / w, height)
    top = float(height[-1])
    if panel.neck_needles:
        first = int(np.flatnonzero(panel.held)[0])
        inner = _stair(panel.held[first:] / 2 / w, height[first:])
        points += [(panel.neck_needles / 2 / w, top), *reversed(inner), (0.0, float(height[first]))]
    else:
        points.append((0.0, top))
    return Outline(panel.name, tuple(points))


def _stair(half_cm: NDArray[np.float64], height_cm: NDArray[np.float64]) -> list[Point]:
    """Corners of a stair of half widths over course heights; level runs become one step."""
    changes = np.concatenate([[0], np.flatnonzero(np.diff(half_cm)) + 1, [len(half_cm)]])
    corners: list[Point] = []
    for start, end in pairwise(changes.tolist()):
        corners += [(float(half_cm[start]), float(height_cm[start])), (float(half_cm[start]), float(height_cm[end]))]
    return corners
