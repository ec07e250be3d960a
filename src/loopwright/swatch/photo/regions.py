"""Even regions of a picture: what stands out from its surroundings and may be a card, a coin or a drawn square.

In: the small colour copy of a picture. Out: filled regions as points of their hull (px of the small copy); what the
edge of the picture cuts only when asked for. Several channels, many thresholds, both polarities; one may come often.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import ConvexHull, QhullError

from loopwright.swatch.photo.refusal import Stopped

LEVELS = 10  # thresholds for each channel
MOST_PIXELS = 160_000  # of the copy in which regions are looked for; prior
LEAST_SHARE, MOST_SHARE = 0.003, 0.5  # of the picture's area
LEAST_FILL = 0.93  # of its hull that a region has to fill
LEAST_SOLID = 0.6  # of its hull that a part with thin arms has to fill before they are taken off
MOST_CUT = 0.1  # of width and height of a region's box that may lie at the edge of the picture

Grey = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Region:
    """A filled region: hull points (n, 2) and border points (m, 2) as x, y; area; whether it is the brighter part.

    `step` px of the small copy go to one px here.
    """

    hull: NDArray[np.float64]
    border: NDArray[np.float64]
    area_px: float
    is_brighter: bool
    step: float


def regions(
    small: Grey, *, may_touch_edge: bool = False, cancelled: Callable[[], bool] | None = None
) -> Iterator[Region]:
    """All compact regions, channel by channel."""
    known: set[tuple[int, int, int]] = set()
    factor = max(1, int(np.ceil((small.shape[0] * small.shape[1] / MOST_PIXELS) ** 0.5)))
    for channel in _channels(_reduced(small, factor)):
        smooth = ndimage.gaussian_filter(channel, 1.2)
        low, high = np.percentile(smooth, (2, 98))
        if high - low < 0.04:
            continue
        for level in np.linspace(low, high, LEVELS + 2)[1:-1]:
            if cancelled is not None and cancelled():
                raise Stopped
            for is_brighter in (True, False):
                mask = smooth > level if is_brighter else smooth <= level
                for region in _of_level(mask, known, is_brighter, may_touch_edge):
                    yield replace(region, step=float(factor))


def _reduced(small: Grey, factor: int) -> Grey:
    """Means of factor × factor pixels."""
    rows, columns = small.shape[0] // factor, small.shape[1] // factor
    cut = small[: rows * factor, : columns * factor]
    means: Grey = cut.reshape(rows, factor, columns, factor, 3).mean(axis=(1, 3), dtype=np.float32)
    return means


def _channels(small: Grey) -> Iterator[Grey]:
    """Brightness, two differences of colours, and evenness (low where there are edges)."""
    red, green, blue = small[:, :, 0], small[:, :, 1], small[:, :, 2]
    grey: Grey = (0.3 * red + 0.59 * green + 0.11 * blue).astype(np.float32)
    yield grey
    if float(np.abs(red - blue).max()) > 0.08:
        yield red - blue
        yield (green - (red + blue) / 2).astype(np.float32)
    slope = ndimage.gaussian_gradient_magnitude(grey, 1.0)
    yield np.minimum(slope / max(float(np.percentile(slope, 95)), 1e-6), 1).astype(np.float32)


def _of_level(
    mask: Mask, known: set[tuple[int, int, int]], is_brighter: bool, may_touch_edge: bool
) -> Iterator[Region]:
    for box, inside in _large_parts(mask):
        touched = _touched_edges(box, inside, mask.shape)
        if touched and (not may_touch_edge or touched > MOST_CUT * sum(inside.shape)):
            continue
        corner = (box[1].start, box[0].start)
        key = (corner[0] // 4, corner[1] // 4, round(40 * np.log(inside.size)))
        if key in known or inside.size < LEAST_SHARE * mask.size:
            continue
        known.add(key)
        region = _region(inside, corner, is_brighter)
        if region is not None and LEAST_SHARE * mask.size < region.area_px < MOST_SHARE * mask.size:
            yield region


def _large_parts(mask: Mask) -> Iterator[tuple[tuple[slice, slice], Mask]]:
    """Box of each large connected part of a mask, and the part in its box."""
    labels, count = ndimage.label(mask)
    areas = np.bincount(labels.ravel(), minlength=count + 1)
    areas[0] = 0
    large = np.flatnonzero(areas > LEAST_SHARE * LEAST_SOLID * mask.size)
    numbers = np.zeros(count + 1, np.int32)
    numbers[large] = np.arange(1, len(large) + 1)
    renumbered = numbers[labels]
    for number, box in enumerate(ndimage.find_objects(renumbered), start=1):
        yield box, renumbered[box] == number


def _touched_edges(box: tuple[slice, slice], inside: Mask, shape: tuple[int, ...]) -> int:
    """How many pixels of the part lie at the edge of the picture."""
    rows, columns = box
    touched = 0
    if rows.start <= 1:
        touched += int(inside[:2].any(axis=0).sum())
    if rows.stop >= shape[0] - 1:
        touched += int(inside[-2:].any(axis=0).sum())
    if columns.start <= 1:
        touched += int(inside[:, :2].any(axis=1).sum())
    if columns.stop >= shape[1] - 1:
        touched += int(inside[:, -2:].any(axis=1).sum())
    return touched


def _region(inside: Mask, corner: tuple[int, int], is_brighter: bool) -> Region | None:
    """The region of a part when it fills its hull, if need be after thin arms are taken off."""
    outline = _outline(inside)
    if outline is None or outline.fill < LEAST_SOLID:
        return None
    if outline.fill < LEAST_FILL:
        opened = ndimage.binary_opening(ndimage.binary_fill_holes(inside), np.ones((5, 5), bool))
        labels, count = ndimage.label(opened)
        if count > 1:
            opened = labels == 1 + int(np.argmax(np.bincount(labels.ravel())[1:]))
        outline = _outline(opened)
        if outline is None or outline.fill < LEAST_FILL:
            return None
    return Region(outline.hull + corner, outline.border + corner, outline.area_px, is_brighter, 1.0)


@dataclass(frozen=True, slots=True)
class _Outline:
    """Hull and border points, area with holes filled, share of the hull that it fills."""

    hull: NDArray[np.float64]
    border: NDArray[np.float64]
    area_px: float
    fill: float


def _outline(inside: Mask) -> _Outline | None:
    """First and last pixel of each row and column of a part; what lies between them counts as filled."""
    rows, columns = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    if len(rows) < 4 or len(columns) < 4 or len(rows) + len(columns) < 24:
        return None
    left, right = inside.argmax(axis=1)[rows], inside.shape[1] - 1 - inside[:, ::-1].argmax(axis=1)[rows]
    top, bottom = inside.argmax(axis=0)[columns], inside.shape[0] - 1 - inside[::-1].argmax(axis=0)[columns]
    x = np.concatenate([left, right, columns, columns])
    y = np.concatenate([rows, rows, top, bottom])
    border = np.unique(np.column_stack([x, y]), axis=0).astype(np.float64)
    try:
        hull = ConvexHull(border)
    except QhullError:
        return None
    area = float(min((right - left + 1).sum(), (bottom - top + 1).sum()))
    return _Outline(border[hull.vertices], border, area, (area - len(border) / 2) / float(hull.volume))
