"""Cut pieces and how they are sewn: shapes without their ribs, overlocked seams, and the make-up of cut and sew.

In: `GarmentPlan`, `PanelPlan`. Out: closed outlines in cm, seams by length, make-up sheets. Main assumption: every seam
of a cut garment is a four-thread overlock, the neck too; points of a linked seam become its length in the cloth.
Source: production reference 6.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely import MultiPolygon, Polygon, box, union_all  # type: ignore[import-untyped]

from loopwright.makeup.minutes import MakeupSheet
from loopwright.makeup.operations import operations
from loopwright.makeup.seams import Seam
from loopwright.problems import Problem
from loopwright.shaping.joins import Join
from loopwright.shaping.outline import real_outline
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan
from loopwright.study.study import StyleStudy
from loopwright.study.ways.fashioned import other_makeup

CUT_BLOCKS = ("pullover", "cardigan", "vest", "dress", "skirt")
COUNTS = {"hand_finish": 0, "cutting": 1, "thread_trimming": 1}
OVERLOCK = "overlock"


def check_block(study: StyleStudy, way: str) -> None:
    """Refuse blocks whose panels no plain cut gives.

    Raises:
        Problem: with the block, and why.
    """
    shape = study.sizes[0].plan.measures.shape
    if shape.block not in CUT_BLOCKS:
        what = f"the block “{shape.block}” is not modelled in this way."
        raise Problem(way, what, limit=f"modelled: {', '.join(CUT_BLOCKS)}", tries=["fully fashioned panels"])
    if shape.block == "skirt" and shape.skirt == "sideways":
        what = "gores that short rows make are not modelled as cut pieces."
        raise Problem(way, what, tries=["a skirt that is narrowed, not knitted sideways"])


def main_shape(panel: PanelPlan) -> Polygon:
    """The main fabric of a panel in cm, its lowest course at height 0."""
    bare = replace(panel, rib_courses=0, rib_needles=0)
    shape = Polygon(real_outline(bare).whole)
    return shape if shape.is_valid else _of_its_courses(panel)


def _of_its_courses(panel: PanelPlan) -> Polygon:
    """The shape put together course by course, for a panel whose top reaches over its centre line."""
    slack = panel.slack_of_courses
    height = np.concatenate([[0.0], np.cumsum(slack)]) / panel.gauge.courses_per_cm
    cm = slack / panel.gauge.needles_per_cm
    courses = box(-panel.left * cm, height[:-1], panel.right * cm, height[1:] + JOINED_CM)
    return max(_parts(union_all(courses)), key=lambda part: part.area)


def _parts(shape: Polygon | MultiPolygon) -> list[Polygon]:
    return list(shape.geoms) if isinstance(shape, MultiPolygon) else [shape]


JOINED_CM = 1e-6  # so that neighbouring courses touch


def cut_outline(panel: PanelPlan) -> tuple[tuple[float, float], ...]:
    """The main fabric of a panel as a knife follows it, the stairs of single needles left out."""
    smooth = main_shape(panel).simplify(KNIFE_CM)
    return tuple(smooth.exterior.coords[:-1])


KNIFE_CM = 0.2  # a knife does not follow what is nearer to its line


def overlocked(plan: GarmentPlan) -> tuple[Seam, ...]:
    """The seams of the garment, every one overlocked along its length."""
    return tuple(
        Seam(join.name, join.place, OVERLOCK, length_cm=join_cm(plan, join), count=join.count) for join in plan.joins
    )


def join_cm(plan: GarmentPlan, join: Join) -> float:
    """Length of a join in cm; of loops linked, that of the edge that they are linked to."""
    if join.length_cm:
        return join.length_cm
    trim = plan.panel(join.name.removesuffix("s")) or plan.panel(join.name)
    if trim is not None and trim is plan.neck_trim and plan.neck_seam_cm:
        return plan.neck_seam_cm
    if trim is not None:
        return join.points / trim.gauge.rib_needles_per_cm
    return join.points / plan.first.gauge.needles_per_cm


def cut_makeup(study: StyleStudy, seams: tuple[Seam, ...]) -> MakeupSheet:
    """Make-up of a cut garment: pieces are laid and cut, thread ends trimmed instead of yarn ends mended."""
    return other_makeup(study, seams, SAME_WORK, COUNTS)


SAME_WORK = frozenset(operations()) - {"linking", "linking_coarse", "hand_finish", "hand_finish_intarsia"}
