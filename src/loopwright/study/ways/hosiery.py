"""Stocking and tights on a hosiery cylinder: the needles are fixed, and the loop length alone makes the girth.

In: `StyleStudy` of a leg. Out: `Needs` of a pair. Girths are those of the flat leg, which lies closer than the body by
its share; courses and loops follow from the body's fabric. Main assumptions: heel and toe have the courses of the flat
leg, in slow turns; no seam at the back.
Not covered: elastane, heat setting, and the welt's own make. Source: production reference 2 (tights), 4.7.
"""

from __future__ import annotations

import math

from loopwright.cost.yarn_purchase import usual_loss
from loopwright.fabric.fabric import Fabric
from loopwright.fabric.suitability import gauge_for_count, loop_is_within_reach
from loopwright.figure import Figure, Term, plain, power_law
from loopwright.garment.blocks.leg import levels
from loopwright.garment.measures import Measures
from loopwright.garment.taken import parts_of
from loopwright.machine.hosiery import Cylinder, Zone, leg_minutes
from loopwright.machine.models import cylinders
from loopwright.makeup.operations import operations
from loopwright.makeup.seams import Seam
from loopwright.problems import Problem
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.tube import TubeFabric, TubeLevel, TubePlan, plan_tube
from loopwright.sources.table import table
from loopwright.study.knitting import SizeStudy, seams_of, weighted
from loopwright.study.pricing import mean_makeup, usual_programming
from loopwright.study.study import StyleStudy
from loopwright.study.ways.fashioned import dropped_words, mix_of, other_makeup, total_makeup, ways_row
from loopwright.study.ways.way import Needs, Supply

WHERE = "hosiery cylinder"
LEG_BLOCKS = ("stocking", "tights")
LEGS = 2
BELOW_THE_ANKLE = ("foot", "toe")
MM_G = 1e6  # tex is grams per 10⁶ mm
SAME_WORK = frozenset(operations()) - {"linking", "linking_coarse"}


def on_a_cylinder(study: StyleStudy) -> Needs:
    """A pair of legs knitted round.

    Raises:
        Problem: no cylinder takes the count, or the girths ask more of the loops than they reach.
    """
    fabric = study.fabrics["body"]
    cylinder = cylinder_for(fabric)
    mix = mix_of(study)
    tubes = [(share, size, _tube(size.plan.measures, cylinder, fabric)) for share, size in mix]
    sheets = [(share, other_makeup(study, _seams(size), SAME_WORK)) for share, size in mix]
    knitted = [(share, leg_minutes(_zones(size, tube, cylinder), legs=LEGS)) for share, size, tube in tubes]
    grams = [(share, _grams(size, tube, fabric)) for share, size, tube in tubes]
    yarn = weighted(f"{fabric.yarn.name} in a pair", grams, "g")
    return Needs(
        supplies=(Supply(fabric.yarn.name, yarn, (usual_loss("circular_knitting"),)),),
        knitting_minutes=weighted("knitting minutes", knitted, "min"),
        makeup=mean_makeup(sheets),
        makeup_minutes=total_makeup(sheets),
        programming_hours=usual_programming(("cylinder_leg",), len(study.sizes), {}),
        rests_on=(
            f"an invented cylinder, “{cylinder.name}”: {cylinder.needles} needles on {cylinder.diameter_in:g} in, "
            f"{cylinder.feeds} feeds, its hour priced as that of the style's machine",
            "heel, toe and welt with the courses of the flat leg, in slow turns",
            *dropped_words(study, SAME_WORK),
        ),
    )


def cylinder_for(fabric: Fabric) -> Cylinder:
    """The listed cylinder whose gauge the count asks for.

    Raises:
        Problem: none is near enough.
    """
    wanted = gauge_for_count(fabric.yarn.tex.value, "circular_single")
    nearest = min(cylinders().values(), key=lambda each: abs(math.log(each.gauge / wanted)))
    if abs(math.log(nearest.gauge / wanted)) > math.log1p(ways_row("circular_gauge_reach")["value"]):
        raise Problem(
            WHERE,
            f"{plain(fabric.yarn.tex.value, 0)} tex asks for a cylinder of E {plain(wanted, 1)}.",
            limit=f"the nearest listed, “{nearest.name}”, has E {plain(nearest.gauge, 1)}",
            tries=["another count", "a leg knitted flat"],
        )
    return nearest


