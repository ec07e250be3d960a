"""One size worked through: needles and courses, strokes, yarn, seams and make-up minutes.

In: measures of the size, fabrics of the zones, machine, rules. Out: `SizeStudy`. Not covered: price (`pricing`), the
size mix (`study`). The seams come from the knit-down itself: points where loops meet loops, centimetres along wales.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, Term, linear, power_law
from loopwright.garment.measures import Measures
from loopwright.machine.machine import VBed
from loopwright.machine.minutes import Slopes, net_minutes, slopes, standard_minutes, total
from loopwright.machine.timeline import Timeline, panel_timeline
from loopwright.makeup.minutes import MakeupSheet, makeup_minutes
from loopwright.makeup.seams import Seam
from loopwright.shaping.blocks import plan_garment
from loopwright.shaping.consumption import ZoneYarn, panel_yarn
from loopwright.shaping.panel import PanelPlan
from loopwright.shaping.plan import GarmentPlan, ZoneGauges
from loopwright.shaping.rules import ShapingRules

ALONG_A_WALE, CUP_SEAM = "along a wale", "cup seam"
EDGES: Mapping[str, str] = {"fully fashioned and linked": ALONG_A_WALE, "fully fashioned and cup-seamed": CUP_SEAM}


@dataclass(frozen=True, slots=True)
class PanelStudy:
    """One panel of one size: its plan, its strokes (none without a machine), its yarn by zone."""

    plan: PanelPlan
    timeline: Timeline | None
    yarn: tuple[ZoneYarn, ...]

    @property
    def grams(self) -> float:
        """Yarn in one piece, g."""
        return sum(zone.grams for zone in self.yarn)


@dataclass(frozen=True, slots=True)
class SizeStudy:
    """One size worked through. Minutes are none without a machine."""

    size: str
    plan: GarmentPlan
    panels: tuple[PanelStudy, ...]
    strokes: Slopes | None
    net_minutes: Figure | None
    minutes: Figure | None
    grams: Figure
    grams_by_yarn: Mapping[str, Figure]
    seams: tuple[Seam, ...]
    makeup: MakeupSheet


def zone_gauges(fabrics: Mapping[str, Fabric]) -> ZoneGauges:
    """Needle places and courses per cm of every zone."""
    pairs = {
        name: (fabric.geometry.needles_per_cm.value, fabric.geometry.courses_per_cm.value)
        for name, fabric in fabrics.items()
    }
    return ZoneGauges(tuple(pairs.items()))


def study_size(
    size: str,
    measures: Measures,
    fabrics: Mapping[str, Fabric],
    rules: ShapingRules,
    machine: VBed | None,
    *,
    band_is_doubled: bool,
    own_makeup: Mapping[str, float],
    makeup_counts: Mapping[str, int],
    gauges: ZoneGauges,
    edges: str = ALONG_A_WALE,
) -> SizeStudy:
    """Work one size through; `edges` is the method that joins edges which are not linked loop to loop.

    Raises:
        Problem: a panel of this size cannot be made, or a make-up operation is not known.
    """
    plan = plan_garment(measures, gauges, rules, size, band_is_doubled=band_is_doubled)
    panels = tuple(worked_panel(panel, fabrics, machine) for panel in plan.panels)
    strokes = strokes_of(panels, machine)
    seams = seams_of(plan, edges)
    return SizeStudy(
        size=size,
        plan=plan,
        panels=panels,
        strokes=strokes,
        net_minutes=net_minutes("net knitting minutes", strokes, machine) if strokes and machine else None,
        minutes=standard_minutes("knitting minutes", strokes, machine) if strokes and machine else None,
        grams=piece_grams(panels, fabrics),
        grams_by_yarn=grams_by_yarn(panels, fabrics),
        seams=seams,
        makeup=makeup_minutes(seams, own_makeup, counts=makeup_counts),
    )


def worked_panel(panel: PanelPlan, fabrics: Mapping[str, Fabric], machine: VBed | None) -> PanelStudy:
    """A panel with its strokes and its yarn."""
    main, rib = cloth_of(panel, fabrics)
    timeline = panel_timeline(panel, main.structure, rib.structure, machine) if machine else None
    return PanelStudy(panel, timeline, panel_yarn(panel, main, rib))


def strokes_of(panels: Sequence[PanelStudy], machine: VBed | None) -> Slopes | None:
    """Seconds of all pieces together; none without a machine."""
    if machine is None:
        return None
    timed = [(each.timeline, each.plan.pieces) for each in panels]
    return total([(slopes(timeline, machine), pieces) for timeline, pieces in timed if timeline is not None])


def cloth_of(panel: PanelPlan, fabrics: Mapping[str, Fabric]) -> tuple[Fabric, Fabric]:
    """Fabrics of a panel: its main part, and the rib it starts with (the same again when it has none)."""
    return fabrics[panel.zone], fabrics[panel.rib_zone if panel.rib_courses else panel.zone]


def piece_grams(panels: Sequence[PanelStudy], fabrics: Mapping[str, Fabric]) -> Figure:
    """Mass of a garment as knitted, g; zones of one fabric are as sure as that fabric's mass, together."""
    return _grams("mass of a piece", _grams_by_zone(panels), fabrics)


