"""A leg on a hosiery cylinder: the needles are fixed, the girth comes from the loop length.

In: levels of the leg from the ankle up (body girth and how far the fabric stretches on it), needles of the cylinder,
the fabric as its own swatch has it. Out: `TubePlan`: zones with loop lengths, densities and courses. At every height
the relaxed girth is G = body/λ, so w = N/G wales per cm, l = k_w/w mm and c = k_c/l courses per cm, with the swatch's
k_w = w·l and k_c = c·l. Main assumption: these constants hold over the range of one stitch cam, and the girth runs
straight between levels. Not covered: heel, toe and welt, whose courses are their own; elastane and heat setting, which
carry what the loops do not; seconds (`machine.hosiery`). Source: production reference 2 (tights), 4.7.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from loopwright.problems import Problem
from loopwright.shaping.needles import nearest_whole
from loopwright.sources.table import table


@dataclass(frozen=True, slots=True)
class TubeLevel:
    """A height of the leg: what it is called, cm above the ankle, girth of the body in cm, stretch ratio on it."""

    name: str
    height_cm: float
    body_cm: float
    stretch: float

    @property
    def relaxed_cm(self) -> float:
        """Girth of the relaxed tube: G = body/λ."""
        return self.body_cm / self.stretch


@dataclass(frozen=True, slots=True)
class TubeFabric:
    """The swatch's fabric: wales and courses per cm at its loop length in mm."""

    wales_per_cm: float
    courses_per_cm: float
    loop_length_mm: float

    @property
    def wale_constant(self) -> float:
        """k_w = w·l, mm/cm."""
        return self.wales_per_cm * self.loop_length_mm

    @property
    def course_constant(self) -> float:
        """k_c = c·l, mm/cm."""
        return self.courses_per_cm * self.loop_length_mm


@dataclass(frozen=True, slots=True)
class TubeZone:
    """A stretch of the leg between two levels: its courses, and wales per cm and loop length in mm at both its ends."""

    name: str
    courses: int
    height_cm: float
    wales_per_cm: tuple[float, float]
    loop_length_mm: tuple[float, float]


@dataclass(frozen=True, slots=True)
class TubePlan:
    """A leg on a cylinder: needles, zones from the ankle up."""

    needles: int
    zones: tuple[TubeZone, ...]

    @property
    def courses(self) -> int:
        """Courses of all zones."""
        return sum(zone.courses for zone in self.zones)

    @property
    def loop_ratio(self) -> float:
        """Longest loop over shortest."""
        lengths = [length for zone in self.zones for length in zone.loop_length_mm]
        return max(lengths) / min(lengths)


def wales_per_cm(*, needles: int, body_cm: float, stretch: float) -> float:
    """Wales per cm of the relaxed tube: N·λ/body.

    >>> round(wales_per_cm(needles=400, body_cm=61.6, stretch=1.96), 1)    # P-31, thigh
    12.7
    >>> round(wales_per_cm(needles=400, body_cm=21.6, stretch=1.10), 1)    # P-31, ankle
    20.4
    """
    return needles * stretch / body_cm


def least_stretch_ratio(*, wide_cm: float, narrow_cm: float, loop_ratio: float) -> float:
    """Least ratio of the stretch at the widest level to that at the narrowest: (g_wide/g_narrow)/ρ.

    >>> ratio = least_stretch_ratio(wide_cm=61.6, narrow_cm=21.6, loop_ratio=1.6)    # P-31
    >>> round(ratio, 3), round(1.10 * ratio, 2)
    (1.782, 1.96)
    """
    return wide_cm / narrow_cm / loop_ratio