def _tube(measures: Measures, cylinder: Cylinder, fabric: Fabric) -> TubePlan:
    geometry = fabric.geometry
    swatch = TubeFabric(geometry.wales_per_cm.value, geometry.courses_per_cm.value, geometry.loop_length_mm.value)
    tube = plan_tube(tube_levels(measures), needles=cylinder.needles, fabric=swatch)
    for zone in tube.zones:
        for wales, length in zip(zone.wales_per_cm, zone.loop_length_mm, strict=True):
            if not loop_is_within_reach(fabric.structure, length, cylinder.gauge):
                raise Problem(
                    f"{WHERE}, {zone.name}",
                    f"{plain(wales, 1)} wales to a cm on {cylinder.needles} needles ask for a loop of "
                    f"{plain(length, 2)} mm, which E {plain(cylinder.gauge, 1)} does not knit.",
                    tries=["a cylinder of another diameter", "a leg knitted flat"],
                )
    return tube


def tube_levels(measures: Measures) -> tuple[TubeLevel, ...]:
    """Levels of the leg from the ankle up, its girths those of the flat leg."""
    stretch = 1 / (1 - parts_of("women")["leg_closer"])
    leg = [each for each in levels(measures) if each.name not in BELOW_THE_ANKLE]
    ankle = leg[-1].down_cm
    ends = [("top", leg[0].width_cm, 0.0), *((each.name, each.width_cm, each.down_cm) for each in leg[1:])]
    return tuple(
        TubeLevel(_ENDS.get(name, name), ankle - down, width * stretch, stretch) for name, width, down in reversed(ends)
    )


_ENDS = {"thigh": "lower thigh", "knee": "calf", "calf": "ankle", "rise": "thigh"}  # a stretch by what it ends at


def _zones(size: SizeStudy, tube: TubePlan, cylinder: Cylinder) -> tuple[Zone, ...]:
    rows = table("loopwright.machine", "hosiery_settings").by("quantity")
    leg = size.plan.first
    slow = rows["slow_turns"]["value"] * cylinder.most_rpm
    feeds = min(int(rows["slow_feeds"]["value"]), cylinder.feeds)
    zones = (
        Zone("welt", leg.rib_courses, feeds, slow),
        Zone("leg", tube.courses, cylinder.feeds, cylinder.most_rpm),
        Zone("heel, foot and toe", foot_courses(leg), feeds, slow),
    )
    cylinder.check(zones)
    return zones


def foot_courses(leg: PanelPlan) -> int:
    """Courses below the ankle of a flat leg, heel included; 0 for a leg without a foot."""
    return sum(each.courses for each in leg.sections if each.name in BELOW_THE_ANKLE)


def full_foot_courses(leg: PanelPlan) -> float:
    """Courses below the ankle as if all needles knitted in each: half a heel and a toe count by their loops."""
    foot = [each for each in leg.sections if each.name in BELOW_THE_ANKLE]
    if not foot:
        return 0.0
    knitted = leg.span - leg.held
    loops = sum(int(knitted[each.start : each.start + each.courses].sum()) for each in foot)
    return loops / int(leg.span[foot[0].start])


def _grams(size: SizeStudy, tube: TubePlan, fabric: Fabric) -> Figure:
    """Yarn of both legs: needles × courses × loop length × count."""
    leg = size.plan.first
    ankle, top = tube.zones[0].loop_length_mm[0], tube.zones[-1].loop_length_mm[-1]
    mm = leg.rib_courses * top + full_foot_courses(leg) * ankle
    mm += sum(zone.courses * sum(zone.loop_length_mm) / 2 for zone in tube.zones)
    value = LEGS * tube.needles * mm * fabric.yarn.tex.value / MM_G
    words = "needles by courses by loop length by count, both legs"
    return power_law("yarn in a pair", value, "g", [Term("M", fabric.mass)], words=words, formula="m = Σ N·K·l·T / 10⁶")


def _seams(size: SizeStudy) -> tuple[Seam, ...]:
    return tuple(seam for seam in seams_of(size.plan) if seam.name != "back seams")
