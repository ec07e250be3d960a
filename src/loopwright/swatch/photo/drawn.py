"""Where the stitches that were read lie in the photo, so that a page can draw them over it.

In: the view that was read and its stitches. Out: `StitchesDrawn`: the map from counted stitches to px of the photo,
perspective included, and the corners of a patch of stitches in the middle of the cloth.
"""

from __future__ import annotations

import numpy as np

from loopwright.swatch.photo.answer import StitchesDrawn
from loopwright.swatch.photo.perspective import Map, Points, jacobian, mapped
from loopwright.swatch.photo.rectify import View
from loopwright.swatch.photo.stitches import LatticeReading, Vector

PATCH = 10  # stitches each way that are drawn
LEAST_PATCH = 3
PATCH_SHARE = 0.7  # of the stitches in view that the patch may take


def placed(view: View, lattice: LatticeReading) -> StitchesDrawn:
    """The stitches in the photo."""
    wale, course = np.array(lattice.wale_step_px), np.array(lattice.course_step_px)
    origin = _nearest(_middle(view), np.array(lattice.origin_px), wale, course)
    stitch_to_view = np.array([[wale[0], course[0], origin[0]], [wale[1], course[1], origin[1]], [0, 0, 1]])
    to_picture = view.to_picture @ stitch_to_view
    to_picture = to_picture / to_picture[2, 2]
    slopes = jacobian(to_picture, np.zeros(2))
    wales, courses = _patch(lattice.wales_seen), _patch(lattice.courses_seen)
    return StitchesDrawn(
        stitch_to_picture=(_row(to_picture, 0), _row(to_picture, 1), _row(to_picture, 2)),
        origin_px=_vector(mapped(to_picture, np.zeros((1, 2)))[0]),
        wale_step_px=_vector(slopes[:, 0]),
        course_step_px=_vector(slopes[:, 1]),
        patch_wales=wales,
        patch_courses=courses,
        patch=_corners(to_picture, wales, courses),
    )


def _middle(view: View) -> Points:
    """The middle of what was read, in the view."""
    if view.mask is None:
        middle: Points = np.array([view.grey.shape[1] / 2, view.grey.shape[0] / 2])
        return middle
    rows, columns = np.nonzero(view.mask[::4, ::4])
    return np.array([4 * columns.mean(), 4 * rows.mean()]) if len(rows) else np.array(view.grey.shape[::-1]) / 2


def _nearest(place: Points, origin: Points, wale: Points, course: Points) -> Points:
    """The middle of the stitch nearest to a place."""
    steps = np.column_stack([wale, course])
    count = np.rint(np.linalg.solve(steps, place - origin))
    nearest: Points = origin + steps @ count
    return nearest


def _patch(seen: float) -> int:
    return int(np.clip(PATCH_SHARE * seen, LEAST_PATCH, PATCH))


def _corners(to_picture: Map, wales: int, courses: int) -> tuple[Vector, Vector, Vector, Vector]:
    """Corners of the patch, on the borders between stitches."""
    left, low = -(wales // 2) - 0.5, -(courses // 2) - 0.5
    right, up = left + wales, low + courses
    one, two, three, four = mapped(to_picture, np.array([[left, low], [right, low], [right, up], [left, up]]))
    return _vector(one), _vector(two), _vector(three), _vector(four)


def _vector(point: Points) -> Vector:
    return float(point[0]), float(point[1])


def _row(through: Map, index: int) -> tuple[float, float, float]:
    return float(through[index, 0]), float(through[index, 1]), float(through[index, 2])
