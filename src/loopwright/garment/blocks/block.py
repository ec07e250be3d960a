"""What a block is: which measures a garment type has, what is usual for them, and what makes them one garment.

In: a shape, points of measure. Out: functions that a block supplies, each small. Every block is one file in this
folder. Not covered: needles and courses (`shaping.blocks`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from loopwright.garment.bodies import Body
from loopwright.garment.measures import Measures, Points
from loopwright.garment.outline import Outline
from loopwright.garment.shape import Shape

Usual = dict[str, tuple[float, str]]  # cm and words, by point of measure


@dataclass(frozen=True, slots=True)
class Asked:
    """What the usual measures of a block start from: body, ease on its girth, shape, and what was typed, cm."""

    body: Body
    ease_cm: float
    shape: Shape
    typed: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Block:
    """A garment type.

    Args:
        name: what a style calls it.
        zones: zones of fabric that it is knitted of.
        girth: the point of measure that its ease is on ("half_chest"), and what the body calls that girth.
        points: its points of measure for a shape.
        usual: every point, typed ones as typed; raises `Problem` when what was typed contradicts itself.
        check: refuses points that cannot be one garment (points, shape, size).
        follows: further lengths that shaping reads (points, shape), such as the depth of the armhole.
        outlines: wanted outlines of its panels by name.
    """

    name: str
    zones: tuple[str, ...]
    girth: tuple[str, str]
    points: Callable[[Shape], frozenset[str]]
    usual: Callable[[Asked], Usual]
    check: Callable[[Points, Shape, str], None]
    follows: Callable[[Points, Shape], Mapping[str, float]]
    outlines: Callable[[Measures], dict[str, Outline]]
