"""Darts that narrow a piece together: the crown of a cap, the toe of a leg.

In: needles, height in cm, darts, the share of needles left. Out: `Darts`. Every dart loses one needle at the same
courses. On the bed a dart inside the panel moves all loops outside it; darts are moved in pairs, one on each side of
the centre, and each pair costs the carriage what two edges cost. So d darts are counted as d/2 narrowings
of one needle at each side: needles and strokes are true, and the outline looks as if the edges took all of them.
Not covered: which dart lies where. Source: production reference 2 (crown in 2-course steps).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from loopwright.problems import Problem
from loopwright.shaping.fashioning import Step, Steps, grouped, two_rate
from loopwright.shaping.needles import nearest_even, nearest_whole
from loopwright.shaping.panel import Narrowing, PanelPlan

STEP = 2  # courses from one narrowing to the next at the least


@dataclass(frozen=True, slots=True)
class Darts:
    """Darts, steps of one needle that each of them takes, needles left, courses."""

    count: int
    steps: Steps
    left: int
    courses: int

    @property
    def edge_steps(self) -> Steps:
        """Steps of each edge as if the edges took all darts."""
        return tuple(Step(step.times, step.needles * self.count // 2, step.courses) for step in self.steps)


def darts_of(needles: int, *, height_cm: float, courses_per_cm: float, count: int, left_share: float) -> Darts:
    """Narrowings of `count` darts over a height; higher where two courses for each narrowing ask for it.

    >>> crown = darts_of(320, height_cm=8, courses_per_cm=9, count=8, left_share=0.1)    # 320 − 8 · 36, 2 · 36
    >>> crown.left, crown.courses
    (32, 72)

    Raises:
        Problem: fewer needles than the darts can narrow.
    """
    events = min(nearest_whole((1 - left_share) * needles / count), (needles - 1) // count)
    if events < 1:
        what, limit = f"{needles} needles for {count} darts.", f"at least {count + 1} needles"
        raise Problem("darts", what, limit=limit, tries=["a wider piece", "a finer gauge", "fewer darts"])
    courses = max(nearest_even(height_cm * courses_per_cm), STEP * events)
    steps = grouped([(1, interval) for interval in two_rate(events, courses, STEP)])
    return Darts(count, steps, needles - count * events, courses)


def with_darts(panel: PanelPlan, name: str, darts: Darts) -> PanelPlan:
    """The panel with the narrowing of a section told as pairs of darts."""
    at = panel.section(name).start
    others = [each for each in panel.fashionings if each.name != name]
    return replace(panel, fashionings=_in_order([*others, *[Narrowing(name, at, darts.steps)] * (darts.count // 2)]))


def _in_order(fashionings: Sequence[Narrowing]) -> tuple[Narrowing, ...]:
    return tuple(sorted(fashionings, key=lambda each: each.start))
