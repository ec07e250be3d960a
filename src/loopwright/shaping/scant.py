"""Pieces so small, for their gauge, that nothing of them is left after rounding.

In: the panels of a plan. Out: the same panels, or a problem.
Not covered: widths that contradict each other (`garment`).
"""

from __future__ import annotations

from collections.abc import Sequence

from loopwright.problems import Problem
from loopwright.shaping.panel import PanelPlan

LEAST = 2  # needles and courses of a piece


def refuse_scant(panels: Sequence[PanelPlan], size: str) -> tuple[PanelPlan, ...]:
    """The panels, each with at least two needles wherever it is knitted, and two courses.

    Raises:
        Problem: a panel has fewer.
    """
    for panel in panels:
        needles = int(panel.span.min()) if panel.courses else panel.rib_needles
        courses = panel.rib_courses + panel.courses
        if needles < LEAST or courses < LEAST:
            what = f"{needles} needles at the narrowest and {courses} courses are left of it at this gauge."
            tries = ["a larger piece", "a finer gauge"]
            raise Problem(f"{panel.name}, size {size}", what, limit=f"at least {LEAST} of each", tries=tries)
    return tuple(panels)
