"""Cut and sew from flat blanks: each panel a knitted rectangle with its rib, cut to shape and overlocked.

In: `StyleStudy`. Out: `Needs`. A blank is as wide and long as its piece with seam allowance, so the loss is the blank's
area less the piece's, exactly; its minutes are those of its own strokes, without narrowings.
Main assumptions: the rib is knitted on all needles of the blank and cut with it; trims are knitted as they are.
Not covered: several pieces out of one blank. Source: production reference 5.1, 6.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from shapely import box  # type: ignore[import-untyped]

from loopwright.cost.yarn_purchase import usual_loss
from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, exact, plain
from loopwright.machine.machine import VBed
from loopwright.machine.minutes import standard_minutes
from loopwright.makeup.marker import marker_value
from loopwright.problems import Finding, Problem, Sign
from loopwright.shaping.consumption import zone_yarn
from loopwright.shaping.panel import PanelPlan, Section, Work
from loopwright.study.knitting import PanelStudy, grams_by_yarn, strokes_of, weighted, worked_panel
from loopwright.study.pricing import losses_of, mean_makeup, usual_programming
from loopwright.study.study import StyleStudy
from loopwright.study.ways.cut import SAME_WORK, check_block, cut_makeup, main_shape, overlocked
from loopwright.study.ways.fashioned import dropped_words, mix_of, per_cent, total_makeup
from loopwright.study.ways.way import Needs, Supply


def from_blanks(study: StyleStudy) -> Needs:
    """Blanks for every panel, cut and overlocked.

    Raises:
        Problem: a block that is not cut, or a blank wider than the bed.
    """
    check_block(study, "flat blanks")
    mix = mix_of(study)
    allowance = marker_value("seam_allowance")
    blanks = [(share, [_blank(study, panel, allowance) for panel in size.panels]) for share, size in mix]
    pieces = [
        (share, [_piece(panel, study.making.cloth.fabrics, allowance) for panel in size.panels]) for share, size in mix
    ]
    sheets = [(share, cut_makeup(study, overlocked(size.plan))) for share, size in mix]
    supplies, usual = _supplies(study, blanks, pieces), usual_loss("blanks")
    return Needs(
        supplies=supplies,
        knitting_minutes=_minutes(blanks, study.machine),
        makeup=mean_makeup(sheets),
        makeup_minutes=total_makeup(sheets),
        programming_hours=usual_programming(
            ("straight_blanks", "patterns_and_marker"), len(study.sizes), study.fabrics
        ),
        rests_on=(
            f"blanks as wide and long as a piece with {plain(allowance, 1)} cm of seam allowance, its rib knitted on",
            f"loss exactly by area; the trade reckons {per_cent(usual.low)} to {per_cent(usual.high)} of the fabric",
            "every seam overlocked, the neck too; cutting and trimming minutes are ours",
            *dropped_words(study, SAME_WORK),
        ),
        findings=_lost(supplies),
    )


def blank_of(panel: PanelPlan, allowance_cm: float) -> PanelPlan:
    """The rectangle that a panel is cut from; a trim without main fabric is its own blank."""
    if not panel.courses:
        return panel
    left, low, right, high = main_shape(panel).bounds
    gauge = panel.gauge
    needles = max(math.ceil((right - left + 2 * allowance_cm) * gauge.needles_per_cm), panel.widest)
    courses = math.ceil((high - low + allowance_cm) * gauge.courses_per_cm)
    half = np.full(courses, needles // 2, dtype=np.int64)
    nothing = np.zeros(courses, dtype=np.int64)
    return replace(
        panel,
        rib_needles=needles if panel.rib_courses else 0,
        left=half,
        right=half + needles % 2,
        held_left=nothing,
        held_right=nothing,
        work=np.full(courses, Work.PLAIN, dtype=np.int64),
        sections=(Section("blank", 0, courses),),
        fashionings=(),
        bind_offs=(),
        short_rows=(),
        neck_needles=0,
        finish_needles=needles,
        is_half=False,
        slack=(),
    )


def _blank(study: StyleStudy, panel: PanelStudy, allowance_cm: float) -> PanelStudy:
    blank = blank_of(panel.plan, allowance_cm)
    if study.machine is not None and blank.widest > study.machine.needles:
        raise Problem(
            f"blank of the {blank.name}, size {blank.size}",
            f"{blank.widest} needles with seam allowance.",
            limit=f"{study.machine.needles} needles of bed",
            tries=["a wider bed", "fully fashioned panels"],
        )
    return worked_panel(blank, study.making.cloth.fabrics, study.machine)


def _piece(panel: PanelStudy, fabrics: Mapping[str, Fabric], allowance_cm: float) -> PanelStudy:
    """What is left of a blank after cutting: the panel with seam allowance at its sides and top, and its rib."""
    plan = panel.plan
    if not plan.courses:
        return panel
    shape = main_shape(plan)
    left, low, right, high = shape.bounds
    sides = box(left - allowance_cm, low, right + allowance_cm, high + allowance_cm)
    area = shape.buffer(allowance_cm, join_style="mitre").intersection(sides).area
    gauge = plan.gauge
    loops = round(area * gauge.needles_per_cm * gauge.courses_per_cm)
    wide = blank_of(plan, allowance_cm).rib_needles
    rib = min(plan.rib_needles + math.ceil(2 * allowance_cm * gauge.rib_needles_per_cm), wide) * plan.rib_courses
    yarn = [zone_yarn(plan.zone, loops, fabrics[plan.zone])]
    if rib:
        yarn.append(zone_yarn(plan.rib_zone, rib, fabrics[plan.rib_zone]))
    return PanelStudy(plan, None, tuple(yarn))


Worked = Sequence[tuple[float, Sequence[PanelStudy]]]


def _supplies(study: StyleStudy, blanks: Worked, pieces: Worked) -> tuple[Supply, ...]:
    """Yarn by yarn: what the pieces hold, and what the cutter leaves of the blanks as a loss."""
    knitted, kept = (_mean(worked, study.making.cloth.fabrics) for worked in (blanks, pieces))
    made = []
    for yarn, grams in kept.items():
        share = 1 - grams.value / knitted[yarn].value
        words = "area of the blanks that is no piece, each blank the rectangle round its piece"
        cut = exact("cutting of the blanks", share, "", words=words, formula="1 − Σ pieces / Σ blanks")
        made.append(Supply(yarn, grams, (*losses_of(study.style, yarn), cut)))
    return tuple(made)


def _mean(worked: Worked, fabrics: Mapping[str, Fabric]) -> dict[str, Figure]:
    sizes = [(share, grams_by_yarn(panels, fabrics)) for share, panels in worked]
    return {
        name: weighted(f"{name} in a piece", [(share, each[name]) for share, each in sizes], "g")
        for name in sizes[0][1]
    }


def _minutes(blanks: Worked, machine: VBed | None) -> Figure | None:
    if machine is None:
        return None
    strokes = [(share, strokes_of(panels, machine)) for share, panels in blanks]
    timed = [(share, standard_minutes("knitting minutes", each, machine)) for share, each in strokes if each]
    return weighted("knitting minutes", timed, "min")


def _lost(supplies: Sequence[Supply]) -> tuple[Finding, ...]:
    lost = sum(each.grams.value * each.losses[-1].value / (1 - each.losses[-1].value) for each in supplies)
    knitted = sum(each.grams.value / (1 - each.losses[-1].value) for each in supplies)
    if not lost:
        return ()
    share = lost / knitted
    sentence = f"Of {plain(knitted, 0)} g knitted in blanks the cutter leaves {plain(lost, 0)} g, {per_cent(share)}."
    tries = ("panels fashioned at the armhole only", "two sleeves cut out of one blank, head to foot")
    return (Finding(Sign.KNOW, "flat blanks", sentence, tries, weight=share),)
