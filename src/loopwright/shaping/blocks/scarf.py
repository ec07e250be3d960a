"""Scarf, shawl and blanket: a rectangle on N = W·w needles and K = L·c courses, nothing to sew.

In: measures, densities, rules. Out: `GarmentPlan`. With a rib, the piece starts with one and a second strip of rib is
linked to its end, loop to loop. Source: production reference 2.
"""

from __future__ import annotations

from loopwright.garment.blocks.scarf import outlines
from loopwright.garment.measures import Measures
from loopwright.shaping.edges import Drafted, Edge, Foot, Stretch, assemble
from loopwright.shaping.joins import Join
from loopwright.shaping.needles import nearest_even
from loopwright.shaping.panel import PanelGauge, PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules
from loopwright.shaping.scant import refuse_scant

BLOCKS = ("scarf", "shawl", "blanket")


def plan(measures: Measures, gauges: ZoneGauges, rules: ShapingRules, size: str, band_is_doubled: bool) -> GarmentPlan:
    """The rectangle of one size, and the rib of its end where it has one."""
    del rules, band_is_doubled
    gauge, name = gauges.panel("body", "hem"), measures.shape.block
    piece = rectangle(
        name, size, width_cm=measures["panel_width"],
        length_cm=measures["panel_length"] - 2 * measures["hem_rib"], rib_cm=measures["hem_rib"], gauge=gauge,
    )  # fmt: skip
    panels = refuse_scant((piece,), size)
    ends = [_end_rib(piece)] if piece.rib_courses else []
    real = {
        "panel_width": piece.width_cm(0),
        "panel_length": piece.length_cm + (piece.rib_length_cm if ends else 0.0),
        "hem_rib": piece.rib_length_cm,
    }
    return GarmentPlan(
        size=size,
        measures=measures,
        panels=(*panels, *ends),
        joins=tuple(Join("end rib", f"rib to {name}", points=end.rib_needles) for end in ends),
        closures=(),
        real=tuple(real.items()),
        wanted=outlines(measures),
        facts=("Both ends have a rib: the second is knitted apart and linked to the last course.",) if ends else (),
    )


def rectangle(
    name: str, size: str, *, width_cm: float, length_cm: float, gauge: PanelGauge, rib_cm: float = 0.0
) -> PanelPlan:
    """A plain rectangle above a rib: N = W·w needles, K = L·c courses, both even.

    >>> piece = rectangle("scarf", "M", width_cm=62, length_cm=64, gauge=PanelGauge(2.8, 4.0, 2.8, 4.0))
    >>> piece.widest, piece.courses    # P-10: 62 · 2.8 = 173.6, 64 · 4
    (174, 256)
    """
    needles = nearest_even(width_cm * gauge.needles_per_cm)
    edge = Edge(needles // 2, (Stretch(name, nearest_even(length_cm * gauge.courses_per_cm)),))
    foot = Foot(needles, nearest_even(rib_cm * gauge.rib_courses_per_cm))
    return assemble(Drafted(name, size, edge, edge, foot, gauge, finish_needles=needles))


def _end_rib(piece: PanelPlan) -> PanelPlan:
    """The rib of the other end, on the same needles."""
    nothing = Edge(0, ())
    foot = Foot(piece.rib_needles, piece.rib_courses)
    return assemble(
        Drafted("end rib", piece.size, nothing, nothing, foot, piece.gauge, finish_needles=piece.rib_needles)
    )
