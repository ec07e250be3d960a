"""Fabrics beside their simulation: what the loop mechanics says of every zone, calibrated on the swatches of the style.

In: fabrics of the zones, and the swatches that belong to them. Out: `Simulation` by zone. Precedence: measured, then
simulated and calibrated where that is the narrower band, then published, then assumed; an uncalibrated simulation
stands beside the published counts and never takes their place. Swatches of one yarn spinning are fitted together; a
swatch that cannot be fitted is said as a finding and changes nothing else. Only relaxed swatches are fitted: the model
knows no other state.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from loopwright.fabric.fabric import Fabric
from loopwright.fabric.geometry import StitchGeometry, SwatchCounts
from loopwright.figure import Basis, State
from loopwright.mechanics.atlas import chapter_for
from loopwright.mechanics.calibration import Calibration, calibrated
from loopwright.mechanics.cloth import SimulatedCloth, simulated_cloth
from loopwright.mechanics.findings import cloth_findings, lean_findings, rest_findings, unsolved_finding
from loopwright.mechanics.swatches import Swatch
from loopwright.problems import Finding, Problem, Sign

TRIMS = ("hem", "cuff", "neckband")  # their sides are seamed, so that their roll is no news
RELAXED = (State.FULLY_RELAXED, State.FINISHED)


@dataclass(frozen=True, slots=True, eq=False)
class Simulation:
    """One fabric as simulated; no cloth when the atlas does not hold it. `findings` say why, or what follows."""

    fabric: Fabric
    cloth: SimulatedCloth | None
    calibration: Calibration | None
    findings: tuple[Finding, ...]

    @property
    def stands(self) -> str:
        """Which counts count, in words."""
        basis = self.fabric.geometry.wales_per_cm.basis
        if basis is Basis.MEASURED:
            return "your counts stand"
        if basis is Basis.SIMULATED:
            return "calibrated on your swatches, the simulated counts stand"
        if self.calibration is not None and self.cloth is not None:
            return f"the {basis.value} counts stand: they are better known than the calibrated simulation"
        return f"the {basis.value} counts stand; the simulation is not calibrated"


def better_known(simulation: Simulation) -> StitchGeometry | None:
    """The calibrated counts where they are to stand: nothing was counted here, and their band is the narrower."""
    own, cloth = simulation.fabric.geometry, simulation.cloth
    if simulation.calibration is None or cloth is None or own.wales_per_cm.basis is Basis.MEASURED:
        return None
    is_kin = cloth.yarn.spinning == simulation.calibration.swatches[0].yarn.spinning
    if not is_kin or own.state not in RELAXED or doubt(cloth.geometry) >= doubt(own):
        return None
    return cloth.geometry


def doubt(geometry: StitchGeometry) -> float:
    """Relative band of the loops in an area."""
    counts = (geometry.wales_per_cm, geometry.courses_per_cm)
    return sum((figure.spread / figure.value) ** 2 for figure in counts)


def simulations_of(
    fabrics: Mapping[str, Fabric], swatches: Mapping[str, SwatchCounts]
) -> tuple[dict[str, Simulation], tuple[Finding, ...]]:
    """The simulation of every zone, with the findings of swatches that could not be fitted."""
    by_spinning, refused = _calibrations(fabrics, swatches)
    made: dict[tuple[object, ...], Simulation] = {}
    for zone, fabric in fabrics.items():
        if fabric.identity not in made:
            made[fabric.identity] = simulation_of(fabric, by_spinning.get(fabric.yarn.spinning), zone)
    return {zone: made[fabric.identity] for zone, fabric in fabrics.items()}, refused


def simulation_of(fabric: Fabric, calibration: Calibration | None = None, place: str = "fabric") -> Simulation:
    """One fabric as simulated."""
    loop = fabric.geometry.loop_length_mm
    if calibration is None:
        cloth = simulated_cloth(fabric.structure, fabric.yarn, loop)
    else:
        cloth = calibration.predict(fabric.structure, fabric.yarn, loop)
    if cloth is None:
        ratio = loop.value / fabric.yarn.diameter_mm.value
        return Simulation(fabric, None, calibration, (unsolved_finding(fabric.structure, ratio, place),))
    if place in TRIMS:
        return Simulation(fabric, cloth, calibration, (*lean_findings(cloth, place), *rest_findings(cloth, place)))
    return Simulation(fabric, cloth, calibration, cloth_findings(cloth, place))


def _calibrations(
    fabrics: Mapping[str, Fabric], swatches: Mapping[str, SwatchCounts]
) -> tuple[dict[str, Calibration], tuple[Finding, ...]]:
    """A calibration for every spinning that has relaxed swatches."""
    groups: dict[str, dict[SwatchCounts, Swatch]] = {}
    refused = []
    for zone, counts in swatches.items():
        if zone not in fabrics or counts.state not in RELAXED:
            continue
        if chapter_for(fabrics[zone].structure.notation) is None:
            continue  # its own finding says so; the other swatches still fit the yarn
        try:
            groups.setdefault(fabrics[zone].yarn.spinning, {}).setdefault(counts, _swatch(fabrics[zone], counts))
        except Problem as problem:
            refused.append(_not_fitted(problem))
    found = {}
    for spinning, group in groups.items():
        try:
            found[spinning] = calibrated(list(group.values()))
        except Problem as problem:
            refused.append(_not_fitted(problem))
    return found, tuple(refused)


def _swatch(fabric: Fabric, counts: SwatchCounts) -> Swatch:
    return Swatch(
        counts.name,
        fabric.structure,
        fabric.yarn,
        counts.loop_length_mm,
        counts.wales_per_cm,
        counts.courses_per_cm,
    )


def _not_fitted(problem: Problem) -> Finding:
    sentence = f"No yarn is fitted to this swatch: {problem.what}"
    return Finding(Sign.KNOW, problem.where, sentence, problem.tries, weight=0.3)