def plan_tube(
    levels: Sequence[TubeLevel], *, needles: int, fabric: TubeFabric, loop_ratio: float | None = None
) -> TubePlan:
    """The leg from the lowest level up; `loop_ratio` is what the stitch cam reaches (the usual one when left out).

    Raises:
        Problem: levels that are no leg, or girths that the loops of one stitch cam cannot reach.
    """
    _check_levels(levels, needles)
    reach = loop_ratio if loop_ratio is not None else usual_loop_ratio()
    _check_reach(levels, reach)
    zones, before, height = [], 0, 0.0
    for low, high in pairwise(levels):
        height += _courses(low, high, needles, fabric)
        courses = nearest_whole(height) - before
        before += courses
        zones.append(_zone(low, high, courses, needles, fabric))
    return TubePlan(needles, tuple(zones))


def usual_loop_ratio() -> float:
    """What the stitch cam of a cylinder usually reaches, longest over shortest loop."""
    return table("loopwright.shaping", "other_blocks").by("quantity")["hosiery_loop_ratio"]["value"]


def _courses(low: TubeLevel, high: TubeLevel, needles: int, fabric: TubeFabric) -> float:
    """Courses between two levels: ∫ c dz = k_c·N/k_w · height over the logarithmic mean of the girths."""
    scale = fabric.course_constant * needles / fabric.wale_constant
    first, last = low.relaxed_cm, high.relaxed_cm
    mean = (last - first) / math.log(last / first) if not math.isclose(first, last) else first
    return scale * (high.height_cm - low.height_cm) / mean


def _zone(low: TubeLevel, high: TubeLevel, courses: int, needles: int, fabric: TubeFabric) -> TubeZone:
    wales = (needles / low.relaxed_cm, needles / high.relaxed_cm)
    loops = (fabric.wale_constant / wales[0], fabric.wale_constant / wales[1])
    return TubeZone(f"{low.name} to {high.name}", courses, high.height_cm - low.height_cm, wales, loops)


def _check_levels(levels: Sequence[TubeLevel], needles: int) -> None:
    if needles < 1:
        raise Problem("tube", f"{needles} needles.", limit="at least 1", tries=["the needles of the cylinder"])
    if len(levels) < 2:
        what = f"{len(levels)} level of the leg; a tube runs between at least 2."
        raise Problem("tube", what, tries=["ankle and thigh"])
    for level in levels:
        if not (level.body_cm > 0 and level.stretch > 0):
            what = f"girth {level.body_cm:g} cm and stretch ratio {level.stretch:g}."
            raise Problem(f"tube, {level.name}", what, limit="both above 0", tries=["check the unit"])
    for low, high in pairwise(levels):
        if high.height_cm <= low.height_cm:
            what = f"{high.name} at {high.height_cm:g} cm is not above {low.name} at {low.height_cm:g} cm."
            raise Problem("tube", what, tries=["give the levels from the ankle up"])


AS_WRITTEN = 0.005  # a stretch ratio is written to two places; no stitch cam is known nearer


def _check_reach(levels: Sequence[TubeLevel], reach: float) -> None:
    """Refuse girths whose loops differ more than the stitch cam reaches."""
    narrow = min(levels, key=lambda level: level.relaxed_cm)
    wide = max(levels, key=lambda level: level.relaxed_cm)
    asked = wide.relaxed_cm / narrow.relaxed_cm
    if asked <= reach * (1 + AS_WRITTEN):
        return
    least = least_stretch_ratio(wide_cm=wide.body_cm, narrow_cm=narrow.body_cm, loop_ratio=reach)
    what = (
        f"{wide.relaxed_cm:.1f} cm relaxed at the {wide.name} and {narrow.relaxed_cm:.1f} cm at the {narrow.name} "
        f"on the same needles ask for loops {asked:.2f} times as long."
    )
    tries = [f"a stretch of {least * narrow.stretch:.2f} at the {wide.name} (elastane, heat setting)"]
    if wide.stretch >= least:
        tries.append(f"a stretch of {wide.stretch / least:.2f} at the {narrow.name}")
    tries.append("a leg knitted flat, which is narrowed")
    raise Problem("tube", what, limit=f"{reach:g} times, what the stitch cam reaches", tries=tries)
