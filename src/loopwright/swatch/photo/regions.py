"""Even regions of a picture: what stands out from its surroundings and may be a card, a coin or a drawn square.

In: the small colour copy of a picture. Out: filled regions that don't touch the edge of the picture, as points of
their hull (px of the small copy). Several channels, many thresholds, both polarities; one region may come often.
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
MOST_PIXELS = 250_000  # of the copy in which regions are looked for; prior
LEAST_SHARE, MOST_SHARE = 0.003, 0.5  # of the picture's area
LEAST_FILL = 0.93  # of its hull that a region has to fill

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


def regions(small: Grey, *, cancelled: Callable[[], bool] | None = None) -> Iterator[Region]:
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
                for region in _of_level(mask, known, is_brighter):
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


def _of_level(mask: Mask, known: set[tuple[int, int, int]], is_brighter: bool) -> Iterator[Region]:
    labels, count = ndimage.label(mask)
    if count == 0:
        return
    areas = np.bincount(labels.ravel(), minlength=count + 1)
    areas[0] = 0
    boxes = ndimage.find_objects(labels)
    for label in np.flatnonzero(areas > LEAST_SHARE * 0.3 * mask.size):
        box = boxes[label - 1]
        if _touches_edge(box, mask.shape):
            continue
        filled = ndimage.binary_fill_holes(labels[box] == label)
        area = int(filled.sum())
        corner = (box[1].start, box[0].start)
        key = (corner[0] // 4, corner[1] // 4, round(40 * np.log(area)))
        if key in known or not LEAST_SHARE * mask.size < area < MOST_SHARE * mask.size:
            continue
        known.add(key)
        region = _region(filled, corner, area, is_brighter)
        if region is not None:
            yield region


def _touches_edge(box: tuple[slice, slice], shape: tuple[int, ...]) -> bool:
    rows, columns = box
    return bool(rows.start <= 1 or columns.start <= 1 or rows.stop >= shape[0] - 1 or columns.stop >= shape[1] - 1)


def _region(filled: Mask, corner: tuple[int, int], area: int, is_brighter: bool) -> Region | None:
    """The region of a mask when it fills its hull."""
    opened = ndimage.binary_opening(filled, iterations=2)
    largest, count = ndimage.label(opened)
    if count > 1:
        opened = largest == 1 + int(np.argmax(np.bincount(largest.ravel())[1:]))
    area = int(opened.sum())
    rows, columns = np.nonzero(opened & ~ndimage.binary_erosion(opened))
    if len(rows) < 24:
        return None
    border = np.column_stack([columns + corner[0], rows + corner[1]]).astype(np.float64)
    try:
        hull = ConvexHull(border)
    except QhullError:
        return None
    around = border[hull.vertices]
    if area + len(rows) / 2 < LEAST_FILL * float(hull.volume):
        return None
    return Region(around, border, float(area), is_brighter, 1.0)
