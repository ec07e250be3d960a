"""What a mark on a panel says: which course, which needles, how many, on both sides, in the words of the floor.

In: `PanelPlan` and the mark. Out: a sentence. Courses are counted in the main fabric, from the rib up.
Not covered: the drawing (`panel`).
"""

from __future__ import annotations

import numpy as np

from loopwright.figure import plain
from loopwright.shaping.fashioning import Step
from loopwright.shaping.panel import BindOff, Fold, Narrowing, PanelPlan, ShortRows, Side


def rib_words(panel: PanelPlan) -> str:
    """The rib with the size in which it lies."""
    wide = panel.rib_needles / panel.gauge.rib_needles_per_cm
    return (
        f"Rib: {panel.rib_courses} courses on {panel.rib_needles} needles, "
        f"{plain(panel.rib_length_cm, 1)} cm high and {plain(wide, 1)} cm wide as it lies."
    )


def bind_off_words(panel: PanelPlan, bound: BindOff) -> str:
    """A bind-off at both sides or at one."""
    before = int(panel.span[bound.course - 1])
    if bound.left == bound.right:
        where = f"{_needles(bound.left)} at each side"
    else:
        sides = (("left", bound.left), ("right", bound.right))
        where = " and ".join(f"{_needles(count)} at the {side}" for side, count in sides if count)
    return f"Bind off {where} before course {bound.course + 1}: {before} needles become {before - bound.needles}."


def split_words(panel: PanelPlan) -> str:
    """Where the neck begins."""
    first = int(np.flatnonzero(panel.held)[0])
    held = _needles(int(panel.held[first]))
    where = (
        f"at the front edge before course {first + 1}"
        if panel.is_half
        else (f"at the centre before course {first + 1}, and split")
    )
    return f"Hold {held} {where}: the neck edge comes to {_needles(panel.neck_needles)} in all."


def fold_words(fold: Fold) -> str:
    """A fold of ruching."""
    first = fold.course + 1
    return f"Ruching: before course {first} the front bed knits {fold.courses} courses alone; the back bed holds."


def short_row_words(panel: PanelPlan, rows: ShortRows) -> str:
    """Partial courses, pair by pair."""
    last = rows.start + rows.courses
    spans = panel.span[rows.start : last]
    return (
        f"{rows.name.capitalize()} in short rows: {rows.courses // 2} steps of two courses, courses {rows.start + 1} "
        f"to {last}, from {int(spans[0])} needles in work to {int(spans[-1])}."
    )


def step_words(panel: PanelPlan, fashioning: Narrowing, step: Step, start: int) -> str:
    """A run of equal narrowings or widenings, the first of them `step.courses` after course `start`."""
    verb = "widen" if fashioning.widening else "narrow"
    first, last = start + step.courses, start + step.times * step.courses
    edges = 1 if panel.is_half or fashioning.side in (Side.LEFT, Side.RIGHT) else 2
    run = f"after course {first}" if step.times == 1 else f"every {step.courses} courses, after {first} to {last}"
    times = "once" if step.times == 1 else f"{step.times} times"
    inset = (
        f"; loops are moved {_needles(panel.mark_needles)} in from the edge"
        if panel.mark_needles and not fashioning.widening
        else ""
    )
    where = panel.side_words(fashioning.side)
    said = f"{fashioning.name.capitalize()}: {verb} {_needles(step.needles)} {where} {times}, {run}"
    if fashioning.side is not Side.BOTH:
        return f"{said}{inset}."
    before = int(panel.span[min(first, panel.courses) - 1])
    after = before + edges * step.needles * step.times * (1 if fashioning.widening else -1)
    return f"{said}: {before} needles become {after}{inset}."


def _needles(count: int) -> str:
    return f"{count} needle{'s' if count != 1 else ''}"
