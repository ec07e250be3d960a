"""What a swatch was expected to measure, before it was: from structure, yarn, loop length and state alone.

In: a specimen, its loop length, a state, and the state that a change is counted from. Out: figures by quantity, with
their basis and band; those of other swatches are not in them. None for the state off the machine, which take-down
decides, and none without a yarn or a loop length. Lean is expected as a size, in either direction.
Not covered: what the drawer has learnt (`learning`).
"""

from __future__ import annotations

from collections.abc import Mapping

from loopwright.fabric.fabric import Fabric, fabric_of
from loopwright.fabric.relaxation import change_between
from loopwright.figure import Figure, State, entered
from loopwright.problems import Problem
from loopwright.swatch.observed import Quantity
from loopwright.swatch.specimen import Specimen


def expected_fabric(specimen: Specimen, loop_length_mm: float | None, state: State) -> Fabric | None:
    """The fabric as the constants have it; none where they do not reach."""
    if specimen.yarn is None or loop_length_mm is None or state is State.ON_MACHINE:
        return None
    loop = entered("loop length", loop_length_mm, "mm", words=f"of {specimen.name}")
    try:
        return fabric_of(specimen.structure, specimen.yarn, loop, state, gauge=specimen.gauge)
    except Problem:
        return None  # no cloth is expected of such a loop; the loop length itself is told among the findings


def expected_figures(fabric: Fabric | None, before: Mapping[str, State]) -> dict[Quantity, Figure]:
    """Figures by quantity; `before` is the state that the change of "width" and of "length" is counted from."""
    if fabric is None:
        return {}
    found = {
        Quantity.WALES: fabric.geometry.wales_per_cm,
        Quantity.COURSES: fabric.geometry.courses_per_cm,
        Quantity.MASS: fabric.mass,
        Quantity.THICKNESS: fabric.thickness,
        Quantity.LEAN: fabric.spirality,
        Quantity.WIDTH_STRETCH: fabric.stretch.width_percent,
        Quantity.LENGTH_STRETCH: fabric.stretch.length_percent,
    }
    state = fabric.geometry.state
    for way, quantity in (("width", Quantity.WIDTH_CHANGE), ("length", Quantity.LENGTH_CHANGE)):
        start = before.get(way, State.ON_MACHINE)
        if start is not State.ON_MACHINE and start is not state:
            change = change_between(fabric.structure, start, state)
            found[quantity] = change.width_percent if way == "width" else change.length_percent
    return found
