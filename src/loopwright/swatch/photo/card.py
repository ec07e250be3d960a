"""A card beside the swatch: the size of bank and identity cards gives scale and tilt at once.

In: a picture. Out: `Scale` with the tilt corrected, or `NoScale` with the reason. Taken for a card is only what has
straight sides, the proportions of a card as a camera sees it, and round corners.
Sizes: ISO/IEC 7810 ID-1, 85.60 × 53.98 mm, corners rounded by 3.18 mm [memory, not opened].
Not covered: a card that bends, or lies higher than the cloth (see `scale`).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy import ndimage

from loopwright.swatch.photo.perspective import Map, Points, homography, inverse, jacobian, likeliest_camera, mapped
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.quadrilateral import Quadrilateral, quadrilaterals, side_lengths
from loopwright.swatch.photo.scale import NoScale, Scale, ScaleRefusal, scale_of_corners

LONG_MM, SHORT_MM, RADIUS_MM = 85.60, 53.98, 3.18
ROUGH_RATIO = 0.28  # of the proportions, before the camera is taken into account
MOST_MISS = 0.015  # by which the quadrilateral may miss a card under a camera; prior
MOST_TILT_DEG = 35.0
CORNER_SD_PX = 0.3  # least error of a corner, beside what the edge points show; prior
CORNER_MM = (0.6, 2.4)  # where on the diagonal a round corner's edge may lie; sharp corners are at 0
FEWEST_CORNERS = 3  # whose roundness is seen: one may be cut off by the edge of the picture
LEAST_SHORT_PX = 60.0
LEAST_CONTRAST = 0.03

TABLE_MM = np.array([[0.0, 0], [LONG_MM, 0], [LONG_MM, SHORT_MM], [0, SHORT_MM]])


def find_card(picture: Picture, *, cancelled: Callable[[], bool] | None = None) -> Scale | NoScale:
    """The scale that a card in the picture gives."""
    found = [each for each in quadrilaterals(picture, _is_like_card, cancelled=cancelled) if is_card(picture, each)]
    if not found:
        return NoScale(
            ScaleRefusal.NO_REFERENCE,
            "No card is found in the picture.",
            (
                "lay a plain card flat beside the cloth, all four sides free, on a ground of another tone",
                "keep the whole card in the picture and sharp",
            ),
        )
    best = max(found, key=lambda each: each.area_px)
    return scale_of_card(picture, best)


def scale_of_card(picture: Picture, card: Quadrilateral) -> Scale:
    """Scale, tilt and spread from the sides of a card."""
    corners = long_side_first(card.corners)
    to_mm = homography(corners, TABLE_MM)
    _, tilt, distance = likeliest_camera(inverse(to_mm), picture.width_px, picture.height_px)
    sd = float(np.hypot(CORNER_SD_PX, card.sides.rms_px / 3))
    return scale_of_corners(
        "card",
        corners,
        TABLE_MM,
        sd,
        (picture.width_px, picture.height_px),
        tilt_deg=tilt,
        notes=(f"a card 1 mm higher than the cloth makes it look {1 / distance:.1%} finer or coarser",),
    )


def is_card(picture: Picture, quadrilateral: Quadrilateral) -> bool:
    """Whether a camera would see a card so, round corners included."""
    sides = quadrilateral.sides
    if quadrilateral.lengths.min() < LEAST_SHORT_PX or sides.contrast < LEAST_CONTRAST:
        return False
    corners = long_side_first(quadrilateral.corners)
    to_mm = homography(corners, TABLE_MM)
    miss, tilt, _ = likeliest_camera(inverse(to_mm), picture.width_px, picture.height_px)
    allowed = MOST_MISS + 2 * sides.rms_px / quadrilateral.lengths.min()
    return miss < allowed and tilt < MOST_TILT_DEG and _has_round_corners(picture, to_mm, quadrilateral.is_brighter)


def long_side_first(corners: Points) -> Points:
    """The corners turned so that the first side is a long one."""
    lengths = side_lengths(corners)
    return corners if lengths[0] + lengths[2] >= lengths[1] + lengths[3] else np.roll(corners, -1, axis=0)


def _is_like_card(corners: Points) -> bool:
    lengths = side_lengths(corners)
    one, other = lengths[0] + lengths[2], lengths[1] + lengths[3]
    return bool(abs(max(one, other) / min(one, other) - LONG_MM / SHORT_MM) < ROUGH_RATIO)


def _has_round_corners(picture: Picture, to_mm: Map, is_brighter: bool) -> bool:
    """Whether the edge on the diagonals lies where an arc of 3.18 mm puts it: 1.32 mm inside the sharp corner."""
    to_px = inverse(to_mm)
    along = np.arange(-2.0, 5.0, 0.05)
    inward: Points = np.array([[1.0, 1], [-1, 1], [-1, -1], [1, -1]]) * 2**-0.5
    rows = []
    for corner, direction in zip(TABLE_MM, inward, strict=True):
        at = mapped(to_px, corner + along[:, None] * direction)
        if (at < 0).any() or (at > (picture.width_px - 1, picture.height_px - 1)).any():
            continue
        rows.append(ndimage.map_coordinates(picture.grey, [at[:, 1], at[:, 0]], order=1, mode="nearest"))
    if len(rows) < FEWEST_CORNERS:
        return False
    px_per_mm = 1 / np.sqrt(abs(np.linalg.det(jacobian(to_mm, mapped(to_px, TABLE_MM.mean(axis=0)[None])[0]))))
    blur = max(0.25, 1.0 / px_per_mm) / 0.05
    slopes = ndimage.gaussian_filter1d(np.array(rows, np.float64), blur, axis=1, order=1).mean(axis=0)
    place = along[int(np.argmax(slopes if is_brighter else -slopes))]
    return bool(CORNER_MM[0] < place < CORNER_MM[1])
