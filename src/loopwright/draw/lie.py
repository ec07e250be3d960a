"""A free piece of cloth as it will lie: its edges rolled with computed curvatures, its wales leaning.

In: a `ClothForm`, and a `Lie`: curvatures of the sides and of the ends (1/d, positive convex to the face, so that the
edges go to the back), the lean, and a strain in either direction. Out: `YarnLine`s, points (n, 3) in d, in the order
and with the points of `yarn_lines.patch`, so that one picture can pass into the other.

This is a picture of computed curvatures, not a solved piece of cloth. A free piece cannot roll both ways in one
place. As seen on the table: the core lies flat, the sides roll along the whole length, the ends roll in the middle of
their width, and in the corners both rolls weaken and blend. Length is kept along every line square to a single
roll; in the corners, where they blend, the cloth is stretched or pressed together in the picture. How much of the
cloth rolls is a choice of the picture; how tight it rolls is computed. A strain stretches the piece evenly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from loopwright.draw.roll import Roll, eased
from loopwright.draw.yarn_lines import SPACING, Points, YarnLine, patch
from loopwright.mechanics.form import ClothForm

SIDE_ROLLED, END_ROLLED = 0.42, 0.36  # part of half the piece that rolls
CORNER = 0.25  # what is left of the roll of a side at the corner


@dataclass(frozen=True, slots=True)
class Lie:
    """How a free piece lies; `lean_deg` None takes the lean of the form. Strains are parts of the relaxed length."""

    side_curvature: float = 0.0
    end_curvature: float = 0.0
    lean_deg: float | None = None
    strain_width: float = 0.0
    strain_length: float = 0.0


def lying(form: ClothForm, lie: Lie, across: int, along: int, *, spacing: float = SPACING) -> tuple[YarnLine, ...]:
    """A free piece of `across` by `along` repeats as it will lie."""
    lines = patch(form, across, along, spacing=spacing)
    points = np.concatenate([line.points for line in lines])
    ends = np.cumsum([len(line.points) for line in lines])[:-1]
    laid = np.split(laid_down(points, form, lie, across, along), ends)
    return tuple(YarnLine(line.yarn, line.diameter, each) for line, each in zip(lines, laid, strict=True))


def laid_down(points: Points, form: ClothForm, lie: Lie, across: int, along: int) -> Points:
    """Points (n, 3) of a flat piece about its middle, brought to where they lie."""
    lean = math.radians(form.lean_deg if lie.lean_deg is None else lie.lean_deg)
    stretched = np.array([1 + lie.strain_width, 1 + lie.strain_length, 1.0])
    flat = points * stretched
    flat[:, 0] += flat[:, 1] * math.tan(lean) - points[:, 1] * stretched[0] * form.shear / form.height
    square = np.array([math.cos(lean), -math.sin(lean), 0.0])  # to the wales, in the cloth
    off, up = flat @ square, flat[:, 1]
    sides = _roll(across * form.width * stretched[0] * math.cos(lean), SIDE_ROLLED, lie.side_curvature, form)
    ends = _roll(along * form.height * stretched[1], END_ROLLED, lie.end_curvature, form)
    side = sides.placed(off, _along_the_side(up, ends))
    end = ends.placed(up, _along_the_end(off, sides))
    moved = flat * np.array([1.0, 1.0, 0.0])
    moved += (side.along - off)[:, None] * square
    moved[:, 1] += end.along - up
    moved[:, 2] += side.out + end.out
    laid: Points = moved + flat[:, 2:] * _normals(square, side.turned, end.turned)
    return laid


def _roll(size: float, rolled: float, curvature: float, form: ClothForm) -> Roll:
    return Roll(size / 2, rolled * size / 2, curvature, form.depth)


def _along_the_side(up: Points, ends: Roll) -> Points:
    """Strength of the roll of the sides: whole but for the corners, and there too where the ends lie flat."""
    if ends.is_flat:
        return np.ones_like(up)
    into_corner = (np.abs(up) - (ends.half - ends.rolled)) / ends.rolled
    return 1 - (1 - CORNER) * eased(into_corner)


def _along_the_end(off: Points, sides: Roll) -> Points:
    """Strength of the roll of the ends: whole in the middle of the width, nothing where the sides roll."""
    if sides.is_flat:
        return np.ones_like(off)
    flat = sides.half - sides.rolled
    return 1 - eased((np.abs(off) - 0.35 * flat) / (sides.half - 0.5 * sides.rolled - 0.35 * flat))


def _normals(square: Points, side: Points, end: Points) -> Points:
    """Unit vectors out of the face (n, 3) of a surface turned about the wales and about the courses."""
    up, out = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    turned = np.sin(end)[:, None] * up + np.cos(end)[:, None] * out
    normals = np.sin(side)[:, None] * square + np.cos(side)[:, None] * turned
    unit: Points = normals / np.linalg.norm(normals, axis=1, keepdims=True)
    return unit
