"""What the loop length does to a cloth of the atlas: its figures over the whole reach, drawn as small charts.

The curves do not change while the loop slider moves, so the last few are kept.
"""

from __future__ import annotations

from functools import lru_cache

from loopwright.draw.loop_curves import Curve, Point, loop_curves
from loopwright.figure import Figure, entered
from loopwright.mechanics.cloth import SimulatedCloth, simulated_cloth
from loopwright.report.blocks import Picture
from loopwright.structure.library import Structure
from loopwright.web.loop.asked import Asked, Setting, finish_of
from loopwright.web.loop.cloth import LoopCloth
from loopwright.yarn.yarn import Yarn

STEPS = 15
LEAST_POINTS = 4


def lengths_picture(known: LoopCloth) -> Picture | None:
    """The charts; none for a cloth of which only one loop length was solved."""
    if not known.in_atlas or known.cloth is None:
        return None
    curves = _curves(known.setting.structure, known.setting.yarn, _finish_only(known.setting), known.reach_mm)
    if not curves:
        return None
    return Picture("lengths", loop_curves(curves, known.setting.loop.value))


def _finish_only(setting: Setting) -> Asked:
    asked = setting.asked
    return Asked(set_percent=asked.set_percent, twist_per_m=asked.twist_per_m)


@lru_cache(maxsize=64)
def _curves(structure: Structure, yarn: Yarn, asked: Asked, reach_mm: tuple[float, float]) -> tuple[Curve, ...]:
    low, high = reach_mm
    cloths = []
    for n in range(STEPS):
        loop_mm = low + (high - low) * (0.002 + 0.996 * n / (STEPS - 1))
        cloth = simulated_cloth(structure, yarn, entered("loop length", loop_mm, "mm"), finish_of(asked))
        if cloth is not None and cloth.page.is_settled:
            cloths.append((loop_mm, cloth))
    made = (Curve(name, unit, _points(cloths, pick)) for name, unit, pick in _WANTED)
    return tuple(each for each in made if len(each.points) >= LEAST_POINTS)[:MOST_CURVES]


def _points(cloths: list[tuple[float, SimulatedCloth]], pick: str) -> tuple[Point, ...]:
    found: list[Point] = []
    for loop_mm, cloth in cloths:
        figure: Figure | None = cloth.figures().get(pick)
        if figure is not None and figure.high > figure.low:
            found.append(Point(loop_mm, figure.value, figure.low, figure.high))
    return tuple(found)


MOST_CURVES = 4
_WANTED = (
    ("Wales", "per cm", "simulated_wales_per_cm"),
    ("Side edges roll, radius", "mm", "side_roll_radius_mm"),
    ("Wales lean", "°", "simulated_lean_deg"),
    ("Gives across", "%", "simulated_width_stretch_percent"),
    ("Courses", "per cm", "simulated_courses_per_cm"),
    ("Gives along", "%", "simulated_length_stretch_percent"),
)
