"""Yarns drawn into a depth buffer: which yarn is seen at each pixel, and what its surface is like there.

In: lines in px about the middle of the picture (x right, y up, z toward the viewer). Out: a `Surface`, arrays (h, w),
row 0 at the top. Close spheres along each line make up the round yarn; the surface itself is that of the tube between
them, so that no sphere shows. With a cut, yarn in front of the plane z = cut is taken away and the cut faces show.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopwright.draw.tubes import Frames, frames
from loopwright.draw.yarn_lines import Points, YarnLine

STEP = 0.12  # from sphere to sphere, in radii of the yarn
FINE = 64  # steps of depth in a px
BATCH = 3_000_000  # pixels of spheres that are drawn at once
ID_BITS = 30


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """What is seen, arrays (h, w): depth z in px (−inf where nothing is), number of the line (−1 where nothing is),
    surface normal (h, w, 3), angle about the yarn (rad), length along it (px), and whether it is a cut face."""

    depth: Points
    line: NDArray[np.int64]
    normal: Points
    angle: Points
    along: Points
    is_cut: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class _Beads:
    """Spheres along all lines: centre (n, 3), radius, line number, and the frame there."""

    centre: Points
    radius: Points
    line: NDArray[np.int64]
    frame: Frames


def surface(lines: Sequence[YarnLine], width: int, height: int, cut: float | None = None) -> Surface:
    """The visible surface of round yarns."""
    beads = _beads(lines)
    best = np.zeros(width * height, dtype=np.int64)
    base = math.floor(float(beads.centre[:, 2].min() - beads.radius.max())) - 1
    for pixel, depth, bead in _discs(beads, width, height, cut):
        level = np.rint((depth - base) * FINE).astype(np.int64)
        np.maximum.at(best, pixel, (level << ID_BITS) | (bead + 1))
    return _looked_at(best.reshape(height, width), beads, base, cut)


def _beads(lines: Sequence[YarnLine]) -> _Beads:
    parts, radii, numbers, framed = [], [], [], []
    for number, line in enumerate(lines):
        radius = line.diameter / 2
        frame = frames(line.points)
        count = max(int(frame.along[-1] / max(STEP * radius, 0.35)), 2)
        at = np.linspace(0.0, frame.along[-1], count)
        parts.append(_at(at, frame.along, line.points))
        framed.append((*(_at(at, frame.along, each) for each in (frame.tangents, frame.normals)), at))
        radii.append(np.full(count, radius))
        numbers.append(np.full(count, number))
    tangents, normals, along = (np.concatenate([each[i] for each in framed]) for i in range(3))
    tangents /= np.linalg.norm(tangents, axis=1, keepdims=True)
    whole = Frames(tangents, normals, np.cross(tangents, normals), along)
    return _Beads(np.concatenate(parts), np.concatenate(radii), np.concatenate(numbers), whole)


def _at(at: Points, along: Points, values: Points) -> Points:
    return np.column_stack([np.interp(at, along, values[:, axis]) for axis in range(values.shape[1])])


def _discs(
    beads: _Beads, width: int, height: int, cut: float | None
) -> Iterator[tuple[NDArray[np.int64], Points, NDArray[np.int64]]]:
    """(pixel, depth, bead) of the discs as which spheres of one radius are seen, a batch at a time."""
    for radius in np.unique(beads.radius):
        reach = math.ceil(radius)
        side = np.arange(-reach, reach + 1)
        dx, dy = (each.ravel() for each in np.meshgrid(side, side))
        chosen = np.flatnonzero(beads.radius == radius)
        if cut is not None:
            chosen = chosen[beads.centre[chosen, 2] - radius < cut]
        size = max(BATCH // len(dx), 1)
        for start in range(0, len(chosen), size):
            bead = chosen[start : start + size]
            x, y, z = beads.centre[bead].T
            column = np.floor(x + width / 2)[:, None] + dx
            row = np.floor(height / 2 - y)[:, None] + dy
            across = column + 0.5 - width / 2 - x[:, None]
            up = height / 2 - row - 0.5 - y[:, None]
            rise = radius**2 - across**2 - up**2
            seen = (rise > 0) & (column >= 0) & (column < width) & (row >= 0) & (row < height)
            bulge = np.sqrt(np.where(seen, rise, 0.0))
            depth = z[:, None] + bulge
            if cut is not None:
                seen &= z[:, None] - bulge < cut
                depth = np.minimum(depth, cut)
            pixel = (row * width + column)[seen].astype(np.int64)
            yield pixel, depth[seen], np.broadcast_to(bead[:, None], seen.shape)[seen]


def _looked_at(best: NDArray[np.int64], beads: _Beads, base: int, cut: float | None) -> Surface:
    """Normals and places on the yarn of what won at each pixel."""
    height, width = best.shape
    empty = best == 0
    bead = np.where(empty, 0, (best & ((1 << ID_BITS) - 1)) - 1)
    depth = np.where(empty, -np.inf, (best >> ID_BITS) / FINE + base)
    x = np.arange(width) + 0.5 - width / 2
    y = height / 2 - np.arange(height) - 0.5
    seen = np.stack([*np.meshgrid(x, y), np.where(empty, 0.0, depth)], axis=-1)
    out = seen - beads.centre[bead]
    tangent = beads.frame.tangents[bead]
    forward = np.einsum("...i,...i->...", out, tangent)
    out -= forward[..., None] * tangent
    normal = out / np.maximum(np.linalg.norm(out, axis=-1, keepdims=True), 1e-9)
    angle = np.arctan2(
        np.einsum("...i,...i->...", normal, beads.frame.binormals[bead]),
        np.einsum("...i,...i->...", normal, beads.frame.normals[bead]),
    )
    is_cut = np.zeros_like(empty) if cut is None else ~empty & (depth >= cut - 1.5 / FINE)
    line = np.where(empty, -1, beads.line[bead])
    return Surface(depth, line, normal, angle, beads.frame.along[bead] + forward, is_cut)
