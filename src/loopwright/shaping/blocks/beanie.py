"""The beanie: rib, a straight part, and a crown whose darts narrow it to about a tenth of its needles.

In: measures, densities, rules. Out: `GarmentPlan` of one flat piece with a seam at the back. How darts are counted, and
what that neglects, stands in `darts`.
Not covered: caps in the round, the draw-thread. Source: production reference 2.
"""

from __future__ import annotations

from loopwright.garment.blocks.beanie import crown_cm, outlines
from loopwright.garment.measures import Measures
from loopwright.garment.taken import parts_of
from loopwright.problems import Problem
from loopwright.shaping.darts import Darts, darts_of, with_darts
from loopwright.shaping.edges import Drafted, Edge, Foot, Stretch, assemble
from loopwright.shaping.joins import Join
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant
from loopwright.shaping.stretch import must_stretch
from loopwright.sources.table import table

BLOCKS = ("beanie",)


def plan(measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, band_is_doubled: bool) -> GarmentPlan:
    """The cap of one size.

    Raises:
        Problem: the crown has too few needles, or no room above the rib.
    """
    del band_is_doubled
    gauge = gauges.panel("body", "hem")
    piece, crown = _piece(measures, gauge, rules, size)
    rib_cm = piece.rib_needles / (gauge.rib_needles_per_cm if piece.rib_courses else gauge.needles_per_cm)
    stretch = must_stretch("brim", size, rib_cm, measures["brim_stretched"], over="the head")
    real = {
        "half_girth": piece.rib_needles / gauge.needles_per_cm / 2,
        "cap_depth": piece.length_cm - measures["turn_up"],
        "turn_up": measures["turn_up"],
        "brim_rib": piece.rib_length_cm,
    }
    fact = (
        f"Crown of {crown.count} darts over {crown.courses} courses, {piece.rib_needles} to {crown.left} needles; they "
        f"narrow at the same courses, pair after pair: {crown.count // 2} times the strokes of two edges."
    )
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=refuse_scant((piece,), size),
        joins=(
            Join("crown", "top drawn together", points=crown.left),
            Join("back seam", "edge to edge", length_cm=piece.length_cm),
        ),
        closures=(),
        real=tuple(real.items()),
        wanted=outlines(measures),
        facts=(fact, stretch.sentence),
        findings=(stretch,),
    )


def _piece(measures: Measures, gauge: PanelGauge, rules: ShapingRules, size: str) -> tuple[PanelPlan, Darts]:
    """The flat piece, and the crown that it ends in."""
    needles = nearest_even(2 * measures["half_girth"] * gauge.needles_per_cm)
    c, where = gauge.courses_per_cm, f"crown, size {size}"
    crown = _crown(measures, needles, c, where)
    rib = nearest_even(measures["brim_rib"] * gauge.rib_courses_per_cm)
    above = nearest_even((measures["cap_depth"] + measures["turn_up"] - measures["brim_rib"]) * c)
    if crown.courses > above:
        what = f"the crown takes {crown.courses} courses and there are {above} above the rib."
        raise Problem(where, what, tries=["a deeper cap", "a lower rib", "a smaller girth"])
    straight = Stretch("cap", above - crown.courses)
    edge = Edge(needles // 2, (straight, Stretch("crown", crown.courses, steps=crown.edge_steps)))
    foot = Foot(needles, rib)
    piece = assemble(Drafted("beanie", size, edge, edge, foot, gauge, 1, rules.mark_needles, crown.left))
    return with_darts(piece, "crown", crown), crown


def _crown(measures: Measures, needles: int, courses_per_cm: float, where: str) -> Darts:
    count = int(table("loopwright.shaping", "other_blocks").by("quantity")["crown_darts"]["value"])
    height, left = crown_cm(measures.by_name), parts_of("women")["crown_left"]
    try:
        return darts_of(needles, height_cm=height, courses_per_cm=courses_per_cm, count=count, left_share=left)
    except Problem as problem:
        raise problem.at(where) from None
