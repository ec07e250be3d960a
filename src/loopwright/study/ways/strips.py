"""Ribs and bands as strips knitted flat to size, for garments whose cloth comes from another machine.

In: panels of a size. Out: strips with their strokes and yarn, and the seams that sew them on. Main assumption: a strip
is knitted as the rib of its panel would be, on as many needles. Source: production reference 4.1, 6.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from loopwright.figure import Figure
from loopwright.machine.machine import VBed
from loopwright.machine.minutes import standard_minutes
from loopwright.makeup.seams import Seam
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan
from loopwright.study.knitting import PanelStudy, SizeStudy, grams_by_yarn, strokes_of, weighted, worked_panel
from loopwright.study.pricing import losses_of
from loopwright.study.study import StyleStudy
from loopwright.study.ways.cut import OVERLOCK
from loopwright.study.ways.way import Supply

Strips = Sequence[tuple[float, Sequence[PanelStudy]]]


def strips_of(study: StyleStudy, size: SizeStudy) -> list[PanelStudy]:
    """Ribs of the panels, and trims, as strips knitted flat."""
    plans = [strip_of(panel.plan) for panel in size.panels if panel.plan.rib_loops]
    return [worked_panel(plan, study.making.cloth.fabrics, study.machine) for plan in plans]


def strip_of(panel: PanelPlan) -> PanelPlan:
    """The rib of a panel alone; a trim is one already."""
    if not panel.courses:
        return panel
    none = np.zeros(0, dtype=np.int64)
    return replace(
        panel,
        name=f"{panel.name} rib",
        zone=panel.rib_zone,
        left=none,
        right=none,
        held_left=none,
        held_right=none,
        work=none,
        sections=(),
        fashionings=(),
        bind_offs=(),
        short_rows=(),
        gathers=(),
        slack=(),
    )


def strip_yarn(study: StyleStudy, strips: Strips) -> list[Supply]:
    """Yarn of the strips of a mean piece."""
    sizes = [(share, grams_by_yarn(panels, study.making.cloth.fabrics)) for share, panels in strips if panels]
    return [
        Supply(
            name, weighted("strips", [(share, each[name]) for share, each in sizes], "g"), losses_of(study.style, name)
        )
        for name in (sizes[0][1] if sizes else ())
    ]


def strip_minutes(strips: Strips, machine: VBed) -> Figure | None:
    """Minutes of the strips of a mean piece; none when there are none."""
    strokes = [(share, strokes_of(panels, machine)) for share, panels in strips if panels]
    timed = [(share, standard_minutes("strips", each, machine)) for share, each in strokes if each]
    return weighted("strips knitted flat", timed, "min") if timed else None


def rib_seams(plan: GarmentPlan) -> list[Seam]:
    """Strips sewn to the panels that they were knitted with otherwise."""
    return [
        Seam(
            f"{panel.name} ribs",
            "strip to piece",
            OVERLOCK,
            length_cm=panel.rib_needles / panel.gauge.rib_needles_per_cm,
            count=panel.pieces,
        )
        for panel in plan.panels
        if panel.courses and panel.rib_loops
    ]
