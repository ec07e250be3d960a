"""Yarn in the panels: metres and grams of every zone, from the loops of the knit-down.

In: `PanelPlan`, the fabrics of its main part and of its rib. Out: metres and grams per piece, by zone and yarn letter.
Assumption: every knitted place has the mean yarn of the repeat; waste and separation yarn is not in it.
Not covered: losses and purchase (`cost`). Sources: eq 5.4 of the fabric reference, production reference 5.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.mass import yarn_per_repeat_mm
from loopwright.shaping.panel import PanelPlan


@dataclass(frozen=True, slots=True)
class ZoneYarn:
    """Yarn of one zone of one piece: the zone, loops (needle places × courses), metres by yarn letter, grams."""

    zone: str
    loops: int
    metres: Mapping[str, float]
    grams: float


def metres_per_place_course(fabric: Fabric) -> dict[str, float]:
    """Metres of each yarn in one needle place over one visible course."""
    anatomy = fabric.structure.anatomy
    places = anatomy.needles * anatomy.visible_courses
    return {yarn: mm / places / 1000 for yarn, mm in yarn_per_repeat_mm(fabric.structure, fabric.lengths).items()}


def zone_yarn(zone: str, loops: int, fabric: Fabric, *, slack: float = 1.0) -> ZoneYarn:
    """Yarn of `loops` needle places × courses of a fabric, whose loops are `slack` times as long as its own."""
    metres = {yarn: loops * slack * each for yarn, each in metres_per_place_course(fabric).items()}
    grams = sum(metres.values()) * fabric.yarn.tex.value / 1000
    return ZoneYarn(zone, loops, metres, grams)


def panel_yarn(panel: PanelPlan, main: Fabric, rib: Fabric) -> tuple[ZoneYarn, ...]:
    """Yarn of one piece of a panel by zone; a zone that the panel does not have is left out."""
    zones = []
    if panel.rib_loops:
        zones.append(zone_yarn(panel.rib_zone, panel.rib_loops, rib))
    if panel.courses:
        zones.append(zone_yarn(panel.zone, panel.loops, main, slack=panel.mean_slack))
    return tuple(zones)
