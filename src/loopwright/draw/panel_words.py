"""What a mark on a panel says: which course, which needles, how many, on both sides, in the words of the floor.

In: `PanelPlan` and the mark. Out: a sentence. Courses are counted in the main fabric, from the rib up.
Not covered: the drawing (`panel`).
"""

from __future__ import annotations

import numpy as np

from loopwright.figure import plain
from loopwright.shaping.fashioning import Step
from loopwright.shaping.panel import Narrowing, PanelPlan, Section


def rib_words(panel: PanelPlan) -> str:
    """The rib with the size in which it lies."""
    wide = panel.rib_needles / panel.gauge.rib_needles_per_cm
    return (
        f"Rib: {panel.rib_courses} courses on {panel.rib_needles} needles, "
        f"{plain(panel.rib_length_cm, 1)} cm high and {plain(wide, 1)} cm wide as it lies."
    )


def bind_off_words(panel: PanelPlan, course: int, needles: int) -> str:
    """A bind-off at both sides."""
    before = int(panel.span[course - 1])
    return (
        f"Bind off {_needles(needles)} at each side before course {course + 1}: "
        f"{before} needles become {before - 2 * needles}."
    )


def split_words(panel: PanelPlan) -> str:
    """Where the neck begins."""
    first = int(np.flatnonzero(panel.held)[0])
    return (
        f"Hold {_needles(int(panel.held[first]))} at the centre before course {first + 1}, and split: "
        f"the neck edge comes to {_needles(panel.neck_needles)} in all."
    )


def short_row_words(panel: PanelPlan, shoulder: Section) -> str:
    """The shoulder as it is held step by step."""
    last = shoulder.start + shoulder.courses
    first_span, last_span = int(panel.span[shoulder.start]), int(panel.span[last - 1])
    return (
        f"Shoulders in short rows: {shoulder.courses // 2} steps of two courses at each side, courses "
        f"{shoulder.start + 1} to {last}, from {first_span} needles in work to {last_span}."
    )


def step_words(panel: PanelPlan, fashioning: Narrowing, step: Step, start: int) -> str:
    """A run of equal narrowings or widenings on both edges, the first of them `step.courses` after course `start`."""
    verb = "widen" if fashioning.widening else "narrow"
    first, last = start + step.courses, start + step.times * step.courses
    before = int(panel.span[min(first, panel.courses) - 1])
    after = before + 2 * step.needles * step.times * (1 if fashioning.widening else -1)
    run = f"after course {first}" if step.times == 1 else f"every {step.courses} courses, after {first} to {last}"
    times = "once" if step.times == 1 else f"{step.times} times"
    inset = (
        f"; loops are moved {_needles(panel.mark_needles)} in from the edge"
        if panel.mark_needles and not fashioning.widening
        else ""
    )
    return (
        f"{fashioning.name.capitalize()}: {verb} {_needles(step.needles)} at each side {times}, {run}: "
        f"{before} needles become {after}{inset}."
    )


def _needles(count: int) -> str:
    return f"{count} needle{'s' if count != 1 else ''}"