def _grams(name: str, by_zone: Mapping[str, float], fabrics: Mapping[str, Fabric]) -> Figure:
    alike: dict[tuple[object, ...], list[str]] = {}
    for zone in by_zone:
        alike.setdefault(fabrics[zone].identity, []).append(zone)
    terms = []
    for zones in alike.values():
        grams, words = sum(by_zone[zone] for zone in zones), " and ".join(zones)
        mass = Term("M", fabrics[zones[0]].mass)
        part = power_law(f"yarn in {words}", grams, "g", [mass], words=f"loops of {words}", formula="Σ loops·l·T")
        terms.append(Term(words, part))
    return linear(
        name,
        sum(by_zone.values()),
        "g",
        terms,
        words="loops of the knit-down × loop length × count, zone by zone; as sure as the fabric's mass",
        formula="m = Σ loops·l·T / 10⁶",
        source="eq 5.4",
    )


def _grams_by_zone(panels: Sequence[PanelStudy]) -> dict[str, float]:
    grams: dict[str, float] = {}
    for panel in panels:
        for zone in panel.yarn:
            grams[zone.zone] = grams.get(zone.zone, 0.0) + panel.plan.pieces * zone.grams
    return grams


def grams_by_yarn(panels: Sequence[PanelStudy], fabrics: Mapping[str, Fabric]) -> dict[str, Figure]:
    """Mass of a garment as knitted by yarn, g."""
    zones = _grams_by_zone(panels)
    names = dict.fromkeys(fabrics[zone].yarn.name for zone in zones)
    return {
        name: _grams(
            f"{name} in a piece",
            {zone: grams for zone, grams in zones.items() if fabrics[zone].yarn.name == name},
            fabrics,
        )
        for name in names
    }


def seams_of(plan: GarmentPlan, edges: str = ALONG_A_WALE) -> tuple[Seam, ...]:
    """The seams of a garment, measured on its own knit-down: loops are linked loop to loop, edges joined by `edges`."""
    return tuple(
        Seam(
            join.name,
            join.place,
            "loop to loop" if join.points else edges,
            points=join.points,
            length_cm=join.length_cm,
            count=join.count,
        )
        for join in plan.joins
    )


def weighted(name: str, parts: Sequence[tuple[float, Figure]], unit: str) -> Figure:
    """Mean over the size mix: the sizes share their settings, so their spreads are alike and do not average out.

    The reason is that of the size with the most pieces, whose inputs move all sizes together.
    """
    weight = sum(share for share, _ in parts)
    if weight <= 0:
        raise ValueError("a size mix with no pieces")
    value, low, high = (
        sum(share * getattr(figure, side) for share, figure in parts) / weight for side in ("value", "low", "high")
    )
    why = max(parts, key=lambda part: part[0])[1].why
    words = f"mean over the sizes as ordered; {why.words}"
    basis = max((figure.basis for _, figure in parts), key=lambda each: each.rank)
    return Figure(name, value, unit, low, high, basis, replace(why, words=words))
