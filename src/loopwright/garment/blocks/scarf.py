"""Scarf, shawl and blanket: one rectangle, with or without a rib at both ends.

In: the population, points of measure. Out: usual points, checks, wanted outline. Main assumption: nothing is shaped;
side edges and curl are the structure's. Not covered: needles (`shaping.blocks.scarf`). Source: production reference 2.
"""

from __future__ import annotations

from loopwright.garment.blocks.block import Asked, Block, Usual
from loopwright.garment.measures import Measures, Points
from loopwright.garment.outline import Outline
from loopwright.garment.shape import Shape
from loopwright.garment.taken import Taken, parts_of
from loopwright.problems import Problem

POINTS = frozenset(("panel_width", "panel_length", "hem_rib"))


def usual(asked: Asked) -> Usual:
    """Every point as (cm, words)."""
    taken, parts, name = Taken(asked.typed), parts_of(asked.body.population), asked.shape.block
    taken.take("panel_width", parts[f"{name}_width"], f"usual {name}")
    taken.take("panel_length", parts[f"{name}_length"], f"usual {name}")
    taken.take("hem_rib", 0.0, "usual")
    return taken.points


def check(points: Points, shape: Shape, size: str) -> None:
    """Refuse ribs that leave nothing between them.

    Raises:
        Problem: with both numbers.
    """
    ribs, length = 2 * points["hem_rib"], points["panel_length"]
    if ribs >= length:
        what = f"two ribs of {points['hem_rib']:.1f} cm fill the length of {length:.1f} cm."
        raise Problem(f"measures, {shape.block}, size {size}", what, tries=["lower ribs", "a longer piece"])


def outlines(measures: Measures) -> dict[str, Outline]:
    """Wanted outline up to the rib that is joined to its end."""
    half, height = measures["panel_width"] / 2, measures["panel_length"] - measures["hem_rib"]
    name = measures.shape.block
    return {name: Outline(name, ((0.0, 0.0), (half, 0.0), (half, height), (0.0, height)))}


BLOCKS = tuple(
    Block(name, ("body", "hem"), ("", ""), lambda _shape: POINTS, usual, check, lambda _points, _shape: {}, outlines)
    for name in ("scarf", "shawl", "blanket")
)
