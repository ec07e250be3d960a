"""Complete garment: body and sleeves as tubes on every second needle of a long bed, joined in the yoke, nothing linked.

In: `StyleStudy`. Out: `Needs`. Wales and courses of the tubes are those of the study's own panels; the machine is the
listed one whose half gauge takes the yarn. Main assumptions: cloth and mass are those of the panels; the yoke closes
from armhole to neck with as few narrowings as its edges allow; the trim is knitted on.
Not covered: open fronts, garments without sleeves, other tubes. Source: production reference 4.5, 5.1.
"""

from __future__ import annotations

import math

from loopwright.cost.yarn_purchase import usual_losses
from loopwright.fabric.suitability import gauge_for_count, usual_count
from loopwright.figure import plain
from loopwright.machine.complete import TubePlan, complete_garment
from loopwright.machine.half_gauge import half_gauge_findings
from loopwright.machine.models import FlatModel, flat_model, flat_models
from loopwright.makeup.operations import operations
from loopwright.problems import Problem
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan
from loopwright.study.knitting import weighted
from loopwright.study.pricing import mean_grams, mean_makeup, usual_programming
from loopwright.study.study import StyleStudy
from loopwright.study.ways.fashioned import dropped_words, mix_of, other_makeup, total_makeup
from loopwright.study.ways.way import Needs, Supply

WHERE = "complete garment"
TUBE_BLOCKS = ("pullover", "dress")
COUNTS = {"panel_inspection": 0, "panel_steaming": 0}
SAME_WORK = frozenset(operations()) - {"linking", "linking_coarse", *COUNTS}
WALES_AN_EVENT = 12  # four edges of a bed, three wales each: the most of `machine.complete`


def in_one(study: StyleStudy) -> Needs:
    """The garment in one piece; only its label and ends are left to the hand.

    Raises:
        Problem: a block without tubes, a structure or a count that half gauge does not take, or a bed too narrow.
    """
    mix = mix_of(study)
    _check(study, mix[0][1].plan)
    model = machine_for(study)
    machine = model.v_bed()
    knitted = [(share, complete_garment(tube_plan(size.plan), machine).standard) for share, size in mix]
    sheets = [(share, other_makeup(study, (), SAME_WORK, COUNTS)) for share, _ in mix]
    losses = usual_losses("complete garment")
    return Needs(
        supplies=tuple(Supply(name, each, losses) for name, each in mean_grams(mix).items()),
        knitting_minutes=weighted("knitting minutes", knitted, "min"),
        makeup=mean_makeup(sheets),
        makeup_minutes=total_makeup(sheets),
        programming_hours=usual_programming(("complete_garment",), len(study.sizes), study.fabrics),
        rests_on=(
            f"an invented machine, “{model.name}”: {model.bed_in:g} in of bed, E {model.gauge:g}, so E "
            f"{model.gauge / 2:g} in the tubes; its hour priced as that of the style's machine",
            "one tube course to a round trip; starts, joins and racks are assumed by us",
            "yarn as in the panels; nothing linked, no panels to inspect or steam",
            *dropped_words(study, SAME_WORK),
        ),
    )


def _check(study: StyleStudy, plan: GarmentPlan) -> None:
    block, sleeve = plan.measures.shape.block, plan.panel("sleeve")
    if block not in TUBE_BLOCKS or sleeve is None:
        raise Problem(
            WHERE,
            f"the block “{block}” is not modelled as tubes that join in a yoke.",
            limit="modelled: pullover and dress, with sleeves",
            tries=["panels"],
        )
    for zone, fabric in study.fabrics.items():
        for finding in half_gauge_findings(fabric.structure):
            raise Problem(f"{WHERE}, {zone}", finding.sentence, tries=finding.tries)


def machine_for(study: StyleStudy) -> FlatModel:
    """The machine for complete garments whose half gauge takes the body's yarn, widest bed first; the style's own model
    before all others.

    Raises:
        Problem: none does.
    """
    named = study.style.machine.model if study.style.machine else ""
    tex = study.fabrics["body"].yarn.tex.value
    able = [each for each in flat_models().values() if each.knits_complete_garments]
    if named and flat_model(named) in able:
        able = [flat_model(named)]
    takes = [each for each in able if usual_count(each.gauge / 2).low <= tex <= usual_count(each.gauge / 2).high]
    if takes:
        return max(takes, key=lambda each: (each.bed_in, each.gauge))
    wanted = gauge_for_count(tex)
    nearest = min(able, key=lambda each: abs(math.log(each.gauge / 2 / wanted)))
    asked = usual_count(nearest.gauge / 2)
    raise Problem(
        WHERE,
        f"{plain(tex, 0)} tex asks for E {plain(wanted, 0)} in the cloth, so on every second needle for a bed of "
        f"E {plain(2 * wanted, 0)}.",
        limit=f"“{nearest.name}” comes nearest: E {nearest.gauge / 2:g} in the tubes, yarn of {plain(asked.low, 0)} to "
        f"{plain(asked.high, 0)} tex",
        tries=[f"a yarn of about {plain(asked.value, 0)} tex", "panels"],
    )


def tube_plan(plan: GarmentPlan) -> TubePlan:
    """Tubes of a pullover from its panels; a flat width is half of the round.

    Raises:
        Problem: widths that do not close into one yoke.
    """
    back, sleeve, trim = plan.panel("back"), plan.panel("sleeve"), plan.neck_trim
    assert back is not None
    assert sleeve is not None
    body, arm = back.section("body"), sleeve.section("sleeve")
    body_wales, sleeve_wales = _wales(back, body.start + body.courses), _wales(sleeve, arm.start + arm.courses) // 2
    neck = max(1, round(plan.neck_seam_cm * back.gauge.needles_per_cm / 2))
    underarm = sum(each.needles for each in back.bind_offs if each.course == body.start + body.courses) // 4
    joined = body_wales + 2 * sleeve_wales - 4 * underarm
    neck = min(neck, joined)
    yoke = sum(each.courses for each in back.sections if each.name not in ("body", "shoulder"))
    return TubePlan(
        body_wales=body_wales,
        sleeve_wales=sleeve_wales,
        body_courses=back.rib_courses + body.courses,
        sleeve_courses=sleeve.rib_courses + arm.courses,
        yoke_courses=max(1, yoke),
        neck_wales=neck,
        narrowings=math.ceil((joined - neck) / WALES_AN_EVENT),
        underarm_wales=underarm,
        short_row_courses=sum(each.courses for each in back.sections if each.name == "shoulder"),
        neck_courses=trim.rib_courses if trim else 0,
    )


def _wales(panel: PanelPlan, courses: int) -> int:
    """Needles in the course before the armhole or the cap begins."""
    return int(panel.span[courses - 1])
