"""What the machine, the fabric and the specification say against a plan.

In: `GarmentPlan`, bed, tolerances. Out: findings in trade words with both numbers, the limit and what to try.
Not covered: gauge and yarn (`fabric.suitability`). Source: production reference 3.1, 3.3, 1.8.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from loopwright.figure import plain
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


def closure_findings(plan: GarmentPlan) -> list[Finding]:
    """Seams whose two edges do not agree, each with both lengths and what can be taken up."""
    found = []
    for closure in plan.closures:
        if closure.closes:
            continue
        sentence = (
            f"Size {plan.size}: {closure.one} is {plain(closure.one_cm, 1)} cm, {closure.other} "
            f"{plain(closure.other_cm, 1)}; {plain(closure.low_cm, 1)} to {plain(closure.high_cm, 1)} cm of "
            "difference can be taken up."
        )
        where, ease = f"{closure.name}, size {plan.size}", closure.ease_cm
        found.append(Finding(Sign.DECIDE, where, sentence, closure.tries, f"{plain(ease, 1)} cm", abs(ease)))
    return found


def needles_findings(plan: GarmentPlan, wanted: int | None) -> list[Finding]:
    """An edge that closes only with more needles at a time than the person asked for (None: did not ask)."""
    if wanted is None:
        return []
    most: dict[str, int] = {}
    for panel in plan.panels:
        for edge in [each for each in panel.fashionings if not each.widening]:
            needles = max((step.needles for step in edge.steps), default=0)
            most[edge.name] = max(most.get(edge.name, 0), needles)
    tries = ("a narrower upper arm", "a deeper armhole")
    return [
        Finding(
            Sign.KNOW,
            f"{'sleeve cap' if name == 'cap' else name}, size {plan.size}",
            f"The {name} takes {needles} needles at a time: with {wanted}, as asked, it does not close in its courses.",
            (*tries, f"accept {needles} needles"),
            weight=0.4,
        )
        for name, needles in most.items()
        if needles > wanted
    ]


NOT_ROUNDED = ("half_hem",)  # the width of a rib follows from its swatch, not from rounding


def rounding_findings(plans: Sequence[GarmentPlan], tolerances_cm: Mapping[str, float]) -> list[Finding]:
    """Measures of any size that rounding moves by more than a third of their tolerance, in one finding."""
    share = rule_row("rounding_share_of_tolerance")["value"]
    moved: dict[str, list[tuple[float, str, float, float]]] = {}
    for plan in plans:
        lengths = plan.measures.by_name
        for name, real in plan.real:
            wanted, tolerance = lengths.get(name), tolerances_cm.get(name)
            if wanted is None or not tolerance or name in NOT_ROUNDED:
                continue
            if abs(real - wanted) > share * tolerance:
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


def _words(name: str) -> str:
    return name.replace("_", " ")


def panels_that_fit_side_by_side(panel: PanelPlan, *, gauge: float, bed_in: float, gap_needles: int = 30) -> int:
    """Pieces of a panel that a bed knits at once with a gap between them; 0 when not even one fits."""
    return int((bed_in * gauge + gap_needles) // (panel.widest + gap_needles))
