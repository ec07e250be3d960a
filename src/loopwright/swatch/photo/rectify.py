"""The part of a picture that is read for stitches: cropped to the cloth, and set upright to the table when tilted.

In: the picture, where the cloth lies, how the picture lies on the table. Out: `View`: brightness and mask to be read,
and the map from its pixels back to the picture. Without a tilt to correct no pixel is resampled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw

from loopwright.swatch.photo.cloth import ClothArea, Grey, Mask
from loopwright.swatch.photo.perspective import Map, Points, inverse, jacobian, mapped
from loopwright.swatch.photo.picture import Picture
from loopwright.swatch.photo.scale import Scale

MOST_PIXELS = 16_000_000  # of a view that is set upright
MARGIN_SHARE = 0.01  # kept free beside a reference, of the longer side of the picture


@dataclass(frozen=True, slots=True)
class View:
    """What is read: `to_picture` takes its px to px of the picture; `mm_per_px` is none without a scale."""

    grey: Grey
    mask: Mask | None
    to_picture: Map
    mm_per_px: float | None


def view_of(picture: Picture, area: ClothArea | None, scale: Scale | None) -> View:
    """The view of the cloth."""
    mask = _mask(picture, area, scale)
    left, top, right, bottom = area.box if area else (0, 0, picture.width_px, picture.height_px)
    box = (
        max(0, int(left)),
        max(0, int(top)),
        min(picture.width_px, int(np.ceil(right))),
        min(picture.height_px, int(np.ceil(bottom))),
    )
    if scale is None or not scale.is_tilt_corrected:
        return _cropped(picture, mask, box, scale)
    return _upright(picture, mask, box, scale)


def middle_of(picture: Picture, area: ClothArea | None) -> Points:
    """The middle of the cloth, px of the picture."""
    if area is not None:
        return area.middle
    middle: Points = np.array([picture.width_px / 2, picture.height_px / 2])
    return middle


def _mask(picture: Picture, area: ClothArea | None, scale: Scale | None) -> Mask | None:
    """What is cloth: the area found, less the reference and a margin round it."""
    if area is None and (scale is None or not scale.outline_px):
        return None
    height, width = picture.grey.shape
    mask = area.mask(height, width) if area else np.ones((height, width), bool)
    if scale is not None and scale.outline_px:
        covered = Image.new("L", (width, height), 0)
        pen = ImageDraw.Draw(covered)
        margin = int(MARGIN_SHARE * max(width, height))
        for outline in scale.outline_px:
            corners = [(float(x), float(y)) for x, y in outline]
            pen.polygon(corners, fill=255)
            pen.line([*corners, corners[0]], fill=255, width=2 * margin)
        mask &= np.asarray(covered) == 0
    return mask


def _cropped(picture: Picture, mask: Mask | None, box: tuple[int, int, int, int], scale: Scale | None) -> View:
    left, top, right, bottom = box
    shift = np.array([[1.0, 0, left], [0, 1, top], [0, 0, 1]])
    middle = np.array([(left + right) / 2, (top + bottom) / 2])
    return View(
        picture.grey[top:bottom, left:right],
        None if mask is None else mask[top:bottom, left:right],
        shift,
        1 / scale.px_per_mm(middle) if scale else None,
    )


def _upright(picture: Picture, mask: Mask | None, box: tuple[int, int, int, int], scale: Scale) -> View:
    """The box seen from straight above, as fine as the picture shows its middle, turned as little as can be."""
    left, top, right, bottom = box
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]], float)
    middle = corners.mean(axis=0)
    px_per_mm = scale.px_per_mm(middle)
    left_turn, _, right_turn = np.linalg.svd(jacobian(scale.to_mm, middle))
    turn = np.eye(3)
    turn[:2, :2] = px_per_mm * (left_turn @ right_turn).T
    there = mapped(turn @ scale.to_mm, corners)
    low, high = there.min(axis=0), there.max(axis=0)
    shrink = min(1.0, float(np.sqrt(MOST_PIXELS / np.prod(high - low))))
    place = np.array([[shrink, 0, -low[0] * shrink], [0, shrink, -low[1] * shrink], [0, 0, 1]])
    to_picture = inverse(place @ turn @ scale.to_mm)
    size = (int((high - low)[0] * shrink) + 1, int((high - low)[1] * shrink) + 1)
    grey = resampled(picture.grey, to_picture, size, Image.Resampling.BICUBIC)
    inside = np.full(picture.grey.shape, 255, np.uint8) if mask is None else mask.astype(np.uint8) * np.uint8(255)
    seen = resampled(inside, to_picture, size, Image.Resampling.NEAREST) > 127
    return View(grey, seen, to_picture / to_picture[2, 2], 1 / (px_per_mm * shrink))


def resampled(
    pixels: NDArray[np.float32] | NDArray[np.uint8], to_source: Map, size: tuple[int, int], way: Image.Resampling
) -> NDArray[np.float32]:
    """Pixels of the source where `to_source` takes those of a new picture of `size` (width, height); 0 outside."""
    half = np.array([[1.0, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    through = half @ to_source @ inverse(half)
    through = through / through[2, 2]
    image = Image.fromarray(pixels).transform(size, Image.Transform.PERSPECTIVE, through.ravel()[:8].tolist(), way)
    return np.asarray(image, np.float32)
