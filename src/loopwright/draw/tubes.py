"""Yarns as round tubes: vertices, normals, triangles, and a shade that hints at the plies.

In: `YarnLine`s (points in d). Out: one closed `Tube` for each. The ring at a point stands square to the yarn; its
frame is carried along without turning about the yarn (parallel transport), so that no ring jumps against the next,
at the end of a repeat neither. Plies spiral round the yarn in Z or S: they are a shade, the tube stays round.
Vectorised: any normals are set up first, and the angles by which they miss the transported ones are summed along the
yarn. Not covered: smoothing (`yarn_lines`), files (`glb`).
Source: mechanics reference, section 2 (frames).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.draw.painted import Twist
from loopwright.draw.yarn_lines import Points, YarnLine

Indices = NDArray[np.int64]

PLY_LENGTH = 3.6  # of one turn of the plies, in diameters of the yarn
PLY_SHADE = 0.38  # how much darker the groove between plies is


@dataclass(frozen=True, slots=True)
class Plies:
    """How many plies a yarn has and which way they lie; one ply shows no groove."""

    count: int = 2
    twist: Twist = "S"


@dataclass(frozen=True, slots=True, eq=False)
class Frames:
    """Along a line of n points: unit tangents, normals and binormals (n, 3), and the length so far (n,)."""

    tangents: Points
    normals: Points
    binormals: Points
    along: Points


@dataclass(frozen=True, slots=True, eq=False)
class Tube:
    """A closed tube: vertices and unit normals (v, 3) in d, shade (v,) 0 to 1, triangles (t, 3) seen from outside.

    The rings come first, `sides` vertices each, then the middles of the two ends.
    """

    yarn: str
    vertices: Points
    normals: Points
    shades: Points
    triangles: Indices


def frames(points: Points) -> Frames:
    """Transported frame along a line (n, 3)."""
    steps = np.diff(points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    unit = steps / lengths[:, None]
    tangents = _unit(np.concatenate([unit[:1], unit[:-1] + unit[1:], unit[-1:]]))
    rough = _any_normals(tangents)
    carried = _carried(rough[:-1], tangents[:-1], tangents[1:])
    missed = np.arctan2(
        _dot(np.cross(carried, rough[1:]), tangents[1:]),
        _dot(carried, rough[1:]),
    )
    back = -np.concatenate([[0.0], np.cumsum(missed)])[:, None]
    normals = np.cos(back) * rough + np.sin(back) * np.cross(tangents, rough)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    return Frames(tangents, normals, np.cross(tangents, normals), along)


def _any_normals(tangents: Points) -> Points:
    """Some unit vector square to each tangent: the axis that it follows least, made square."""
    axes = np.eye(3)[np.argmin(np.abs(tangents), axis=1)]
    return _unit(axes - _dot(axes, tangents)[:, None] * tangents)


def _carried(vectors: Points, before: Points, after: Points) -> Points:
    """Vectors square to `before` turned the shortest way so that they are square to `after`."""
    share = _dot(vectors, after) / (1 + _dot(before, after))
    return vectors - share[:, None] * (before + after)


def ply_shade(angle: Points, along: Points, diameter: float, plies: Plies) -> Points:
    """Shade 1 on the crown of a ply, less in the groove; angle (rad) from the normal toward the binormal."""
    if plies.count < 2:
        return np.ones(np.broadcast_shapes(angle.shape, along.shape))
    way = 1.0 if plies.twist == "Z" else -1.0
    turned = angle - way * 2 * np.pi * along / (PLY_LENGTH * diameter)
    shade: Points = 1 - PLY_SHADE * (0.5 - 0.5 * np.cos(plies.count * turned)) ** 2
    return shade


def tube(line: YarnLine, *, sides: int = 8, plies: Plies | None = None) -> Tube:
    """The tube round one line; at least three sides."""
    frame, radius = frames(line.points), line.diameter / 2
    angles = 2 * np.pi * np.arange(sides) / sides
    cosine, sine = np.cos(angles)[None, :, None], np.sin(angles)[None, :, None]
    outward = cosine * frame.normals[:, None] + sine * frame.binormals[:, None]
    rings = (line.points[:, None] + radius * outward).reshape(-1, 3)
    shade = ply_shade(angles[None, :], frame.along[:, None], line.diameter, plies or Plies()).reshape(-1)
    return Tube(
        line.yarn,
        np.concatenate([rings, line.points[[0, -1]]]),
        np.concatenate([outward.reshape(-1, 3), -frame.tangents[:1], frame.tangents[-1:]]),
        np.concatenate([shade, [1.0, 1.0]]),
        triangles(len(line.points), sides),
    )


def tubes(lines: Sequence[YarnLine], *, sides: int = 8, plies: Plies | None = None) -> tuple[Tube, ...]:
    """A tube for each line."""
    return tuple(tube(line, sides=sides, plies=plies) for line in lines)


def triangles(rings: int, sides: int) -> Indices:
    """Triangles (t, 3) of a closed tube of so many rings, turning left seen from outside."""
    here = np.arange(sides)
    beside = (here + 1) % sides
    first = np.arange(rings - 1)[:, None] * sides
    a, b, c, d = first + here, first + beside, first + sides + here, first + sides + beside
    wall = np.concatenate([np.stack([a, b, c], axis=-1), np.stack([b, d, c], axis=-1)], axis=1).reshape(-1, 3)
    last, foot, head = (rings - 1) * sides, rings * sides, rings * sides + 1
    start = np.column_stack([np.full(sides, foot), beside, here])
    end = np.column_stack([np.full(sides, head), last + here, last + beside])
    return np.concatenate([wall, start, end])


def _dot(a: Points, b: Points) -> Points:
    products: Points = np.einsum("...i,...i->...", a, b)
    return products


def _unit(a: Points) -> Points:
    unit: Points = a / np.linalg.norm(a, axis=-1, keepdims=True)
    return unit
