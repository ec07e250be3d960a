"""Bands, collars and hoods: what is joined to the edges of a body, from the real lengths of those edges.

In: edges in cm, densities of the band, pick-up. Out: `PanelPlan`s that are rib all through (a hood: main fabric), with
their joins. A doubled band is knitted twice as high. Not covered: the neck itself (`neckline`).
Source: production reference 2 (bands by pick-up ratio), 3.1 item 5.
"""

from __future__ import annotations

from loopwright.garment.measures import Measures
from loopwright.garment.necks import neck_called
from loopwright.garment.sleeves import sleeve_row
from loopwright.shaping.body import BodyPlan
from loopwright.shaping.edges import Drafted, Edge, Foot, Stretch, assemble
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.rules import ShapingRules


def band_needles(*, seam_cm: float, rib_needles_per_cm: float, pick_up: float) -> int:
    """Needles of a band: seam × rib density × pick-up ratio, even.

    >>> band_needles(seam_cm=47.93, rib_needles_per_cm=6.9, pick_up=0.95)    # P-27
    314
    """
    return nearest_even(seam_cm * rib_needles_per_cm * pick_up)


def strip(name: str, size: str, *, needles: int, height_cm: float, gauge: PanelGauge, pieces: int = 1) -> PanelPlan:
    """A band of rib on so many needles, knitted `height_cm` high."""
    courses = nearest_even(height_cm * gauge.rib_courses_per_cm)
    empty = Edge(0, ())
    foot = Foot(needles, courses, "neckband", "neckband")
    return assemble(Drafted(name, size, empty, empty, foot, gauge, pieces, finish_needles=needles))


def neck_trim(
    measures: Measures, body: BodyPlan, gauge: PanelGauge, rules: ShapingRules, size: str, *, doubled: bool
) -> PanelPlan:
    """What the neck has: a band, a collar, or a hood in the fabric of the body."""
    neck = neck_called(measures.shape.neck)
    seam, pick_up = neck_seam_cm(measures, body), rules.band_pick_up or neck.pick_up
    if neck.trim == "hood":
        return _hood(measures, seam, body.back.gauge, pick_up, size)
    needles = band_needles(seam_cm=seam, rib_needles_per_cm=gauge.rib_needles_per_cm, pick_up=pick_up)
    name = "neckband" if neck.trim == "band" else "collar"
    times = 2 if doubled and neck.trim == "band" else 1
    return strip(name, size, needles=needles, height_cm=times * measures["neckband"], gauge=gauge)


def _hood(measures: Measures, seam_cm: float, gauge: PanelGauge, pick_up: float, size: str) -> PanelPlan:
    """One piece as wide as the neck seam, folded at the centre back and closed along its top."""
    needles = band_needles(seam_cm=seam_cm, rib_needles_per_cm=gauge.needles_per_cm, pick_up=pick_up)
    edge = Edge(needles // 2, (Stretch("hood", nearest_even(measures["hood_height"] * gauge.courses_per_cm)),))
    return assemble(Drafted("hood", size, edge, edge, Foot(needles, 0), gauge, finish_needles=needles))


def neck_seam_cm(measures: Measures, body: BodyPlan) -> float:
    """Real length of the edge that the neck's trim runs along, sleeve tops of a raglan or saddle included."""
    tops = measures.by_name.get("sleeve_top", measures.by_name.get("saddle_width", 0.0))
    return body.front_neck_cm + body.back_neck_cm + 2 * tops


def front_bands(measures: Measures, body: BodyPlan, gauge: PanelGauge, rules: ShapingRules, size: str) -> PanelPlan:
    """Both bands of a cardigan's front edges, from hem to neck."""
    front = body.front
    straight = front.courses - int((front.held_right > 0).sum())
    edge_cm = front.rib_length_cm + straight / front.gauge.courses_per_cm
    needles = band_needles(
        seam_cm=edge_cm, rib_needles_per_cm=gauge.rib_needles_per_cm,
        pick_up=rules.band_pick_up or neck_called(measures.shape.neck).pick_up,
    )  # fmt: skip
    return strip("front band", size, needles=needles, height_cm=measures["front_band"], gauge=gauge, pieces=2)


def armhole_bands(measures: Measures, body: BodyPlan, gauge: PanelGauge, size: str, *, doubled: bool) -> PanelPlan:
    """Both armhole bands of a vest."""
    needles = band_needles(
        seam_cm=2 * body.armhole_edge_cm, rib_needles_per_cm=gauge.rib_needles_per_cm,
        pick_up=sleeve_row("armhole_band_pick_up")["women"],
    )  # fmt: skip
    height = measures["armhole_band"] * (2 if doubled else 1)
    return strip("armhole band", size, needles=needles, height_cm=height, gauge=gauge, pieces=2)
