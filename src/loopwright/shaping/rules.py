"""The settings of fully fashioned shaping, with the trade's defaults by gauge.

A style may set any of them; what it leaves out takes the default of the table and shows as such.
Source: production reference 3.3 and 12.2.
"""

from __future__ import annotations

from dataclasses import dataclass

from loopwright.garment.set_in import block_row
from loopwright.problems import Problem
from loopwright.shaping.fashioning import RULES, Rule
from loopwright.sources.table import Row, table

EXACT = "exact"
FASHIONINGS = (EXACT, *RULES)
TOGETHER, ALTERNATE = "together", "alternate"
SIDES_OF_PANEL = (TOGETHER, ALTERNATE)


@dataclass(frozen=True, slots=True)
class ShapingRules:
    """Needles and courses of shaping; lengths in cm.

    `fashioning` names the rule that places narrowings: `exact` (the plan of least cost) or a classic one (`two-rate`,
    `two-rate, short first`, `line`). `narrowing_strokes` is what one narrowing costs the carriage; a stroke is worth
    `stroke_worth_mm2` of squared deviation of both edges from the outline over one course. `sides` says whether both
    edges narrow `together`, in one event, or `alternate`, each in its own courses for `one_side_share` of the strokes.
    """

    narrow_needles: int
    widen_needles: int
    courses_between: int
    mark_needles: int
    armhole_base_cm: float
    armhole_slope_share: float
    sleeve_straight_cm: float
    cap_top_share: float
    cap_ease_cm: float
    cap_shape_factor: float
    cap_bottom_share: float
    back_neck_flat_share: float
    band_pick_up: float | None
    narrowing_strokes: float
    stroke_worth_mm2: float
    one_side_share: float
    fashioning: str = EXACT
    sides: str = TOGETHER
    even_courses: bool = True

    @property
    def step(self) -> int:
        """Courses from one place of an event to the next: 2 where the carriage has to be back at its side, or 1."""
        return 2 if self.even_courses else 1

    @property
    def rule(self) -> Rule:
        """The classic function that distributes events.

        Raises:
            Problem: no rule of that name.
        """
        if self.fashioning not in RULES:
            raise Problem("construction", f"“{self.fashioning}” is no fashioning rule.", limit=", ".join(FASHIONINGS))
        return RULES[self.fashioning]


def rule_row(name: str) -> Row:
    """A row of the table of shaping rules."""
    return table(__package__, "rules").by("rule")[name]


def usual_rules(gauge: float, *, narrowing_strokes: float, one_side_share: float = 1.0) -> ShapingRules:
    """The trade's defaults at a gauge, on a machine whose narrowing takes so many strokes, a share of them alone."""
    fine = gauge >= rule_row("fine_gauge_from")["value"]
    marks = "fine" if fine else "medium" if gauge >= 7 else "coarse"
    return ShapingRules(
        narrow_needles=_whole("narrow_needles_fine" if fine else "narrow_needles_coarse"),
        widen_needles=_whole("widen_needles"),
        courses_between=_whole("courses_between_narrowings"),
        mark_needles=_whole(f"mark_needles_{marks}"),
        armhole_base_cm=block_row("armhole_base_cm")["value"],
        armhole_slope_share=block_row("armhole_slope_share")["value"],
        sleeve_straight_cm=rule_row("sleeve_straight_cm")["value"],
        cap_top_share=block_row("cap_top_share")["value"],
        cap_ease_cm=block_row("cap_ease_cm")["value"],
        cap_shape_factor=block_row("cap_shape_factor")["value"],
        cap_bottom_share=rule_row("cap_bottom_share")["value"],
        back_neck_flat_share=block_row("back_neck_flat_share")["value"],
        band_pick_up=None,
        narrowing_strokes=narrowing_strokes,
        one_side_share=one_side_share,
        stroke_worth_mm2=rule_row("stroke_worth_mm2")["value"],
    )


def _whole(name: str) -> int:
    return int(rule_row(name)["value"])
