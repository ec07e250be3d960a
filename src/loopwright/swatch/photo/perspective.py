"""Perspective: how a flat table lies in a picture, and back.

In: corners in the picture (px, x right, y down) and on the table (mm). Out: the 3 × 3 map between them, lengths near a
point, the tilt of the camera. Assumed: a lens without distortion, its axis through the middle of the picture.
Sources: plane projective geometry; the direct linear transformation of points.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]  # shape (n, 2)
Map = NDArray[np.float64]  # shape (3, 3)

FOCALS = np.geomspace(0.5, 8.0, 41)  # focal lengths thinkable, in longer sides of the picture; cropped ones included
USUAL_FOCAL = 0.75  # of a phone's main camera, in longer sides of the picture: about 27 mm on 36 mm film; prior


def homography(start: Points, end: Points) -> Map:
    """The map that takes `start` to `end`, least squares over four points or more.

    >>> square = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    >>> twice = [[2, 0, 3], [0, 2, 3], [0, 0, 1]]
    >>> np.allclose(homography(square, 2 * square + 3), twice)
    True
    """
    to_start, to_end = _to_unit(start), _to_unit(end)
    a, b = mapped(to_start, start), mapped(to_end, end)
    rows = []
    for (x, y), (u, v) in zip(a, b, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    within = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    full = np.linalg.inv(to_end) @ within @ to_start
    through: Map = full / full[2, 2]
    return through


def mapped(through: Map, points: Points) -> Points:
    """Points taken through a map."""
    there = np.column_stack([points, np.ones(len(points))]) @ through.T
    found: Points = there[:, :2] / there[:, 2:]
    return found


def inverse(through: Map) -> Map:
    """The map back."""
    back: Map = np.asarray(np.linalg.inv(through), np.float64)
    return back


def jacobian(through: Map, point: Points) -> NDArray[np.float64]:
    """How small steps at `point` (2,) come out: 2 × 2, columns for a step in x and in y."""
    bottom = float(through[2] @ [*point, 1.0])
    there = mapped(through, np.asarray(point)[None])[0]
    slopes: NDArray[np.float64] = (through[:2, :2] - np.outer(there, through[2, :2])) / bottom
    return slopes


def seen(to_px: Map, width_px: int, height_px: int, focal: float) -> tuple[float, float, float]:
    """How far the map misses a right-angled table seen by a camera, its tilt (degrees) and its distance (table units).

    The miss joins the difference of the two scales and the sine of the error of the right angle; `focal` is in longer
    sides of the picture.
    """
    long_px = max(width_px, height_px)
    inner = np.diag([focal * long_px, focal * long_px, 1.0])
    inner[:2, 2] = (width_px - 1) / 2, (height_px - 1) / 2
    pose = np.linalg.solve(inner, to_px)
    across, down = pose[:, 0], pose[:, 1]
    long, short = float(np.linalg.norm(across)), float(np.linalg.norm(down))
    normal = np.cross(across, down) / (long * short)
    miss = float(np.hypot(np.log(long / short), across @ down / (long * short)))
    tilt = float(np.degrees(np.arccos(np.clip(abs(normal[2]) / np.linalg.norm(normal), 0, 1))))
    return miss, tilt, float(np.linalg.norm(pose[:, 2]) / np.sqrt(long * short))


def likeliest_camera(to_px: Map, width_px: int, height_px: int) -> tuple[float, float, float]:
    """Miss, tilt and distance for the thinkable focal length that fits best.

    Seen nearly square, every focal length fits; then the usual one is taken.
    """
    usual = seen(to_px, width_px, height_px, USUAL_FOCAL)
    best = min((seen(to_px, width_px, height_px, float(focal)) for focal in FOCALS), key=lambda each: each[0])
    return usual if usual[0] < best[0] + 0.004 else best


def _to_unit(points: Points) -> Map:
    """The map that centres points and brings them to about unit size."""
    middle = points.mean(axis=0)
    size = float(np.abs(points - middle).mean()) or 1.0
    return np.array([[1 / size, 0, -middle[0] / size], [0, 1 / size, -middle[1] / size], [0, 0, 1]])
