"""The whole knit-down of one size: every panel, tied together in the seams.

In: measures of the size, densities of the zones, rules. Out: `GarmentPlan`, the same for every block: panels, joins,
what has to close, real measures. How a block is planned stands in `blocks`, one file each. Not covered: time
(`machine`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.garment.measures import Measures
from loopwright.garment.outline import Outline
from loopwright.problems import Finding
from loopwright.shaping.joins import Closure, Join
from loopwright.shaping.panel import PanelGauge, PanelPlan

Densities = tuple[float, float]  # needle places per cm, visible courses per cm


@dataclass(frozen=True)
class ZoneGauges:
    """Densities of every zone of a garment: (needle places per cm, visible courses per cm), finished."""

    zones: tuple[tuple[str, Densities], ...]

    def __getitem__(self, zone: str) -> Densities:
        """Densities of a zone."""
        return dict(self.zones)[zone]

    def panel(self, zone: str, rib_zone: str) -> PanelGauge:
        """Densities of a panel of two zones."""
        return PanelGauge(*self[zone], *self[rib_zone])


@dataclass(frozen=True)
class GarmentPlan:
    """Needles and courses of one size.

    Args:
        panels: in knitting order.
        joins: in the order of work.
        closures: edges that have to agree.
        real: what the rounded plan measures, (point of measure, cm).
        wanted: outlines before rounding, by panel.
        facts: lines that say how it closes, and what was decided on the way.
        findings: what the plan itself has found.
        compared: (panel, what the exact plan gains over the two-rate rule).
        neck_seam_cm: the edge that the neck's trim runs along; 0 without one.
    """

    size: str
    measures: Measures
    panels: tuple[PanelPlan, ...]
    joins: tuple[Join, ...]
    closures: tuple[Closure, ...]
    real: tuple[tuple[str, float], ...]
    wanted: Mapping[str, Outline]
    facts: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    compared: tuple[tuple[str, str], ...] = ()
    neck_seam_cm: float = 0.0

    @property
    def real_cm(self) -> dict[str, float]:
        """What the rounded plan really measures, by point of measure."""
        return dict(self.real)

    def panel(self, name: str) -> PanelPlan | None:
        """A panel by its name; none when the garment has none."""
        return next((panel for panel in self.panels if panel.name == name), None)

    @property
    def first(self) -> PanelPlan:
        """The panel that is knitted first, the back of a pullover."""
        return self.panels[0]

    @property
    def neck_trim(self) -> PanelPlan | None:
        """The band or collar that goes over the head; none for a hood, a cardigan, or a garment without a neck."""
        if self.measures.shape.block == "cardigan":
            return None
        return self.panel("neckband") or self.panel("collar")
