"""The whole knit-down of one size: back, front, sleeve and neckband, tied together in their seams.

In: measures of the size, densities of the zones, rules. Out: `GarmentPlan`. The body is planned first; its real armhole
edges set the cap, its real neck edge sets the band. Not covered: other blocks (later), time (`machine`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.garment.blocks.set_in_crew import front_neck_length_cm
from loopwright.garment.measures import Measures
from loopwright.shaping.body import BodyCounts, armhole_edge_cm, body_counts, plan_back, plan_front
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.sleeve import Cap, band_needles, plan_sleeve


@dataclass(frozen=True, slots=True)
class ZoneGauges:
    """Densities of every zone of the garment: (needle places per cm, visible courses per cm), finished."""

    body: tuple[float, float]
    hem: tuple[float, float]
    sleeve: tuple[float, float]
    cuff: tuple[float, float]
    neckband: tuple[float, float]


@dataclass(frozen=True, slots=True)
class GarmentPlan:
    """Needles and courses of one size, with the seams that tie the panels."""

    size: str
    measures: Measures
    counts: BodyCounts
    back: PanelPlan
    front: PanelPlan
    sleeve: PanelPlan
    band: PanelPlan
    cap: Cap
    armhole_edge_cm: float
    front_neck_cm: float
    back_neck_cm: float

    @property
    def panels(self) -> tuple[PanelPlan, ...]:
        """Panels in knitting order."""
        return (self.back, self.front, self.sleeve, self.band)

    @property
    def neck_seam_cm(self) -> float:
        """Real length of the neck edge all round."""
        return self.front_neck_cm + self.back_neck_cm

    @property
    def band_girth_cm(self) -> float:
        """Relaxed girth of the neckband: needles over its own density."""
        return self.band.rib_needles / self.band.gauge.rib_needles_per_cm


def plan_garment(
    measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, *, band_is_doubled: bool = True
) -> GarmentPlan:
    """Plan every panel of one size.

    Raises:
        Problem: a panel cannot be made; the message says which, with both numbers and what to try.
    """
    body_gauge = PanelGauge(*gauges.body, *gauges.hem)
    sleeve_gauge = PanelGauge(*gauges.sleeve, *gauges.cuff)
    counts = body_counts(measures, body_gauge, rules, size)
    back = plan_back(counts, measures, body_gauge, rules, size)
    front = plan_front(counts, measures, body_gauge, rules, size)
    edge = armhole_edge_cm(counts, body_gauge)
    sleeve, cap = plan_sleeve(measures, edge, counts.bind_off, sleeve_gauge, rules, size)
    front_neck, back_neck = front_neck_cm(front), back_neck_cm(back)
    band = _plan_band(measures, front_neck + back_neck, gauges, rules, size, band_is_doubled)
    return GarmentPlan(size, measures, counts, back, front, sleeve, band, cap, edge, front_neck, back_neck)


def front_neck_cm(front: PanelPlan) -> float:
    """Real front neck edge: the half ellipse over the real width and depth of the split."""
    depth = int(np.count_nonzero(front.held))
    width_cm = front.neck_needles / front.gauge.needles_per_cm
    return front_neck_length_cm(width_cm=width_cm, drop_cm=depth / front.gauge.courses_per_cm)


def back_neck_cm(back: PanelPlan) -> float:
    """Real back neck edge: flat centre and two slopes."""
    depth = int(np.count_nonzero(back.held))
    if depth == 0:
        return 0.0
    flat = int(back.held[back.courses - depth])
    slope_cm = math.hypot((back.neck_needles - flat) / 2 / back.gauge.needles_per_cm, depth / back.gauge.courses_per_cm)
    return flat / back.gauge.needles_per_cm + 2 * slope_cm


def _plan_band(
    measures: Measures, seam_cm: float, gauges: ZoneGauges, rules: ShapingRules, size: str, doubled: bool
) -> PanelPlan:
    w, c = gauges.neckband
    needles = band_needles(seam_cm=seam_cm, rib_needles_per_cm=w, pick_up=rules.band_pick_up)
    courses = nearest_even(measures.neckband_cm * c * (2 if doubled else 1))
    empty = np.zeros(0, dtype=np.int64)
    gauge = PanelGauge(w, c, w, c)
    return PanelPlan(
        "neckband", size, 1, needles, courses, empty, empty, empty, (), (), (), gauge, finish_needles=needles
    )
