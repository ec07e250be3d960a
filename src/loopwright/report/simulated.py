"""Simulated figures beside those in use: a table and the JSON of it, for the commands and the study's fabric."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from loopwright.fabric.fabric import Fabric
from loopwright.figure import Figure, plain
from loopwright.mechanics.calibration import Calibration, LeaveOneOut
from loopwright.mechanics.cloth import SimulatedCloth
from loopwright.report.blocks import Cell, Table
from loopwright.study.simulation import Simulation

_ROWS = (  # label, key of the fabric in use, key of the simulation
    ("Wales, visible", "wales_per_cm", "simulated_wales_per_cm"),
    ("Courses, visible", "courses_per_cm", "simulated_courses_per_cm"),
    ("Thickness: at 1 kPa, unloaded", "thickness_mm", "simulated_thickness_mm"),
    ("Loop length over yarn diameter", "", "loop_over_diameter"),
    ("Radius, side edges rolling", "", "side_roll_radius_mm"),
    ("Radius, end edges rolling", "", "end_roll_radius_mm"),
    ("Lean of the wales", "", "simulated_lean_deg"),
    ("Width stretch: 2.5 N/cm, 0.1 B/d³", "width_stretch_percent", "simulated_width_stretch_percent"),
    ("Length stretch: 2.5 N/cm, 0.1 B/d³", "length_stretch_percent", "simulated_length_stretch_percent"),
    ("Width where the yarn locks", "width_lock_up_percent", "simulated_width_lock_percent"),
    ("Length where the yarn locks", "length_lock_up_percent", "simulated_length_lock_percent"),
)


def simulated_tables(fabrics: Mapping[str, Fabric], simulations: Mapping[str, Simulation]) -> Iterator[Table]:
    """For every fabric that was simulated: the figures in use and the simulated ones side by side.

    `fabrics` by the names of their zones together ("body, sleeve"), `simulations` by zone.
    """
    for zones in fabrics:
        simulation = simulations.get(zones.partition(",")[0])
        if simulation is not None and simulation.cloth is not None:
            yield simulated_table(zones, simulation, simulation.cloth)


def simulated_table(name: str, simulation: Simulation, cloth: SimulatedCloth) -> Table:
    """Figures of one fabric in use beside the simulated ones."""
    used, told = simulation.fabric.figures(), cloth.figures()
    rows: list[tuple[Cell, ...]] = [
        (label, used.get(key, ""), told.get(simulated, _flat(cloth, simulated)))
        for label, key, simulated in _ROWS
        if simulated in told or _flat(cloth, simulated)
    ]
    caption = f"Loop mechanics, relaxed and without friction: {simulation.stands}."
    if simulation.calibration is not None:
        caption += f" {calibration_line(simulation.calibration)}"
    return Table((f"Simulated: {name}", "in use", "simulated"), tuple(rows), caption=caption)


def _flat(cloth: SimulatedCloth, key: str) -> str:
    """What stands in place of a radius: edges of balanced cloth lie flat."""
    return "lies flat" if key.endswith("_roll_radius_mm") and cloth.is_balanced else ""


def calibration_line(calibration: Calibration) -> str:
    """On which swatches, and how well each is told from the others."""
    names = ", ".join(swatch.name for swatch in calibration.swatches)
    return f"Calibrated on {names}; {left_out_line(calibration.leave_one_out)}."


def left_out_line(left: LeaveOneOut) -> str:
    """How well swatches are told from the others, in words."""
    rms, bare = left.rms_percent, left.rms_without_percent
    if rms is None or bare is None:
        return f"a check {left.words}"
    return f"{left.words} to {plain(rms, 1)} % (without calibration {plain(bare, 1)} %)"


def simulation_document(simulation: Simulation) -> dict[str, Any]:
    """JSON of a simulated fabric."""
    cloth, calibration = simulation.cloth, simulation.calibration
    return {
        "figures": figures_document(cloth.figures()) if cloth else {},
        "missing": list(cloth.missing) if cloth else [],
        "stands": simulation.stands,
        "calibration": calibration.as_dict() if calibration else None,
    }


def figures_document(figures: Mapping[str, Figure]) -> dict[str, Any]:
    """Figures by key as JSON."""
    return {key: figure.as_dict() for key, figure in figures.items()}
