"""The edge that holds a rolling side: which structure along the selvedge keeps it flat, and how wide it has to be.

In: a `SimulatedCloth`. Out: `HoldingEdge`: a structure of the atlas that rolls at most a third as tightly, lies in the
same courses, and is nearest in course spacing, so that it neither puckers nor flares; its width in wales. Assumption,
ours, not measured: half a turn of the widest likely roll, π·R, is what an edge has to replace.
Not covered: ends of a piece (a hem or a cast-off does that), strength of the edge under wear.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.fabric.tightness import usual_loop_length
from loopwright.figure import Basis, Figure, banded, plain
from loopwright.mechanics import atlas
from loopwright.mechanics.balance import is_balanced
from loopwright.mechanics.cloth import SimulatedCloth, simulated_cloth
from loopwright.structure.library import Structure, library
from loopwright.structure.notation import Stitch

NEARLY_FLAT = 1 / 3  # of the cloth's own curvature: an edge that rolls no tighter holds
PUCKERS = 0.25  # natural logarithm of the ratio of course spacings past which an edge pulls or flares
FEWEST, MOST = 2, 40  # wales of an edge; a wider one is a panel of its own


@dataclass(frozen=True, slots=True, eq=False)
class HoldingEdge:
    """An edge along the side: its cloth, and its width in visible wales (band: of the roll's radius)."""

    cloth: SimulatedCloth
    wales: Figure

    @property
    def words(self) -> str:
        """ "a 1×1 rib edge of 12 wales"."""
        name = self.cloth.structure.name
        article = "an" if name[:1].casefold() in "aeiou" else "a"
        return f"{article} {name} edge of {plain(self.wales.value, 0)} wales"


def neighbours(cloth: SimulatedCloth, *, same_loop: bool, flatter_than: float) -> Iterator[SimulatedCloth]:
    """Other structures of the atlas in the same yarn whose sides roll no tighter than `flatter_than` (1/mm).

    At the same loop length, or as tight for their kind.
    """
    loop, d = cloth.geometry.loop_length_mm, diameter_mm(cloth)
    slack = loop.value / usual_loop_length(cloth.structure, cloth.yarn).value
    for key in atlas.header()["chapters"]:
        other = library().get(key)
        if other is None or not _is_alike(other, cloth.structure):
            continue
        length = loop if same_loop else _scaled(usual_loop_length(other, cloth.yarn), slack)
        page = atlas.page_for(other.notation, length.value / d)
        if page is None or not page.is_settled:
            continue
        bend = 0.0 if is_balanced(other.notation) else page.curvature("sides", cloth.finish.share.value).value
        if abs(bend) / d <= flatter_than:
            found = simulated_cloth(other, cloth.yarn, length, cloth.finish)
            if found is not None:
                yield found


def _is_alike(other: Structure, own: Structure) -> bool:
    """Another cloth of as many yarns, without tucks, racking or moved loops that the own one doesn't have."""
    mine, theirs = own.anatomy, other.anatomy
    is_simple = theirs.tucks <= mine.tucks and theirs.moved_loops <= mine.moved_loops and not theirs.racks
    is_one_cloth = is_two_layers(other) == is_two_layers(own)
    return other.notation != own.notation and len(theirs.yarns) == len(mine.yarns) and is_simple and is_one_cloth


def is_two_layers(structure: Structure) -> bool:
    """Whether the beds knit a cloth each, held together at the edges only (tubular).

    >>> is_two_layers(library()["tubular"]), is_two_layers(library()["rib-1x1"])
    (True, False)
    """
    anatomy = structure.anatomy
    if anatomy.beds < 2 or anatomy.moved_loops:
        return False
    loops = (Stitch.KNIT, Stitch.TUCK)
    return not any(
        any(each in loops for each in feed.front) and any(each in loops for each in feed.back)
        for feed in structure.notation.feeds
    )


def _scaled(length: Figure, factor: float) -> Figure:
    value = length.value * factor
    return Figure(length.name, value, "mm", value, value, length.basis, length.why)


def curl_per_mm(cloth: SimulatedCloth, way: str = "sides") -> float:
    """Curvature of the roll of an edge, 1/mm, unsigned; 0 when it lies flat, nan when it did not settle."""
    if cloth.is_balanced:
        return 0.0
    bend = cloth.page.curvature(way, cloth.finish.share.value).value
    return abs(bend) / diameter_mm(cloth)


def diameter_mm(cloth: SimulatedCloth) -> float:
    """Yarn diameter that the cloth was simulated with."""
    return cloth.geometry.loop_length_mm.value / cloth.loop_over_diameter.value


def holding_edge(cloth: SimulatedCloth) -> HoldingEdge | None:
    """The least intrusive edge that holds the rolling side; none when nothing rolls or nothing in the atlas holds."""
    own = curl_per_mm(cloth)
    if cloth.side_radius is None or not own > 0:
        return None
    feeds, courses = cloth.structure.anatomy.passes_per_course, cloth.geometry.courses_per_cm.value
    holding = [
        (abs(math.log(other.geometry.courses_per_cm.value / courses)), other)
        for other in neighbours(cloth, same_loop=True, flatter_than=NEARLY_FLAT * own)
        if other.structure.anatomy.passes_per_course == feeds
    ]
    fitting = [pair for pair in holding if pair[0] <= PUCKERS]
    if not fitting:
        return None
    _, edge = min(fitting, key=lambda pair: (round(pair[0], 2), pair[1].thickness.value))
    wales = _wales(cloth.side_radius, edge)
    return HoldingEdge(edge, wales) if wales.value <= MOST else None


def _wales(radius_mm: Figure, edge: SimulatedCloth) -> Figure:
    per_mm = edge.geometry.wales_per_cm.value / 10
    low, high = (max(FEWEST, math.ceil(math.pi * each * per_mm)) for each in (radius_mm.low, radius_mm.high))
    return banded(
        "wales of the edge that holds the roll",
        high,
        "wales",
        low=low,
        high=high,
        basis=Basis.ASSUMED,
        words="half a turn of the widest likely roll over the wale spacing of the edge; a working rule, not measured: "
        "knit a hand's length of it",
        formula="π·R·w",
        source="house rule; radius from the loop mechanics",
    )
