"""Outlines as values: the wanted shape of a panel in cm, before it is rounded to needles and courses.

In: `Measures`. Out: `Outline`, the right half of a symmetrical panel, from the centre of its base up and round to the
centre of its top. Origin at the centre of the base, x to the right, y up. Curves are sampled finely.
Not covered: the real outline of a knit-down (`shaping.outline`). Source: production reference 2.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from loopwright.garment.blocks.set_in_crew import block_row, cap_height_of
from loopwright.garment.measures import Measures

Point = tuple[float, float]
NECK_POINTS = 24  # points on the quarter ellipse of the front neck


@dataclass(frozen=True, slots=True)
class Outline:
    """Right half of a symmetrical panel, points in cm in order."""

    name: str
    half: tuple[Point, ...]

    @property
    def whole(self) -> tuple[Point, ...]:
        """The closed panel, anticlockwise from the centre of the base."""
        return (*self.half, *((-x, y) for x, y in reversed(self.half) if x > 0))

    @property
    def area_cm2(self) -> float:
        """Area of the whole panel."""
        points = self.whole
        crosses = (x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairwise([*points, points[0]]))
        return abs(sum(crosses)) / 2

    @property
    def perimeter_cm(self) -> float:
        """Way round the whole panel."""
        return 2 * sum(math.dist(first, second) for first, second in pairwise(self.half))


def body_outline(measures: Measures, name: str) -> Outline:
    """Wanted outline of the back or the front above and with its rib (rib as wide as it should lie)."""
    half_chest, half_across, half_neck = (
        measures.half_chest_cm / 2,
        measures.across_shoulder_cm / 2,
        measures.neck_width_cm / 2,
    )
    underarm = measures.length_cm - measures.armhole_depth_cm
    shoulder = measures.length_cm - measures.shoulder_drop_cm
    inset = half_chest - half_across
    base = min(block_row("armhole_base_cm")["value"], inset)
    slope = block_row("armhole_slope_share")["value"] * (shoulder - underarm)
    half = [
        (0.0, 0.0),
        (measures.half_hem_cm / 2, 0.0),
        (measures.half_hem_cm / 2, measures.hem_rib_cm),
        (half_chest, measures.hem_rib_cm),
        (half_chest, underarm),
        (half_chest - base, underarm),
        (half_across, underarm + slope),
        (half_across, shoulder),
        (half_neck, measures.length_cm),
    ]
    return Outline(name, (*half, *_neck(measures, name)))


def _neck(measures: Measures, name: str) -> list[Point]:
    half_neck, top = measures.neck_width_cm / 2, measures.length_cm
    if name == "back":
        flat, bottom = block_row("back_neck_flat_share")["value"], top - measures.back_neck_drop_cm
        return [(half_neck * flat, bottom), (0.0, bottom)]
    drop = measures.front_neck_drop_cm
    angles = [math.pi / 2 * step / NECK_POINTS for step in range(1, NECK_POINTS + 1)]
    return [(half_neck * math.cos(angle), top - drop * math.sin(angle)) for angle in angles]


def sleeve_outline(measures: Measures) -> Outline:
    """Wanted outline of the sleeve with a straight-sided cap of the height that closes."""
    inset = (measures.half_chest_cm - measures.across_shoulder_cm) / 2
    height = measures.armhole_depth_cm - measures.shoulder_drop_cm
    cap = cap_height_of(inset_cm=inset, armhole_height_cm=height, upper_arm_cm=measures.upper_arm_cm)
    half_arm = measures.upper_arm_cm / 2
    base = min(block_row("armhole_base_cm")["value"], inset)
    top = block_row("cap_top_share")["value"] * half_arm
    underarm = measures.sleeve_underarm_cm
    half = (
        (0.0, 0.0),
        (measures.cuff_cm / 2, 0.0),
        (measures.cuff_cm / 2, measures.cuff_rib_cm),
        (half_arm, underarm),
        (half_arm - base, underarm),
        (top, underarm + cap),
        (0.0, underarm + cap),
    )
    return Outline("sleeve", half)


def wanted_outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outlines of back, front and sleeve by name."""
    outlines = (body_outline(measures, "back"), body_outline(measures, "front"), sleeve_outline(measures))
    return {outline.name: outline for outline in outlines}
