"""Pullover, cardigan, vest and dress: body first, sleeves into its real armholes, trims along its real edges.

In: measures, densities, rules. Out: `GarmentPlan`. Source: production reference 2, 3.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from loopwright.figure import plain
from loopwright.garment.measures import Measures
from loopwright.garment.necks import neck_called
from loopwright.garment.outline import upper_outlines
from loopwright.garment.sleeves import sleeve_of
from loopwright.shaping.bands import armhole_bands, front_bands, neck_seam_cm, neck_trim
from loopwright.shaping.body import BodyPlan, plan_body
from loopwright.shaping.joins import Join
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant
from loopwright.shaping.sleeve import SleevePlan, plan_sleeve

BLOCKS = ("pullover", "cardigan", "vest", "dress")


@dataclass(frozen=True, slots=True)
class _Parts:
    """A garment's parts while it is put together."""

    measures: Measures
    body: BodyPlan
    sleeve: SleevePlan | None
    trims: tuple[PanelPlan, ...]


def plan(measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, band_is_doubled: bool) -> GarmentPlan:
    """Every panel of one size.

    Raises:
        Problem: a panel cannot be made.
    """
    has_sleeve = sleeve_of(measures.shape).is_there
    arm = gauges.panel("sleeve", "cuff") if has_sleeve else None
    body = plan_body(measures, gauges.panel("body", "hem"), rules, size, arm)
    sleeve = plan_sleeve(measures, body, arm, rules, size) if arm else None
    band = gauges.panel("neckband", "neckband")
    trims = [neck_trim(measures, body, band, rules, size, doubled=band_is_doubled)]
    if measures.shape.block == "cardigan":
        trims.append(front_bands(measures, body, band, rules, size))
    if not has_sleeve:
        trims.append(armhole_bands(measures, body, band, size, doubled=band_is_doubled))
    panels = refuse_scant((body.back, body.front, *((sleeve.panel,) if sleeve else ()), *trims), size)
    parts = _Parts(measures, body, sleeve, tuple(trims))
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=panels,
        joins=tuple(_joins(parts)),
        closures=sleeve.closures if sleeve else (),
        real=tuple(_real(parts).items()),
        wanted=upper_outlines(measures),
        facts=tuple(_facts(parts)),
        compared=body.compared,
        neck_seam_cm=neck_seam_cm(measures, body),
    )


