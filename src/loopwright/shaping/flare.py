"""A skirt flared by its loops: the same needles all the way, longer loops from waist to hem.

In: measures, needles, densities of the zone. Out: `FlareStep`s, settings of the stitch cam from the hem up, and their
courses. Assumption: wale and course spacing both follow the loop length (w = k_w/l, c = k_c/l).
Not covered: flare by narrowings or gores (`blocks.skirt`, `gores`). Source: production reference 2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from loopwright.garment.measures import Measures
from loopwright.problems import Problem
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge
from loopwright.sources.table import Row, table


@dataclass(frozen=True, slots=True)
class FlareStep:
    """A setting of the stitch cam: height in cm, and loop length over the zone's."""

    height_cm: float
    slack: float


def flare_steps(measures: Measures, needles: int, gauge: PanelGauge) -> tuple[FlareStep, ...]:
    """Settings of the stitch cam from hem to waist: each reaches half way to its neighbours, so the area is kept."""
    rib, length = measures["hem_rib"], measures["skirt_length"]
    hip_at = length - measures["hip_level"]
    hem, hip, waist = measures["half_hem"], measures["half_hip"], measures["half_waist"]
    nodes = [*_nodes(rib, hem, hip_at, hip)[:-1], *_nodes(hip_at, hip, length, waist)]
    heights = [height for height, _ in nodes]
    bounds = [rib, *((low + high) / 2 for low, high in pairwise(heights)), length]
    return tuple(
        FlareStep(top - bottom, width * gauge.needles_per_cm / needles)
        for (bottom, top), (_, width) in zip(pairwise(bounds), nodes, strict=True)
    )


def _nodes(low: float, wide: float, high: float, narrow: float) -> list[tuple[float, float]]:
    """(height, half width) at even distances, as many as keep the width steps small."""
    count = max(1, math.ceil(abs(wide - narrow) / _row("flare_step_cm")["value"]))
    return [(low + (high - low) * step / count, wide + (narrow - wide) * step / count) for step in range(count + 1)]


def courses_of(steps: Sequence[FlareStep], gauge: PanelGauge) -> list[int]:
    """Even courses of every setting; what one rounds off the next takes up."""
    courses, wanted, real = [], 0.0, 0.0
    for step in steps:
        wanted += step.height_cm
        course_cm = step.slack / gauge.courses_per_cm
        count = max(0, nearest_even((wanted - real) / course_cm))
        real += count * course_cm
        courses.append(count)
    return courses


def check_loops(measures: Measures, size: str) -> None:
    """Refuse more flare than one stitch cam gives.

    Raises:
        Problem: with both widths, and how much longer the longest loop would be.
    """
    row, waist = _row("flat_loop_ratio"), measures["half_waist"]
    widest = max(measures["half_hem"], measures["half_hip"])
    if widest <= row["value"] * waist + 1e-9:
        return
    what = (
        f"half hem {widest:.1f} cm over half waist {waist:.1f} cm on the same needles asks for loops "
        f"{widest / waist:.2f} times as long at the hem as at the waist."
    )
    limit = f"{row['value']:g} times; stitch cams reach {row['value_low']:g} to {row['value_high']:g}, common practice"
    tries = ['skirt = "narrowed"', 'skirt = "sideways"', f"a half hem of {row['value'] * waist:.1f} cm at most"]
    raise Problem(f"skirt, size {size}", what, limit=limit, tries=tries)


def _row(name: str) -> Row:
    return table(__package__, "other_blocks").by("quantity")[name]
