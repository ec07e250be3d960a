"""What the machine, the fabric and the specification say against a plan.

In: `GarmentPlan`, bed, tolerances. Out: findings in trade words with both numbers, the limit and what to try.
Not covered: gauge and yarn (`fabric.suitability`). Source: production reference 3.1, 3.3, 1.8.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from loopwright.figure import plain
from loopwright.garment.blocks.set_in_crew import block_row
from loopwright.problems import Finding, Sign
from loopwright.shaping.needles import edge_angle_deg
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan
from loopwright.shaping.rules import rule_row
from loopwright.units import MM_PER_INCH


def bed_findings(plan: GarmentPlan, *, gauge: float, bed_in: float) -> list[Finding]:
    """Panels that are wider than the bed."""
    bed = int(bed_in * gauge)
    return [
        Finding(
            Sign.STOPS,
            f"{panel.name}, size {plan.size}",
            f"{panel.widest} needles at E {gauge:g} need "
            f"{plain(panel.widest * MM_PER_INCH / gauge / 10, 0)} cm of bed; this one has {bed} needles, "
            f"{plain(bed_in * 2.54, 0)} cm.",
            ("a machine with a wider bed", "the panel in two parts with a seam", "a finer gauge"),
            f"{panel.widest - bed} needles over",
            panel.widest / max(bed, 1),
        )
        for panel in plan.panels
        if panel.widest > bed
    ]


def slope_findings(plan: GarmentPlan) -> list[Finding]:
    """Edges that lean more than narrowings can carry."""
    limit = rule_row("slope_limit_deg")
    steep = [
        (angle, panel, fashioning.name)
        for panel in plan.panels
        for fashioning in panel.fashionings
        for step in fashioning.steps
        if (
            angle := edge_angle_deg(
                needles=step.needles,
                courses=step.courses,
                wales_per_cm=panel.gauge.needles_per_cm,
                courses_per_cm=panel.gauge.courses_per_cm,
            )
        )
        > limit["value"]
    ]
    if not steep:
        return []
    angle, panel, name = max(steep, key=lambda each: each[0])
    sentence = (
        f"In size {plan.size} the {name} leans {plain(angle, 0)}° from the wale; "
        f"past {limit['value']:g}° narrowings pull."
    )
    return [Finding(Sign.DECIDE, panel.name, sentence, _steep_tries(name), weight=angle / 100)]


def _steep_tries(name: str) -> tuple[str, ...]:
    if name == "cap":
        return ("a narrower upper arm", "a deeper armhole", "a wider top of the cap", "bind off a part")
    return ("fewer needles at a time", "bind off a part")


def cap_findings(plan: GarmentPlan) -> list[Finding]:
    """A cap that does not ease into its armholes."""
    limits = block_row("cap_ease_cm")
    ease = plan.cap.ease_cm
    numbers = (
        f"the sleeve cap is {plain(plan.cap.perimeter_cm, 1)} cm round, the armholes {plain(plan.cap.armholes_cm, 1)}"
    )
    where = f"sleeve cap, size {plan.size}"
    if limits["value_low"] <= ease <= limits["value_high"]:
        return []
    limit = f"{limits['value_low']:g} to {limits['value_high']:g} cm can be eased in"
    sentence = f"Size {plan.size}: {numbers}; {limit}."
    tries = ("an upper arm wider or narrower by a few needles", "an armhole deeper by a course or two")
    return [Finding(Sign.DECIDE, where, sentence, tries, f"{plain(ease, 1)} cm", abs(ease))]


def cap_needles_findings(plan: GarmentPlan, wanted: int | None) -> list[Finding]:
    """A cap that closes only with more needles at a time than the person asked for (None: did not ask)."""
    most = max((step.needles for step in plan.cap.steps), default=0)
    if wanted is None or most <= wanted:
        return []
    sentence = f"The cap takes {most} needles at a time: with {wanted}, as asked, it does not close in its courses."
    tries = ("a narrower upper arm", "a deeper armhole", f"accept {most} needles")
    return [Finding(Sign.KNOW, f"sleeve cap, size {plan.size}", sentence, tries, weight=0.4)]


def real_measures_cm(plan: GarmentPlan) -> dict[str, float]:
    """What the rounded plan really measures, by the names of `Measures`."""
    counts, gauge = plan.counts, plan.back.gauge
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    sleeve = plan.sleeve
    return {
        "half_chest_cm": counts.chest / w,
        "across_shoulder_cm": counts.across / w,
        "neck_width_cm": counts.neck / w,
        "length_cm": plan.back.length_cm,
        "armhole_depth_cm": (counts.armhole + counts.shoulder) / c,
        "shoulder_drop_cm": counts.shoulder / c,
        "front_neck_drop_cm": int(np.count_nonzero(plan.front.held)) / c,
        "back_neck_drop_cm": int(np.count_nonzero(plan.back.held)) / c,
        "half_hem_cm": plan.back.rib_needles / gauge.rib_needles_per_cm,
        "hem_rib_cm": plan.back.rib_length_cm,
        "cuff_cm": sleeve.rib_needles / sleeve.gauge.needles_per_cm,
        "cuff_rib_cm": sleeve.rib_length_cm,
        "armhole_straight_cm": math.hypot(counts.armhole / c, (counts.chest - counts.across) / 2 / w),
        "sleeve_from_shoulder_cm": sleeve.length_cm,
        "upper_arm_cm": sleeve.width_cm(sleeve.section("sleeve").courses - 1),
        "sleeve_underarm_cm": sleeve.rib_length_cm + sleeve.section("sleeve").courses / sleeve.gauge.courses_per_cm,
    }


def rounding_findings(plans: Sequence[GarmentPlan], tolerances_cm: Mapping[str, float]) -> list[Finding]:
    """Measures of any size that rounding moves by more than a third of their tolerance, in one finding."""
    share = rule_row("rounding_share_of_tolerance")["value"]
    moved: dict[str, list[tuple[float, str, float, float]]] = {}
    for plan in plans:
        for name, real in real_measures_cm(plan).items():
            wanted, tolerance = getattr(plan.measures, name, None), tolerances_cm.get(name)
            if wanted is None:
                continue
            if tolerance and name != "half_hem_cm" and abs(real - wanted) > share * tolerance:
                moved.setdefault(name, []).append((abs(real - wanted) / tolerance, plan.size, real, wanted))
    if not moved:
        return []
    name, (weight, size, real, wanted) = max(
        ((name, max(each)) for name, each in moved.items()), key=lambda pair: pair[1][0]
    )
    listed = "; ".join(f"{_words(each)} in {', '.join(row[1] for row in rows)}" for each, rows in moved.items())
    sentence = (
        f"Whole needles and courses move {listed} by more than a third of the tolerance; most of all {_words(name)}, "
        f"size {size}: {plain(real, 1)} cm for {plain(wanted, 1)}."
    )
    sign = Sign.DECIDE if weight > 1 else Sign.KNOW
    tries = ("accept the real measure", "a finer gauge", "move the measure to a whole needle")
    return [Finding(sign, "sizes", sentence, tries, weight=weight)]


def _words(field_name: str) -> str:
    return field_name.removesuffix("_cm").replace("_", " ")


def panels_that_fit_side_by_side(panel: PanelPlan, *, gauge: float, bed_in: float, gap_needles: int = 30) -> int:
    """Pieces of a panel that a bed knits at once with a gap between them; 0 when not even one fits."""
    return int((bed_in * gauge + gap_needles) // (panel.widest + gap_needles))
