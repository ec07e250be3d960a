"""A drawn square of entered side: scale and tilt without any card.

In: a picture and the side in mm, from middle to middle of the drawn line (from edge to edge of a cut paper). Out:
`Scale` with the tilt corrected, or `NoScale`. Of several squares the drawn one is taken before a sheet of paper; two
squares of different size, neither drawn by a line, are refused.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from loopwright.swatch.photo.card import CORNER_SD_PX, LEAST_CONTRAST, LEAST_SHORT_PX, MOST_TILT_DEG
from loopwright.swatch.photo.edges import to_middle_of_line
from loopwright.swatch.photo.perspective import Points, homography, inverse, likeliest_camera
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.quadrilateral import Quadrilateral, quadrilaterals, side_lengths
from loopwright.swatch.photo.scale import NoScale, Scale, ScaleRefusal, scale_of_corners

ROUGH_RATIO = 0.2
MOST_MISS = 0.012  # by which it may miss a square under a camera; a hand draws no truer than 0.5 mm on 50; prior
DRAWN_MM = 0.25  # how true a square is drawn, each corner; prior
SAME_SIZE = 0.1  # squares whose areas differ by more are different squares


def find_square(picture: Picture, side_mm: float, *, cancelled: Callable[[], bool] | None = None) -> Scale | NoScale:
    """The scale that a drawn square in the picture gives."""
    found = [
        replace(each, sides=to_middle_of_line(picture.grey, each.sides, is_brighter=each.is_brighter))
        for each in quadrilaterals(picture, _is_like_square, cancelled=cancelled)
        if _is_square(picture, each, side_mm)
    ]
    drawn = [each for each in found if each.sides.ridge_px > 0]
    chosen = drawn or found
    if not chosen:
        return NoScale(
            ScaleRefusal.NO_REFERENCE,
            "No drawn square is found in the picture.",
            ("draw it with a dark pen on white paper, the line closed all round", "keep all of it in the picture"),
        )
    areas = [each.area_px for each in chosen]
    if max(areas) > (1 + SAME_SIZE) * min(areas):
        return NoScale(
            ScaleRefusal.REFERENCE_AMBIGUOUS,
            "Several squares of different size are in the picture.",
            ("leave only the square whose side you typed",),
        )
    return _scale(picture, max(chosen, key=lambda each: each.sides.support * each.sides.contrast), side_mm)


def _table_mm(side_mm: float) -> Points:
    return side_mm * np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])


def _is_like_square(corners: Points) -> bool:
    lengths = side_lengths(corners)
    one, other = lengths[0] + lengths[2], lengths[1] + lengths[3]
    return bool(max(one, other) / min(one, other) < 1 + ROUGH_RATIO)


def _is_square(picture: Picture, each: Quadrilateral, side_mm: float) -> bool:
    if each.lengths.min() < LEAST_SHORT_PX or each.sides.contrast < LEAST_CONTRAST:
        return False
    to_px = homography(_table_mm(side_mm), each.corners)
    miss, tilt, _ = likeliest_camera(to_px, picture.width_px, picture.height_px)
    allowed = MOST_MISS + 2 * each.sides.rms_px / each.lengths.min()
    return miss < allowed and tilt < MOST_TILT_DEG


def _scale(picture: Picture, square: Quadrilateral, side_mm: float) -> Scale:
    table = _table_mm(side_mm)
    to_mm = homography(square.corners, table)
    _, tilt, _ = likeliest_camera(inverse(to_mm), picture.width_px, picture.height_px)
    drawn_px = DRAWN_MM / side_mm * float(square.lengths.mean())
    sd = float(np.sqrt(CORNER_SD_PX**2 + (square.sides.rms_px / 3) ** 2 + drawn_px**2))
    how = "drawn square" if square.sides.ridge_px > 0 else "square with sharp edges"
    size = (picture.width_px, picture.height_px)
    return scale_of_corners(how, square.corners, table, sd, size, tilt_deg=tilt)