def _joins(parts: _Parts) -> list[Join]:
    """The seams in the order of work."""
    body, sleeve = parts.body, parts.sleeve
    kind = sleeve_of(parts.measures.shape)
    gauge, made = body.back.gauge, []
    if kind.name == "saddle" and sleeve is not None:
        strap = sleeve.panel.section("strap").courses / sleeve.panel.gauge.courses_per_cm
        made.append(Join("saddles", "strap to shoulders", length_cm=strap, count=4))
    elif kind.has_shoulder:
        made.append(Join("shoulders", "back to front", points=body.counts.shoulder_needles, count=2))
    if sleeve is not None and kind.is_raglan:
        made.append(Join("raglans", "sleeve to body", length_cm=sleeve.seam_cm, count=4))
    trim, *others = parts.trims
    made.append(Join("hood" if trim.name == "hood" else "neckband", "trim to neck", points=trim.widest))
    if trim.name == "hood":
        made.append(Join("hood top", "hood to itself", points=trim.widest // 2))
    if sleeve is not None and not kind.is_raglan:
        made.append(Join("armholes", "sleeve to body", length_cm=2 * sleeve.seam_cm, count=2))
    made += [Join(f"{band.name}s", "band to edge", points=band.rib_needles, count=band.pieces) for band in others]
    side_cm = body.counts.body / gauge.courses_per_cm + body.back.rib_length_cm
    made.append(Join("sides", "back to front", length_cm=side_cm, count=2))
    if sleeve is not None:
        panel = sleeve.panel
        underarm = panel.section("sleeve").courses / panel.gauge.courses_per_cm + panel.rib_length_cm
        made.append(Join("underarms", "sleeve to itself", length_cm=underarm, count=2))
    return made


def _real(parts: _Parts) -> dict[str, float]:
    """What the rounded plan measures, by point of measure; further lengths under the names of what follows."""
    body, counts, gauge = parts.body, parts.body.counts, parts.body.back.gauge
    w, c = gauge.needles_per_cm, gauge.courses_per_cm
    kind, rib = sleeve_of(parts.measures.shape), body.back.rib_length_cm
    real = {
        "half_chest": counts.chest / w,
        "neck_width": counts.neck / w,
        "half_hem": body.back.rib_needles / (gauge.rib_needles_per_cm if counts.rib_courses else w),
        "hem_rib": rib,
    }
    if kind.is_raglan:
        real |= {"length": rib + (counts.body + counts.armhole) / c, "raglan_depth": counts.armhole / c}
    else:
        lowered = parts.measures.by_name.get("saddle_width", 0.0) / 2
        real |= {
            "length": rib + (counts.body + counts.armhole + counts.shoulder) / c + lowered,
            "shoulder_drop": counts.shoulder / c,
            "across_shoulder": counts.across / w,
            "armhole_straight": math.hypot(counts.armhole / c, (counts.chest - counts.across) / 2 / w),
            "front_neck_drop": _depth(body.front) / c + lowered,
            "back_neck_drop": _depth(body.back) / c + lowered,
        }
    return real | (_real_sleeve(parts.sleeve) if parts.sleeve else {})


def _depth(panel: PanelPlan) -> int:
    """Courses of the neck: those of the split or of held needles."""
    steps = panel.fashioning("neck")
    return panel.courses - steps.start if steps else int((panel.held > 0).sum())


def _real_sleeve(sleeve: SleevePlan) -> dict[str, float]:
    panel = sleeve.panel
    below = panel.section("sleeve").courses
    length = panel.rib_length_cm + below / panel.gauge.courses_per_cm
    above = sum(each.courses for each in panel.sections if each.name in ("cap", "top"))
    return {
        "half_cuff": panel.rib_needles / panel.gauge.needles_per_cm / 2,
        "cuff_rib": panel.rib_length_cm,
        "half_upper_arm": panel.width_cm(below - 1) / 2,
        "sleeve_underarm": length,
        "sleeve_from_shoulder": length + above / panel.gauge.courses_per_cm,
    }


def _facts(parts: _Parts) -> list[str]:
    """How the garment closes, in lines."""
    body, sleeve, lines = parts.body, parts.sleeve, []
    if sleeve is not None and sleeve.cap is not None:
        cap = sleeve.cap
        height = cap.courses / sleeve.panel.gauge.courses_per_cm
        lines.append(
            f"Cap {plain(height, 1)} cm high: {plain(cap.perimeter_cm, 1)} cm of edge into "
            f"{plain(cap.armholes_cm, 1)} cm of armholes, eased by {plain(cap.ease_cm, 1)}."
        )
    elif sleeve is not None:
        closure = sleeve.closures[0]
        lines.append(
            f"{closure.one.capitalize()} {plain(closure.one_cm, 1)} cm, {closure.other} "
            f"{plain(closure.other_cm, 1)} cm."
        )
    if sleeve_of(parts.measures.shape).has_shoulder:
        needles = body.counts.shoulder_needles
        lines.append(f"Shoulders {needles} and {needles} needles; back and front have equal courses.")
    elif sleeve is not None:
        lines.append(f"Body and sleeve meet course for course over {body.counts.armhole} courses of raglan.")
    trim = parts.trims[0]
    if trim.courses == 0:
        girth = trim.rib_needles / trim.gauge.rib_needles_per_cm
        lines.append(
            f"{trim.name.capitalize()} {plain(girth, 1)} cm round, knitted {plain(trim.length_cm, 1)} cm for "
            f"{plain(parts.measures['neckband'], 1)} cm finished."
        )
    note = neck_called(parts.measures.shape.neck).note
    return [*lines, *([note] if note else [])]
